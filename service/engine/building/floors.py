"""Floors: label, order and elevation, from rows or from the labels alone."""

from __future__ import annotations

import re
from collections.abc import Iterable
from itertools import pairwise

from service.engine.building.complaints import fault
from service.engine.building.ledger import Ledger
from service.engine.building.places import Floor
from service.engine.building.sketch import FloorRow, Sketch
from service.engine.findings import Fault

FLOOR_HEIGHT_M = 3.0
MOST_FLOORS = 200
_RANGE = re.compile(r"\s*([0-9]{1,3})\s*[-–]\s*([0-9]{1,3})\s*")
#: Two numbers with anything but a dash between them: a range in another spelling.
_SPAN = re.compile(r"[0-9][^0-9A-Za-z]+[0-9]")
_BELOW = re.compile(r"[BP]([0-9]{0,2})")
_GROUND = ("G", "L", "0")


def labels_of(text: str) -> tuple[str, ...] | None:
    """Labels of a list such as "1-12, 14, PH", in the order written; None where a range can't be counted.

    >>> labels_of("1-3, PH")
    ('1', '2', '3', 'PH')
    """
    labels: list[str] = []
    for part in text.split(","):
        found = _RANGE.fullmatch(part)
        if found is None:
            if not part.strip() or _SPAN.search(part):
                return None
            labels.append(part.strip())
            continue
        low, high = int(found.group(1)), int(found.group(2))
        if high < low or high - low >= MOST_FLOORS:
            return None
        labels += [str(number) for number in range(low, high + 1)]
    return tuple(labels)


def floors_of(
    sketch: Sketch, mentioned: Iterable[tuple[str, str]], ledger: Ledger
) -> tuple[list[Floor], list[Fault]]:
    """Floors of every block, lowest first, and what is wrong with their rows.

    `mentioned` holds (block, label) of every row that names a floor; floors come from it where the document
    lists none. A storey's height is the document's `floor_height_m`, else 3.0 m (common practice).
    """
    if sketch.floor_height_m is None:
        ledger.use("floor_height_m", f"{FLOOR_HEIGHT_M:g} m", "storey height not said; common practice")
    height_m = sketch.floor_height_m or FLOOR_HEIGHT_M
    if sketch.floors:
        return _from_rows(sketch.floors, height_m)
    return _from_labels(sorted(set(mentioned)), height_m, ledger)


def _from_rows(rows: tuple[FloorRow, ...], height_m: float) -> tuple[list[Floor], list[Fault]]:
    faults: list[Fault] = []
    floors: dict[tuple[str, str], Floor] = {}
    top: dict[str, tuple[int, float]] = {}
    for row in rows:
        labels = _row_labels(row, faults)
        step_m = row.height_m if row.height_m is not None else height_m
        for block in row.blocks:
            for position, label in enumerate(labels):
                if (block, label) in floors:
                    field = "labels" if row.labels else "label"
                    wrong = f"floor {label} stands in another row already"
                    faults.append(
                        fault(
                            "duplicate-id", row.path, field, f"floor {label}", label, wrong, "each floor once"
                        )
                    )
                    continue
                order, elevation_m = top.get(block, (0, 0.0))
                order = order if row.order is None else row.order + position
                elevation_m = elevation_m if row.elevation_m is None else row.elevation_m + position * step_m
                floors[block, label] = Floor(
                    label=label, order=order, elevation_m=elevation_m, block=block, floor_type=row.floor_type
                )
                top[block] = (order + 1, elevation_m + step_m)
    faults += _order_faults(rows, floors)
    return sorted(floors.values(), key=lambda floor: (floor.block, floor.order, floor.label)), faults


def _row_labels(row: FloorRow, faults: list[Fault]) -> tuple[str, ...]:
    if not row.labels:
        return (row.label,) if row.label else ()
    labels = labels_of(row.labels)
    if labels is None:
        wrong = "the floors can't be counted from this text"
        right = f'for example "3-12" or "1, 2, PH", lowest first, at most {MOST_FLOORS} floors'
        faults.append(fault("wrong-range", row.path, "labels", "floors", row.labels, wrong, right))
        return ()
    return tuple(label for label in labels if label not in row.missing)


def _order_faults(rows: tuple[FloorRow, ...], floors: dict[tuple[str, str], Floor]) -> list[Fault]:
    """Two floors of one block can't have one order, and elevation grows with it."""
    faults = []
    for block in sorted({key[0] for key in floors}):
        own = sorted(
            (floor for key, floor in floors.items() if key[0] == block), key=lambda floor: floor.order
        )
        for lower, upper in pairwise(own):
            if lower.order < upper.order and lower.elevation_m < upper.elevation_m:
                continue
            row = next(row for row in rows if upper.label in (row.label, *(labels_of(row.labels) or ())))
            field = "order" if lower.order == upper.order else "elevation_m"
            value = upper.order if field == "order" else f"{upper.elevation_m:g}"
            wrong = f"floor {upper.label} does not stand above floor {lower.label}"
            right = "rows from the lowest floor up, or orders and elevations that grow"
            faults.append(
                fault("floor-order-unknown", row.path, "", f"floor {upper.label}", value, wrong, right)
            )
    return faults


def _number(label: str) -> int | None:
    """The storey number that a label usually means: 0 for ground, negative below it."""
    upper = label.upper()
    if re.fullmatch("-?[0-9]{1,3}", upper) and upper != "0":
        return int(upper)
    if upper in _GROUND:
        return 0
    below = _BELOW.fullmatch(upper)
    return -int(below.group(1) or 1) if below else None


def _from_labels(
    mentioned: list[tuple[str, str]], height_m: float, ledger: Ledger
) -> tuple[list[Floor], list[Fault]]:
    floors: list[Floor] = []
    faults: list[Fault] = []
    for block in sorted({block for block, _ in mentioned}):
        labels = [label for of, label in mentioned if of == block]
        numbers = {label: _number(label) for label in labels}
        for label in labels:
            if numbers[label] is None:
                wrong = f"nothing says where floor {label} stands"
                right = "list the floors from the lowest up: floors: [{label: …}, …]"
                faults.append(
                    fault("floor-order-unknown", (), "floors", f"floor {label}", label, wrong, right)
                )
        known = sorted((number, label) for label, number in numbers.items() if number is not None)
        if not known:
            continue
        ledger.use("floors", f"{known[0][1]} to {known[-1][1]}", "counted from their labels, none left out")
        lowest = known[0][0]
        for number, label in known:
            steps = number - lowest - (1 if number > 0 > lowest and 0 not in numbers.values() else 0)
            floors.append(Floor(label=label, order=steps, elevation_m=steps * height_m, block=block))
    return floors, faults
