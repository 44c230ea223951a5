"""What the views of designs share beside the shelf: price sheets and where designs are kept."""

from __future__ import annotations

import threading
from collections.abc import Mapping
from importlib.metadata import version
from typing import Any

from flask import current_app

from service.engine.plant.tariff import Tariff
from service.engine.warm import warm_up
from service.forms.known import Known
from service.portfolio import terms_digest
from service.store.designs import DesignStore

_KEY = "evendrop-designs"


class Drawer:
    """Price sheets by id and the store of designs, opened when a design is first asked for.

    The store is opened late so that no connection is carried into worker processes. Kernels are compiled when a
    design is first asked for, unless the server's entry has done so already.
    """

    def __init__(self, *, tariffs: Mapping[str, Tariff], terms: str, database_url: str) -> None:
        self.tariffs = tariffs
        self.terms = terms
        self._url = database_url
        self._store: DesignStore | None = None
        self._warm = False
        self._lock = threading.Lock()

    @classmethod
    def of(cls, known: Known, tariffs: Mapping[str, Tariff], database_url: str) -> Drawer:
        """The drawer of a service."""
        return cls(tariffs=tariffs, terms=terms_digest(known, version("evendrop")), database_url=database_url)

    @property
    def store(self) -> DesignStore:
        """The store of designs."""
        with self._lock:
            if self._store is None:
                self._store = DesignStore(self._url)
            return self._store

    def warm(self) -> None:
        """Compile the placement's kernels, once a process."""
        with self._lock:
            if not self._warm:
                warm_up()
                self._warm = True


def put_drawer(extensions: dict[str, Any], drawer: Drawer) -> None:
    """Lay a drawer where the views find it."""
    extensions[_KEY] = drawer


def drawer() -> Drawer:
    """The drawer of the running service."""
    found = current_app.extensions[_KEY]
    assert isinstance(found, Drawer)
    return found
