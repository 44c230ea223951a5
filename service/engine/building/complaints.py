"""The closed list of what can be wrong with a building, and how a complaint is made."""

from __future__ import annotations

import re
from difflib import SequenceMatcher

from service.engine.building.sketch import Path
from service.engine.findings import Fault

#: The closed list of codes of the building's validator, each with its meaning.
BUILDING_CODES: dict[str, str] = {
    "amplifier-without-mains": "An amplifier is wanted where no house power is.",
    "amplifier-in-flat": "An amplifier is wanted inside a flat.",
    "count-differs": "The rows add up to another number than the document says.",
    "duplicate-id": "Two things of one kind have the same id.",
    "empty-building": "A building without an outlet.",
    "no-network": "No network can be built: a closet may hold too little, or parts are barred or without a price.",
    "flat-through-flat": "A flat is fed through another flat.",
    "floor-order-unknown": "Floors whose order can't be told from their labels.",
    "forbidden-space": "A way crosses a space that no cable may cross.",
    "look-alike-id": "Two ids that people will take for one.",
    "loop": "Places feed each other in a circle, or a way leads back to where it starts.",
    "missing": "A field that must be there is not.",
    "mixed-forms": "Two forms of describing a building stand in one document.",
    "mixed-length-units": "Feet and metres in one building.",
    "mixed-unit-feed": "One flat is fed by a panel and by home-runs.",
    "no-carriers": "A feed without carriers.",
    "not-together": "Fields exclude each other, or one of several is wanted and none is there.",
    "outlet-is-leaf": "An outlet is the end of its line: nothing is fed from it.",
    "other-block": "A flat is served from another block.",
    "pin-differs": "A kept device or run that the building contradicts.",
    "riser-skips": "A riser that doesn't pass the floor.",
    "same-as-loop": "Buildings that refer to each other in a circle.",
    "same-as-plan": "A building that is the same as another one brings a plan of its own.",
    "service-without-limit": "The limits say nothing about the service.",
    "shorter-than-height": "A run that is shorter than the height between its ends.",
    "too-many": "More entries than the documented limit.",
    "unknown-building": "There is no building of that id.",
    "unknown-cable": "The catalogue holds no cable of that id.",
    "unknown-channel": "The channel plan has no such channel.",
    "unknown-codes": "There is no code set of that id.",
    "unknown-floor": "The building has no floor of that label.",
    "unknown-limits": "There are no limits of that id.",
    "unknown-part": "The catalogue holds no part of that id.",
    "unknown-place": "There is no place of that id.",
    "unknown-plan": "There is no channel plan of that id.",
    "unknown-prices": "There is no price sheet of that id.",
    "unknown-service": "There is no service of that id.",
    "unknown-type": "There is no unit type or floor type of that id.",
    "unknown-way": "There is no way of that id.",
    "unreachable": "No way leads from the head-end to the place.",
    "wrong-band": "A satellite, cable or terrestrial service under limits written for another band.",
    "wrong-range": "A row of floors that can't be counted from its text.",
}


def fault(code: str, path: Path, field: str, subject: str, value: object, wrong: str, right: str) -> Fault:
    """A complaint about `field` of the row at `path`; an empty field means the row itself."""
    return Fault(
        code=code,
        path=(*path, field) if field else path,
        subject=subject,
        field=field or str(next((step for step in reversed(path) if isinstance(step, str)), "document")),
        value=str(value),
        wrong=wrong,
        right=right,
    )


_SEPARATORS = re.compile(r"[\s._/-]+")


def alike(name: str) -> str:
    """An id as people read it: without case and separators, save between two digits.

    >>> alike("IDF-2A") == alike("idf 2a"), alike("1-11") == alike("11-1")
    (True, False)
    """
    parts = [part for part in _SEPARATORS.split(name.strip().casefold()) if part]
    read = parts[0] if parts else ""
    for part in parts[1:]:
        read += "-" + part if read[-1].isdigit() and part[0].isdigit() else part
    return read


def meant(name: str, known: list[str]) -> str:
    """The known id that people would take for this name, as a hint; empty where there is none.

    >>> meant("IDF 2A", ["IDF-1A", "IDF-2A"])
    'it looks like IDF-2A'
    """
    same = [other for other in known if alike(other) == alike(name)]
    return f"it looks like {same[0]}" if same else ""


def nearest(name: str, known: list[str], most: int = 8) -> str:
    """What would be right in place of an unknown id: the one it looks like, or the known ones, nearest first.

    >>> nearest("us-onair", ["spain", "uk", "us-off-air"])
    'one of us-off-air, spain, uk'
    """
    if hint := meant(name, known):
        return hint
    ranked = sorted(known, key=lambda other: (-SequenceMatcher(None, name, other).ratio(), other))
    return f"one of {', '.join(ranked[:most])}" + (" …" if len(known) > most else "")
