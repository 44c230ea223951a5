"""One cell of a sheet, read as what its column wants: never guessed, but told what it looks like.

Spreadsheets change what people type: `1-2` becomes a date, `3E5` 300000, `0101` 101. People write `45'`,
`12'6"`, `14 m`, `1,300`, `$12`. Each is a complaint: what the cell looks like and what would be right.
"""

from __future__ import annotations

import datetime
import math
import re
from dataclasses import dataclass
from typing import Literal

from batch.problems import Mark

Kind = Literal["id", "text", "number", "whole", "money", "flag", "choice", "list", "date"]
Value = str | float | int | bool | list[str]

METRES_A_FOOT = 0.3048

_FEET = re.compile(r"""(\d+(?:\.\d+)?)\s*(?:'|′|’|ft\.?|feet|foot)""", re.IGNORECASE)
_FEET_INCHES = re.compile(
    r"""(\d+)\s*(?:'|′|’|ft\.?)\s*-?\s*(\d+(?:\.\d+)?)\s*(?:"|″|”|''|in\.?)""", re.IGNORECASE
)
_METRES = re.compile(r"(\d+(?:[.,]\d+)?)\s*(?:m|metres?|meters?)\.?", re.IGNORECASE)
_GROUPED = re.compile(r"-?\d{1,3}(?:,\d{3})+")
_COMMA = re.compile(r"-?\d+,\d+")
_PLAIN = re.compile(r"-?\d+(?:\.\d{1,2})?")
_MONEY = re.compile(r"(?:[$€£¥]|[A-Z]{3})\s*\d[\d.,]*|\d[\d.,]*\s*(?:[$€£¥]|[A-Z]{3})")
_PERCENT = re.compile(r"-?\d+(?:[.,]\d+)?\s*%")
_UNIT = re.compile(r"(-?\d+(?:\.\d+)?)\s*([A-Za-zµμΩ°/]+)")
_ZEROS = re.compile(r"0{2,}")

_YES = ("yes", "y", "true", "x")
_NO = ("no", "n", "false")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """A cell as the workbook holds it: value, how it is shown, and its formula ("" for none)."""

    value: object
    number_format: str = "General"
    formula: str = ""

    @property
    def shown(self) -> str:
        """The value for people."""
        if self.formula:
            return self.formula
        if isinstance(self.value, float) and self.value.is_integer() and abs(self.value) < 1e15:
            return str(int(self.value))
        if isinstance(self.value, datetime.datetime):
            return self.value.date().isoformat()
        return "" if self.value is None else str(self.value)

    @property
    def blank(self) -> bool:
        """True when the cell holds nothing."""
        return not self.formula and (self.value is None or str(self.value).strip() == "")


def read_cell(
    cell: Cell, kind: Kind, *, unit: str = "", choices: tuple[str, ...] = ()
) -> tuple[Value | None, Mark | None]:
    """The value of a cell that isn't blank, or what is wrong with it."""
    value = cell.value
    if cell.formula and value is None:
        return None, Mark(
            code="formula-without-value",
            looks_like="a formula whose result was never saved in the file",
            right="open the workbook in a spreadsheet program and save it, or type the value",
        )
    if isinstance(value, str) and value.startswith("#") and value.rstrip("!?").isupper():
        return None, Mark(code="formula-error", looks_like="a formula that failed", right="the value itself")
    if isinstance(value, datetime.date) and kind == "date":
        return (value.date() if isinstance(value, datetime.datetime) else value).isoformat(), None
    if isinstance(value, (datetime.date, datetime.time)):
        return None, _date(value, kind)
    if kind in ("id", "text", "date"):
        return _name(cell, kind)
    if kind == "list":
        named, mark = _name(cell, "id")
        if mark or not isinstance(named, str):
            return None, mark
        return [part.strip() for part in re.split(r"[;,]", named) if part.strip()], None
    if kind == "flag":
        return _flag(value)
    if kind == "choice":
        return _choice(cell.shown.strip(), choices)
    return _number(cell, kind, unit)


def _date(value: datetime.date | datetime.time, kind: Kind) -> Mark:
    if isinstance(value, datetime.date) and kind in ("id", "text", "list", "choice"):
        typed = f"{value.month}-{value.day}"
        right = f"format the cell as text and type {typed} again"
        return Mark(code="date", looks_like=f"{typed} that the spreadsheet turned into a date", right=right)
    return Mark(
        code="date", looks_like="a date or a time", right="format the cell as a number and type it again"
    )


def _name(cell: Cell, kind: Kind) -> tuple[str | None, Mark | None]:
    value = cell.value
    if isinstance(value, bool):
        looks = f"{value} as a truth value"
        return None, Mark(code="not-text", looks_like=looks, right="a name, as text")
    if isinstance(value, (int, float)):
        if not float(value).is_integer():
            if kind == "text":
                return f"{value:g}", None
            return None, Mark(code="not-text", looks_like="a number with a fraction", right="a name, as text")
        return _whole_name(int(value), cell.number_format)
    return str(value).strip(), None


def _whole_name(number: int, number_format: str) -> tuple[str | None, Mark | None]:
    digits = str(number)
    stem = digits.rstrip("0")
    zeros = len(digits) - len(stem)
    if "E+" in number_format.upper() or (zeros >= 4 and number >= 100_000 and len(stem) <= 2):
        typed = f"{stem}E{zeros}"
        return None, Mark(
            code="turned-into-number",
            looks_like=f"{typed} that the spreadsheet turned into a number",
            right=f"format the cell as text and type {typed} again",
        )
    if _ZEROS.fullmatch(number_format) and len(digits) < len(number_format):
        typed = digits.zfill(len(number_format))
        return None, Mark(
            code="lost-zeros",
            looks_like=f"{typed} held as the number {digits}, only shown with its zeros",
            right=f"format the cell as text and type {typed} again",
        )
    return digits, None


def _flag(value: object) -> tuple[bool | None, Mark | None]:
    if isinstance(value, bool):
        return value, None
    word = str(value).strip().casefold()
    if word in _YES:
        return True, None
    if word in _NO:
        return False, None
    return None, Mark(code="not-yes-or-no", looks_like="neither yes nor no", right="yes or no")


def _choice(word: str, choices: tuple[str, ...]) -> tuple[str | None, Mark | None]:
    for choice in choices:
        if word.casefold() == choice.casefold():
            return choice, None
    return None, Mark(
        code="not-a-choice", looks_like="none of the choices", right="one of " + ", ".join(choices)
    )


def _number(cell: Cell, kind: Kind, unit: str) -> tuple[Value | None, Mark | None]:
    value = cell.value
    if isinstance(value, bool):
        return None, Mark(code="not-a-number", looks_like="a truth value", right=_wanted(unit))
    if isinstance(value, (int, float)):
        number = float(value)
    else:
        word = str(value).strip()
        if not _PLAIN.fullmatch(word):
            return None, _looks(word, kind, unit)
        number = float(word)
    if not math.isfinite(number):
        return None, Mark(code="not-a-number", looks_like="no finite number", right=_wanted(unit))
    if "%" in cell.number_format:
        looks = f"{number:.0%}, held as {number:g}"
        return None, Mark(
            code="percent", looks_like=looks, right=f"format the cell as a number: {_wanted(unit)}"
        )
    if kind == "whole":
        if not number.is_integer():
            return None, Mark(code="not-whole", looks_like="a number with a fraction", right="a whole number")
        return int(number), None
    if kind == "money":
        return f"{number:.4f}".rstrip("0").rstrip(".") if round(
            number, 2
        ) != number else f"{number:.2f}", None
    return (int(number) if number.is_integer() else number), None


def _wanted(unit: str) -> str:
    return f"a number in {unit}, without the unit" if unit else "a number"


def _looks(word: str, kind: Kind, unit: str) -> Mark:
    """What a text in a number's place looks like."""
    inches = _FEET_INCHES.fullmatch(word)
    feet = _FEET.fullmatch(word)
    if inches or feet:
        length = float(inches[1]) + float(inches[2]) / 12.0 if inches else float(feet[1]) if feet else 0.0
        return Mark(code="unit-in-cell", looks_like=f"{length:g} ft", right=_length(length, "ft", unit))
    metres = _METRES.fullmatch(word)
    if metres:
        length = float(metres[1].replace(",", "."))
        return Mark(code="unit-in-cell", looks_like=f"{length:g} m", right=_length(length, "m", unit))
    if _PERCENT.fullmatch(word):
        return Mark(code="percent", looks_like="a share in per cent", right=_wanted(unit))
    if kind == "money" and _MONEY.fullmatch(word):
        digits = re.sub(r"[^\d.,]", "", word)
        right = f"{digits} as a number; the currency stands in its own column"
        return Mark(code="currency-sign", looks_like="a price with its currency", right=right)
    if _GROUPED.fullmatch(word):
        large, small = word.replace(",", ""), word.replace(",", ".", 1)
        looks = f"{large}, or {small} with a decimal comma"
        return Mark(code="comma", looks_like=looks, right=f"{large} or {small}, typed as a number")
    if _COMMA.fullmatch(word):
        number = word.replace(",", ".")
        return Mark(code="comma", looks_like=f"{number} with a decimal comma", right=f"{number} as a number")
    with_unit = _UNIT.fullmatch(word)
    if with_unit:
        right = f"{with_unit[1]} alone" if with_unit[2] == unit else _wanted(unit)
        return Mark(code="unit-in-cell", looks_like=f"{with_unit[1]} {with_unit[2]}", right=right)
    return Mark(code="not-a-number", looks_like="a text", right=_wanted(unit))


def _length(length: float, given: str, unit: str) -> str:
    if unit == given:
        return f"{length:g} alone, the column is in {unit}"
    if (given, unit) == ("ft", "m"):
        return f"{length * METRES_A_FOOT:.2f}, the column is in metres"
    if (given, unit) == ("m", "ft"):
        return f"{length / METRES_A_FOOT:.1f}, the column is in feet"
    return _wanted(unit)


def is_feet(text: str) -> bool:
    """True when a text is a length in feet."""
    return bool(_FEET.fullmatch(text.strip()) or _FEET_INCHES.fullmatch(text.strip()))


def is_metres(text: str) -> bool:
    """True when a text is a length in metres."""
    return bool(_METRES.fullmatch(text.strip()))
