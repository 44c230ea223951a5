"""What a designer draws without a computer, built and measured on its own, never costs less than the answer."""

from __future__ import annotations

import importlib.util
import random
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from service.engine.building.places import Building


@pytest.fixture(scope="module")
def ordinary() -> Iterator[ModuleType]:
    path = Path(__file__).with_name("ordinary.py")
    spec = importlib.util.spec_from_file_location("ordinary", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    # Its records look their own module up.
    sys.modules["ordinary"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["ordinary"]


def house(seed: int, *, home_run: bool = False, powered: bool = False) -> dict[str, Any]:
    """A riser of one to three alike floors, two to four flats each, one to three outlets a flat."""
    draw = random.Random(seed)
    floors, flats = draw.randint(1, 3), draw.randint(2, 4)
    outlets = [draw.randint(1, 3) for _ in range(flats)]
    document: dict[str, Any] = {
        "document": "evendrop/building",
        "version": 1,
        "id": f"house-{seed}",
        "name": "Invented",
        "headend": {"id": "HE", "floor": 4, "mains": True},
        "floors": [{"label": f"{n}", "floor_type": "flats"} for n in range(1, 4)] + [{"label": "4"}],
        "closets": [],
        "panels": [],
        "units": [],
        "outlets": [],
        "prices": "demo-usd",
    }
    level = draw.uniform(4.0, 14.0)
    document["feed"] = {
        "carriers": [
            {"channel": name, "level_dbmv": round(level + draw.uniform(-1.0, 1.0), 1), "cn_db": 35.0}
            for name in ("8", "16", "24", "36")
        ]
    }
    above = "HE"
    for floor in range(floors, 0, -1):
        closet = f"C{floor}"
        row = {"id": closet, "floor": floor, "from": above, "run_m": round(draw.uniform(3.0, 25.0), 1)}
        document["closets"].append(row | {"spaces": ["riser"]} | ({"mains": True} if powered else {}))
        above = closet
        for number, count in enumerate(outlets):
            unit = f"{floor}{'ABCD'[number]}"
            document["units"].append(
                {"id": unit, "floor": str(floor), "unit_type": f"type-{number}"}
                | ({"feed": "home-run"} if home_run else {})
            )
            run = round(draw.uniform(4.0, 30.0), 1)
            by_panel = count > 1 and not home_run
            if by_panel:
                document["panels"].append(
                    {"id": unit, "unit": unit, "from": closet, "run_m": run, "spaces": ["general", "unit"]}
                )
            for index in range(count):
                at = unit if by_panel else closet
                drop = round(draw.uniform(2.0, 12.0) + (0.0 if by_panel else run), 1)
                document["outlets"].append(
                    {"id": f"{unit}-{index + 1}", "unit": unit, "at": at, "drop_m": drop}
                )
    return document


def plain(desk: Any, document: dict[str, Any]) -> Building:
    """The building with the rules off that only cost money, so that the least money is what is asked for."""
    policy = {"spare": False, "most_tap_values": 9}
    return desk.building(document, policy, {"aim": "cheapest"})


@pytest.mark.parametrize(
    ("seed", "home_run"), [(1, False), (2, False), (3, False), (4, False), (5, True), (6, True)]
)
def test_a_tapped_riser_never_costs_less_than_the_answer(
    seed: int, home_run: bool, ordinary: ModuleType, desk: Any
) -> None:
    building = plain(desk, house(seed, home_run=home_run))
    answer = desk.design(building).chosen
    assert answer.serves_all
    prices = []
    for launch in ordinary.LAUNCHES:
        for series in ("6", "11"):
            drawn = list(ordinary.tapped_riser(building, desk, launch, series))
            drawn.sort(key=lambda network: ordinary.cents(network, building, desk))
            for network in drawn:
                if ordinary.fitting(network, building, desk, launch) is not None:
                    prices.append(ordinary.cents(network, building, desk))
                    break
        if prices:
            break
    assert prices
    assert answer.cost_cents <= min(prices)


@pytest.mark.parametrize("seed", [1, 3, 5, 7])
def test_express_feeds_with_or_without_zone_amplifiers_never_cost_less_than_the_answer(
    seed: int, ordinary: ModuleType, desk: Any
) -> None:
    building = plain(desk, house(seed, powered=True))
    answer = desk.design(building).chosen
    assert answer.serves_all
    prices = []
    for launch in ordinary.LAUNCHES:
        for series in ("6", "11"):
            for zone in (None, "floor-amp"):
                for network in ordinary.express_feeds(building, desk, launch, series, zone):
                    fitted = ordinary.fitting(network, building, desk, zone or launch)
                    if fitted is not None:
                        prices.append(ordinary.cents(fitted, building, desk))
    assert prices
    assert answer.cost_cents <= min(prices)
