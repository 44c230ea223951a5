"""Time, cost, proof and margin of whole designs on the real catalogue; run `python tests/benchmarks/design.py`.

Invented slabs of growing size with one riser, and with `--demos` the demo buildings, at an aim and an effort.

Seconds are those of one processor, so that other work on the machine counts little. With `--sizes` slabs from 48 to
4,000 outlets, each designed as often as `--repeats` says, the median shown, and the most memory so far.
"""

from __future__ import annotations

import argparse
import json
import os
import resource
import statistics
import time
from pathlib import Path
from typing import Any

from service.engine.building.places import Building
from service.engine.design import design
from service.engine.placement.kernels import enable_cache
from service.engine.placement.proposal import Design
from service.engine.placement.used import building_spread_db
from service.engine.warm import warm_up
from service.forms.building import read_building
from service.forms.known import Known
from service.library import library
from service.library.profiles import load_limits, load_plans, load_services

ROOT = Path(__file__).parents[2]
#: Floors, flats a floor, outlets a flat.
SLABS = ((4, 4, 3), (9, 6, 4), (12, 7, 6), (24, 12, 6))
#: A slab whose feed is so weak that it needs amplifiers after the launch.
WEAK_SLAB = (17, 19, 5)
WEAK_DBMV = 2.0
SIZES = ((4, 4, 3), (17, 4, 3), (12, 7, 6), (27, 10, 6), (40, 20, 5))
DEMOS = (
    "walkup_8",
    "townhouse_row",
    "walkup_6_no_closets",
    "europe_two_stairs",
    "slab_1968",
    "senior_corridors",
    "graph_two_risers",
    "garden_12",
    "slab_14",
    "tower_40",
)
KNOWN = Known(
    catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
)


def slab(floors: int, flats: int, outlets: int, top_dbmv: float = 14.0) -> dict[str, Any]:
    """An invented slab with a closet a floor, mains in every fourth, flats along a corridor."""
    names = [f"F{floor}" for floor in range(floors, 0, -1)]
    closets: list[dict[str, Any]] = []
    panels: list[dict[str, Any]] = []
    ends: list[dict[str, Any]] = []
    for at, name in enumerate(names):
        floor = floors - at
        row = {
            "id": name,
            "floor": floor,
            "from": "HE" if at == 0 else names[at - 1],
            "mains": floor % 4 == 0,
        }
        closets.append(row | {"run_m": 6.0 if at == 0 else 3.0})
        for flat in range(flats):
            panel = f"{floor}-{flat + 1}"
            panels.append({"id": panel, "unit": panel, "from": name, "run_m": 5.0 + 2.5 * flat})
            ends += [
                {"id": f"{panel}.{n + 1}", "unit": panel, "at": panel, "drop_m": 4.0 + 2.0 * n}
                for n in range(outlets)
            ]
    carriers = [
        {"channel": channel, "level_dbmv": top_dbmv - 0.5 * at, "cn_db": 34.0}
        for at, channel in enumerate(("14", "19", "24", "30", "36"))
    ]
    return {
        "document": "evendrop/building",
        "version": 1,
        "id": f"slab-{floors}x{flats}x{outlets}",
        "name": "Slab (invented)",
        "rules": {"limits": "us-off-air", "plan": "us-broadcast", "codes": "us-2023"},
        "headend": {"id": "HE", "floor": floors, "mains": True},
        "floor_height_m": 3.0,
        "feed": {"carriers": carriers},
        "closets": closets,
        "panels": panels,
        "outlets": ends,
        "prices": "demo-usd",
    }


def building_of(document: dict[str, Any]) -> Building:
    """The building of a document that holds no fault."""
    reading = read_building(document, KNOWN, library().tariffs)
    if reading.building is None:
        raise SystemExit(f"{document['id']}: {reading.faults[:3]}")
    return reading.building


def timed(building: Building) -> tuple[Design, float]:
    """A design and the processor's seconds that it took."""
    begin = time.process_time()
    answer = design(
        building,
        KNOWN.catalogue,
        library().tariffs[building.tariff],
        KNOWN.limits[building.rules.limits],
        KNOWN.services,
    )
    return answer, time.process_time() - begin


def row(name: str, building: Building, repeats: int = 1) -> str:
    """One line of the table, the median of so many runs."""
    runs = [timed(building) for _ in range(repeats)]
    answer, seconds = runs[0][0], statistics.median(taken for _, taken in runs)
    chosen = answer.chosen
    worst = chosen.margins.worst
    proof = "proven" if chosen.certificate.proven else f"{chosen.certificate.gap:.2%}"
    margin = f"{worst.margin_db:.1f}" if worst is not None else "-"
    spread = f"{building_spread_db(chosen.report):.1f}"
    amplifiers = sum(
        KNOWN.catalogue.part(device.part).active is not None for device in chosen.network.devices
    )
    served = "yes" if chosen.serves_all else "no"
    return (
        f"{name:24}{len(building.outlets):7}{served:>7}{chosen.cost_cents / 100:13,.2f}{proof:>9}"
        f"{margin:>9}{spread:>8}{amplifiers:6}{seconds:8.2f}"
        f"{resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:9.0f}"
    )


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--demos", action="store_true", help="the demo buildings too")
    parser.add_argument("--sizes", action="store_true", help="slabs of 48 to 4,000 outlets instead")
    parser.add_argument("--aim", default="", choices=("", "cheapest", "simplest", "balanced"))
    parser.add_argument("--effort", default="", choices=("", "quick", "normal", "thorough"))
    parser.add_argument("--repeats", type=int, default=1, help="runs of each building")
    wanted = parser.parse_args()
    wishes = {"aim": wanted.aim, "effort": wanted.effort}
    wishes = {name: value for name, value in wishes.items() if value}
    if folder := os.environ.get("NUMBA_CACHE_DIR", ""):
        enable_cache(folder)
    warm_up()
    print(f"{'building':24}outlets served   direct cost   bound   margin  spread  amps seconds       MB")
    for floors, flats, outlets in SIZES if wanted.sizes else SLABS:
        document = slab(floors, flats, outlets) | {"wishes": wishes}
        print(row(document["id"], building_of(document), wanted.repeats), flush=True)
    if not wanted.sizes:
        weak = slab(*WEAK_SLAB, top_dbmv=WEAK_DBMV)
        print(row(f"{weak['id']} weak", building_of(weak | {"wishes": wishes})), flush=True)
    if wanted.demos:
        for name in DEMOS:
            text = (ROOT / "fixtures" / "buildings" / f"{name}.json").read_text(encoding="utf-8")
            document = json.loads(text)
            document["wishes"] = document.get("wishes", {}) | wishes
            print(row(name, building_of(document), wanted.repeats), flush=True)


if __name__ == "__main__":
    main()
