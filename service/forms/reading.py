"""From bytes to a JSON value, and from complaints to their place in the document as posted."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from marshmallow import Schema, ValidationError

from service.engine.findings import Fault
from service.forms.strict import complaints

MOST_LEVELS = 24
#: Digits of a whole number that are still read; longer ones are no number of this trade.
MOST_DIGITS = 1_000
Path = tuple[str | int, ...]
Json = dict[str, Any]

_NOUNS = {
    "feeds": "feed",
    "carriers": "carrier",
    "devices": "device",
    "runs": "run",
    "served": "outlet",
    "parts": "part",
    "cables": "cable",
    "groups": "group",
}
_NAMES = ("id", "outlet", "channel", "name", "to")


class UnreadableDocument(Exception):  # noqa: N818 - it names what the caller holds
    """The bytes are no JSON document that can be looked at: `wrong` says why, `right` what would be."""

    def __init__(self, *, wrong: str, right: str) -> None:
        self.wrong = wrong
        self.right = right
        super().__init__(f"{wrong}; {right}")


def read_json(raw: bytes) -> object:
    """The JSON value of UTF-8 bytes.

    NaN and infinite numbers are let through: they are complained about at their place.
    Raises UnreadableDocument when the bytes are not UTF-8, not JSON, nested deeper than `MOST_LEVELS`, when an
    object holds a key twice, or when a whole number has more than `MOST_DIGITS` digits.
    """
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        wrong = f"byte {error.start} is not UTF-8"
        raise UnreadableDocument(wrong=wrong, right="JSON text in UTF-8") from error
    try:
        document = json.loads(text, object_pairs_hook=_object, parse_int=_whole)
    except RecursionError as error:
        raise _too_deep() from error
    except ValueError as error:
        wrong = f"this is not JSON: {error}"
        raise UnreadableDocument(wrong=wrong, right="one JSON object, RFC 8259") from error
    level: list[object] = [document]
    for _ in range(MOST_LEVELS):
        level = [inner for value in level for inner in _inside(value)]
        if not level:
            return document
    raise _too_deep()


def _too_deep() -> UnreadableDocument:
    right = f"at most {MOST_LEVELS} levels of arrays and objects"
    return UnreadableDocument(wrong="the document is nested too deeply", right=right)


def _whole(digits: str) -> int:
    """The whole number of a text of digits; Python itself reads no more than some thousands of them."""
    if len(digits) > MOST_DIGITS:
        raise ValueError(f"a number has {len(digits)} digits, at most {MOST_DIGITS} are read")
    return int(digits)


def _inside(value: object) -> Iterable[object]:
    if isinstance(value, dict):
        return value.values()
    return value if isinstance(value, list) else ()


def _object(pairs: list[tuple[str, Any]]) -> Json:
    made = dict(pairs)
    if len(made) != len(pairs):
        keys = [key for key, _ in pairs]
        twice = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the key {twice[:40]!r} stands twice in one object")
    return made


def pointer(path: Path) -> str:
    """The JSON pointer of a path (RFC 6901).

    >>> pointer(("runs", 3, "a/b"))
    '/runs/3/a~1b'
    """
    return "".join("/" + str(step).replace("~", "~0").replace("/", "~1") for step in path)


def value_at(document: object, path: Path) -> object:
    """The value at a path, or None where the document has none."""
    for step in path:
        if isinstance(document, dict) and isinstance(step, str):
            document = document.get(step)
        elif isinstance(document, list) and isinstance(step, int) and step < len(document):
            document = document[step]
        else:
            return None
    return document


def has(document: object, path: Path) -> bool:
    """True when the document holds something at the path, be it null."""
    above = value_at(document, path[:-1])
    return isinstance(above, dict) and path[-1] in above if path else True


def as_text(value: object) -> str:
    """A value for people: texts as they stand, the rest as JSON, shortened."""
    text = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
    text = text.encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= 80 else text[:77] + "..."


def subject_at(document: object, path: Path) -> str:
    """The thing that a path leads into, by its noun and name: "run R3", "device at position 4"."""
    words = []
    for depth, step in enumerate(path):
        if (
            isinstance(step, str)
            and step in _NOUNS
            and depth + 1 < len(path)
            and isinstance(path[depth + 1], int)
        ):
            item = value_at(document, path[: depth + 2])
            names = (
                [item[key] for key in _NAMES if isinstance(item.get(key), str)]
                if isinstance(item, dict)
                else []
            )
            words.append(f"{_NOUNS[step]} {as_text(names[0]) if names else f'at position {path[depth + 1]}'}")
    return " of ".join(reversed(words)) or "document"


def fault_at(document: object, path: Path, *, code: str, wrong: str, right: str) -> Fault:
    """A complaint about the value at a path of the document."""
    field = next((step for step in reversed(path) if isinstance(step, str)), "document")
    value = as_text(value_at(document, path)) if has(document, path) or path[-1:] != (field,) else ""
    return Fault(
        code=code,
        path=path,
        subject=subject_at(document, path),
        field=field,
        value=value,
        wrong=wrong,
        right=right,
    )


def load_shape(schema: Schema, document: Json) -> tuple[Json, list[Fault]]:
    """What of a document has the right shape, and the complaints about the rest."""
    try:
        return dict(schema.load(document)), []
    except ValidationError as error:
        faults = [
            fault_at(document, path, code=row.code, wrong=str(row), right=row.right)
            for path, row in complaints(error.messages)
        ]
        valid = error.valid_data if isinstance(error.valid_data, dict) else {}
        return valid, faults


def in_order(faults: Iterable[Fault]) -> tuple[Fault, ...]:
    """Complaints by their place, each once."""
    unique = {(fault.path, fault.code): fault for fault in faults}
    return tuple(sorted(unique.values(), key=lambda fault: (_key(fault.path), fault.code)))


def _key(path: Path) -> tuple[tuple[int, int, str], ...]:
    return tuple((0, step, "") if isinstance(step, int) else (1, 0, step) for step in path)


def moved(fault: Fault, path: Path, document: object) -> Fault:
    """A complaint with another path, its field and value as the document has them there."""
    field = next((step for step in reversed(path) if isinstance(step, str)), fault.field)
    value = value_at(document, path)
    shown = as_text(value) if isinstance(value, (str, int, float, bool)) else fault.value
    return replace(fault, path=path, field=field, value=shown)
