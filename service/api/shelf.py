"""What the views share: the library read once, and what documents are read against."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from flask import Response, current_app

from service.forms.known import Known

_KEY = "evendrop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """Made once when the service starts; immutable, so that workers and threads share it.

    `sources` maps a source key to what stands behind it, `symbols` a family of parts to its drawing symbol.
    """

    known: Known
    sources: Mapping[str, str]
    symbols: Mapping[str, str]


def put_shelf(extensions: dict[str, Any], shelf: Shelf) -> None:
    """Lay a shelf where the views find it."""
    extensions[_KEY] = shelf


def shelf() -> Shelf:
    """The shelf of the running service."""
    found = current_app.extensions[_KEY]
    assert isinstance(found, Shelf)
    return found


def answer(body: object) -> Response:
    """A JSON response; a number that is not finite in it is an error of ours."""
    return Response(json.dumps(body, ensure_ascii=False, allow_nan=False), content_type="application/json")
