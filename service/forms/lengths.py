"""Fields that people fill from drawings and sheets, with hints about what went wrong on the way."""

from __future__ import annotations

import re
from typing import Any

from marshmallow import ValidationError

from service.forms.dictionary import entry
from service.forms.strict import ID_PATTERN, Complaint, Number, Text

_FEET_INCHES = re.compile(
    r"\s*([0-9]+(?:\.[0-9]+)?)\s*(?:'|ft|feet)\s*(?:([0-9]+(?:\.[0-9]+)?)\s*(?:\"|''|in)?)?\s*"
)
_METRES = re.compile(r"\s*([0-9]+(?:[.,][0-9]+)?)\s*m\s*")
_COMMA = re.compile(r"\s*([0-9]+),([0-9]+)\s*")
_PLAIN = re.compile(r"\s*-?[0-9]+(?:\.[0-9]+)?\s*")
_DATE = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}.*|[0-9]{1,2}-(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*.*",
    re.I,
)
MOST_FLOOR_NUMBER = 300


def length_hint(text: str) -> str:
    """What a length that was written as text looks like; empty where it can't be told.

    >>> length_hint("12'6\\"")
    'it looks like 12.5 ft'
    >>> length_hint("14 m")
    'it looks like 14 m'
    """
    feet = _FEET_INCHES.fullmatch(text)
    if feet:
        return f"it looks like {float(feet.group(1)) + float(feet.group(2) or 0) / 12:.4g} ft"
    metres = _METRES.fullmatch(text)
    if metres:
        return f"it looks like {metres.group(1).replace(',', '.')} m"
    comma = _COMMA.fullmatch(text)
    if comma:
        whole, rest = comma.groups()
        other = f" or {whole}{rest}" if len(rest) == 3 else ""
        return f"it looks like {whole}.{rest}{other}"
    return f"it looks like the number {text.strip()} in quotes" if _PLAIN.fullmatch(text) else ""


class Length(Number):
    """A length in the unit that the field's name ends in."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> float:
        if isinstance(value, str) and (hint := length_hint(value)):
            right = f"a number in {self.entry.unit}, without quotes and without unit: {self.entry.range_text}"
            raise ValidationError([Complaint(f"this is a text; {hint}", code="wrong-type", right=right)])
        read: float = super()._deserialize(value, attr, data, **kwargs)
        return read


class Name(Text):
    """An identifier, with a hint where a sheet or a typist has changed it."""

    def __init__(self, name: str, *, required: bool = False, key: str | None = None) -> None:
        right = "letters, digits and . _ / - , at most 32, beginning with a letter or a digit"
        super().__init__(name, required=required, pattern=ID_PATTERN, right=right, key=key)

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            wrong = "this is a number; leading zeros and names such as 3E5 or 1-2 get lost in one"
            right = f'the name as a text, for example "{value}"'
            raise ValidationError([Complaint(wrong, code="wrong-type", right=right)])
        if isinstance(value, str) and _DATE.fullmatch(value):
            wrong = "it looks like a date: a sheet takes 1-2 for one"
            raise ValidationError(
                [Complaint(wrong, code="wrong-form", right='the name as a text, for example "1-2"')]
            )
        if isinstance(value, str) and not re.fullmatch(ID_PATTERN, value):
            tidy = re.sub(r"[^A-Za-z0-9._/-]+", "-", value.strip())
            if re.fullmatch(ID_PATTERN, tidy):
                wrong = "it is not written like an identifier"
                raise ValidationError(
                    [Complaint(wrong, code="wrong-form", right=f"for example {tidy}: {self.right}")]
                )
        read: str = super()._deserialize(value, attr, data, **kwargs)
        return read


class Label(Text):
    """A floor's label: a text, or a whole number that becomes one."""

    def __init__(self, name: str, *, required: bool = False) -> None:
        super().__init__(name, required=required, least=1)
        longest = entry(name).longest
        self.metadata = {**self.metadata, "type": ["string", "integer"]}
        self.right = f'a label of at most {longest} characters, for example 4, "G" or "PH"'

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> str:
        if isinstance(value, int) and not isinstance(value, bool) and abs(value) <= MOST_FLOOR_NUMBER:
            return str(value)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            wrong = f"{value:g} is no floor; a name such as 3E5 becomes such a number"
            raise ValidationError([Complaint(wrong, code="wrong-type", right=self.right)])
        read: str = super()._deserialize(value, attr, data, **kwargs)
        return read
