"""The example of the template: an invented eight-unit walk-up, written with types."""

from __future__ import annotations

from typing import Any

_ID = "demo-8"
_CHANNELS = (
    ("14", 12.0, 32.0),
    ("20", 11.0, 31.0),
    ("26", 11.5, 31.0),
    ("33", 10.5, 30.0),
    ("36", 10.0, 30.0),
)
_DROPS = (("A", "1", "living room", 7.5), ("A", "2", "bedroom", 11.0), ("B", "1", "living room", 6.0))

#: Rows by sheet and header.
EXAMPLE: dict[str, list[dict[str, Any]]] = {
    "buildings": [
        {
            "building": _ID,
            "name": "Example walk-up, 8 units (invented)",
            "limits": "us-off-air",
            "plan": "us-broadcast",
            "codes": "us-2023",
            "prices": "demo-usd",
            "feed": "hill",
            "headend": "HE",
            "headend_floor": "2",
            "headend_mains": True,
            "floor_height_m": 2.9,
            "survey": "walked",
            "new_build": True,
            "expected_units": 8,
            "expected_outlets": 12,
            "revision": "A",
            "status": "for bid",
        }
    ],
    "floors": [{"building": _ID, "labels": "1-2", "floor_type": "typical"}],
    "unit types": [
        {
            "building": _ID,
            "unit_type": kind,
            "feed": "panel",
            "outlet": outlet,
            "room": room,
            "drop_m": drop_m,
        }
        for kind, outlet, room, drop_m in _DROPS
    ],
    "floor types": [
        {
            "building": _ID,
            "floor_type": "typical",
            "unit": unit,
            "unit_type": kind,
            "riser": "R1",
            "run_m": run_m,
            "spaces": "riser, general",
        }
        for unit, kind, run_m in (("A", "A", 9.0), ("B", "B", 6.5), ("C", "B", 8.0), ("D", "A", 12.5))
    ],
    "closets and panels": [
        {
            "building": _ID,
            "kind": "riser",
            "id": "R1",
            "from": "HE",
            "run_m": 6.0,
            "spaces": "riser",
            "access": "common-locked",
            "mains_floors": "2",
            "enters": "2",
            "between_spaces": "riser",
        }
    ],
    "feeds": [
        {"feed": "hill", "channel": channel, "level_dbmv": level_dbmv, "cn_db": cn_db, "source": "off-air"}
        for channel, level_dbmv, cn_db in _CHANNELS
    ],
    "wishes and policy": [{"building": "*", "aim": "simplest", "effort": "normal"}],
}
