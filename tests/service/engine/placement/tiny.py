"""Seeded buildings of up to six outlets, invented, for the comparison with every network there is."""

from __future__ import annotations

import random
from typing import Any

MOST_OUTLETS = 6


def tiny(seed: int) -> dict[str, Any]:
    """One to three closets in one riser, below a branch or in two risers; flats with panels and run home."""
    draw = random.Random(seed)
    flats = flats_of(draw)
    count = min(len(flats), draw.choice((1, 1, 2, 2, 2, 3, 3)))
    shape = draw.choice(("row", "row", "row", "branch", "risers"))
    powered = draw.random() < 0.55
    level = draw.uniform(2.0, 14.0) if powered else draw.uniform(17.0, 34.0)
    channels = draw.choice((("8", "36"), ("14", "36"), ("8", "24", "36")))
    document: dict[str, Any] = {
        "document": "evendrop/building",
        "version": 1,
        "id": f"tiny-{seed}",
        "name": "Invented",
        "headend": {"id": "HE", "floor": count + 1, "mains": powered},
        "floors": [{"label": str(floor)} for floor in range(1, count + 2)],
        "closets": [],
        "panels": [],
        "units": [],
        "outlets": [],
        "prices": "demo-usd",
        "wishes": {"aim": "cheapest"},
    }
    document["feed"] = {
        "carriers": [
            {"channel": name, "level_dbmv": round(level + draw.uniform(-1.0, 1.0), 1), "cn_db": 38.0}
            for name in channels
        ]
    }
    alike = draw.random() < 0.5
    for number in range(count):
        above = {"row": number - 1, "branch": min(number - 1, 0), "risers": -1}[shape]
        floor = count - number
        lowest = 3.5 * ((count + 1 if above < 0 else count - above) - floor)
        document["closets"].append(
            {
                "id": f"C{number}",
                "floor": floor,
                "from": f"C{above}" if above >= 0 else "HE",
                "run_m": round(lowest + draw.uniform(0.0, 40.0), 1),
                "spaces": ["riser"],
            }
        )
        if alike:
            document["floors"][floor - 1]["floor_type"] = "flats"
    for number, outlets in enumerate(flats):
        add_flat(document, draw, number, number % count, outlets)
    return document


def flats_of(draw: random.Random) -> list[int]:
    """Outlets of each flat, six in all at most."""
    flats: list[int] = []
    most = draw.randint(2, MOST_OUTLETS)
    while sum(flats) < most:
        flats.append(min(draw.choice((1, 1, 2, 2, 3, 4)), most - sum(flats)))
    return flats


def add_flat(document: dict[str, Any], draw: random.Random, number: int, closet: int, outlets: int) -> None:
    """A flat with its panel, or with its outlets run home."""
    unit, at = f"F{number}", f"C{closet}"
    floor = next(row["floor"] for row in document["closets"] if row["id"] == at)
    home = outlets > 1 and draw.random() < 0.3
    row = {"id": unit, "floor": str(floor), "unit_type": f"of-{outlets}{'-home' if home else ''}"}
    document["units"].append(row | ({"feed": "home-run"} if home else {}))
    run = round(draw.uniform(3.0, 50.0), 1)
    panel = outlets > 1 and not home
    if panel:
        document["panels"].append(
            {"id": f"P{number}", "unit": unit, "from": at, "run_m": run, "spaces": ["general", "unit"]}
        )
    for index in range(outlets):
        drop = round(draw.uniform(2.0, 18.0) + (0.0 if panel else run), 1)
        document["outlets"].append(
            {
                "id": f"{unit}-{index + 1}",
                "unit": unit,
                "at": f"P{number}" if panel else at,
                "drop_m": drop,
                "spaces": ["general"],
            }
        )
