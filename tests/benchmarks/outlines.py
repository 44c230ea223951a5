"""How far an outline's direct cost lies from that of the building with its rows.

Run `python tests/benchmarks/outlines.py`. The demo buildings are invented, and so are the sizes of their storeys: 70 to
120 m² a flat with its share of the corridor, written down before the designs were compared and not fitted to them.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from service.engine.building.places import Building
from service.engine.design import design
from service.engine.placement.proposal import Design
from service.forms.building import read_building
from service.forms.known import Known
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

BUILDINGS = Path(__file__).parents[2] / "fixtures" / "buildings"
#: Counts as the rows add up to, and the size of a storey as somebody would take it from a map.
OUTLINES: dict[str, dict[str, Any]] = {
    "slab_14": {"floors": 14, "units_per_floor": 12, "outlets_per_unit": 2.17, "risers": 2}
    | {"plate_length_m": 54.0, "plate_width_m": 16.0},
    "walkup_8": {"floors": 2, "units_per_floor": 4, "outlets_per_unit": 2.5, "risers": 1}
    | {"plate_length_m": 24.0, "plate_width_m": 14.0},
    "europe_two_stairs": {"floors": 6, "units_per_floor": 4, "outlets_per_unit": 3.0, "risers": 2}
    | {"plate_length_m": 36.0, "plate_width_m": 13.0},
}
#: What stays of a document when its rows are taken away.
_KEPT = (
    "document",
    "version",
    "id",
    "name",
    "rules",
    "feed",
    "prices",
    "new_build",
    "policy",
    "wishes",
    "slab",
)


def outlined(document: dict[str, Any], outline: dict[str, Any]) -> dict[str, Any]:
    """A building's document with an outline in place of its rows."""
    return {name: document[name] for name in _KEPT if name in document} | {"outline": outline}


def designed(document: dict[str, Any], known: Known) -> tuple[Building, Design]:
    """The building of a document and its design."""
    building = read_building(document, known, library().tariffs).building
    assert building is not None
    tariff, limits = library().tariffs[building.tariff], known.limits[building.rules.limits]
    return building, design(building, known.catalogue, tariff, limits, known.services)


def main() -> None:
    """Design each building twice and print what an outlet costs."""
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    print("| building | outlets | cost | outlets, outline | cost, outline | cost | cost an outlet |")
    print("|---|---|---|---|---|---|---|")
    for name, outline in OUTLINES.items():
        document = json.loads((BUILDINGS / f"{name}.json").read_text(encoding="utf-8"))
        pairs = [designed(row, known) for row in (document, outlined(document, outline))]
        (outlets, cost), (rough, guess) = [
            (len(building.outlets), found.chosen.cost_cents / 100) for building, found in pairs
        ]
        each = (guess / rough) / (cost / outlets) - 1
        print(
            f"| {name} | {outlets} | {cost:,.2f} | {rough} | {guess:,.2f} | {guess / cost - 1:+.1%} | {each:+.1%} |"
        )


if __name__ == "__main__":
    main()
