"""What every design of this command line needs beside its building: the library, read once a process."""

from __future__ import annotations

import functools
import os
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.metadata import version

from service.engine.placement.kernels import enable_cache
from service.engine.plant.tariff import Tariff
from service.engine.warm import warm_up
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services
from service.portfolio import terms_digest


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk:
    """The library's contents. `terms` is a digest of all of it that decides a design, with the version.

    `symbols` gives the drawing symbol of every family, `sources` what stands behind each source key.
    """

    known: Known
    tariffs: Mapping[str, Tariff]
    terms: str
    symbols: Mapping[str, str]
    sources: Mapping[str, str]

    @property
    def lists(self) -> dict[str, list[str]]:
        """Ids to pick from, by the name under which the columns of the workbook ask for them."""
        return {
            "limits": sorted(self.known.limits),
            "plans": sorted(self.known.plans),
            "services": sorted(self.known.services),
            "tariffs": sorted(self.tariffs),
            "parts": sorted(part.id for part in self.known.catalogue.parts),
            "cables": sorted(cable.id for cable in self.known.catalogue.cables),
        }


@functools.cache
def desk() -> Desk:
    """The desk of this process. Raises LibraryDamagedError for packaged data that is wrong."""
    packaged = library()
    known = Known(
        catalogue=packaged.catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    terms = terms_digest(known, version("evendrop"))
    symbols = {name: family.symbol for name, family in packaged.families.items()}
    return Desk(known=known, tariffs=packaged.tariffs, terms=terms, symbols=symbols, sources=packaged.sources)


def compile_kernels() -> None:
    """Compile what the placement needs; kept in the folder that NUMBA_CACHE_DIR names, where there is one."""
    folder = os.environ.get("NUMBA_CACHE_DIR", "")
    if folder:
        enable_cache(folder)
    warm_up()
