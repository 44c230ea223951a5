"""A kept design, computed again, beside what its papers are made with."""

from __future__ import annotations

from dataclasses import dataclass

from service.api.drawer import drawer
from service.api.recall import recalled
from service.api.shelf import shelf
from service.documents.report import Trade
from service.engine.placement.proposal import Design

#: Scripts and styles stand in the page; it may load nothing.
CONTENT_POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; font-src data:"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A design and the trade it was made in."""

    design: Design
    trade: Trade


def kept_design(name: str, *, spread: bool) -> Kept | None:
    """The design of that id, or None; `spread` asks for what tolerances and temperature leave, too."""
    kept = drawer().store.get(name)
    if kept is None:
        return None
    known = shelf().known
    again = recalled(kept, known, spread=spread)
    trade = Trade(
        catalogue=known.catalogue,
        tariff=again.tariff,
        limits=known.limits[again.design.building.rules.limits],
        services=known.services,
        symbols=shelf().symbols,
        sources=shelf().sources,
    )
    return Kept(design=again.design, trade=trade)
