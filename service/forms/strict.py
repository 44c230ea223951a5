"""Strict marshmallow fields: a number is a JSON number, a flag is true or false, and nothing is converted.

Each field takes its text, unit and range from the dictionary of fields, and every complaint carries its code
and what would be right.
"""

from __future__ import annotations

import inspect
import math
import re
from abc import ABC, abstractmethod
from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import Any

from marshmallow import RAISE, Schema, ValidationError, fields

from service.engine.signal.curves import Curve
from service.forms.dictionary import FieldEntry, entry

ID_PATTERN = "[A-Za-z0-9][A-Za-z0-9._/-]{0,31}"
GROUP_PATTERN = "[a-z][a-z0-9_-]{0,31}"
PORT_PATTERN = f"{ID_PATTERN}:{GROUP_PATTERN}([.][1-9][0-9]{{0,2}})?"
_CONTROL = re.compile("[\x00-\x1f\x7f\ud800-\udfff]")


class Complaint(str):
    """What is wrong with a value, as marshmallow's message, with its code and what would be right."""

    __slots__ = ("code", "right")

    code: str
    right: str

    def __new__(cls, wrong: str, *, code: str, right: str) -> Complaint:
        complaint = super().__new__(cls, wrong)
        complaint.code = code
        complaint.right = right
        return complaint


def kind_of(value: object) -> str:
    """The JSON name of a value's type."""
    if value is None:
        return "null"
    if isinstance(value, bool):
        return "true or false"
    if isinstance(value, (int, float)):
        return "a number"
    if isinstance(value, str):
        return "a text"
    return "an array" if isinstance(value, list) else "an object"


def wrong_type(value: object, right: str) -> ValidationError:
    """The complaint about a value of another JSON type."""
    return ValidationError([Complaint(f"this is {kind_of(value)}", code="wrong-type", right=right)])


class StrictField(fields.Field[Any], ABC):
    """A field with the entry `name` of the dictionary; `key` is its name where Python forbids it."""

    wanted = "a value"

    def __init__(self, name: str, *, required: bool = False, key: str | None = None, **metadata: Any) -> None:
        self.entry: FieldEntry = entry(name)
        described = {"description": self._description()} | metadata
        super().__init__(required=required, data_key=key, metadata=described)

    def _description(self) -> str:
        return self.entry.text

    @abstractmethod
    def take(self, value: Any) -> Any:
        """The value when it is in order; raises ValidationError with our complaint."""

    def _deserialize(self, value: Any, attr: str | None, data: Any, **kwargs: Any) -> Any:
        del attr, data, kwargs
        return self.take(value)

    def make_error(self, key: str, **kwargs: object) -> ValidationError:
        """Our complaint in place of marshmallow's message."""
        if key == "required":
            return ValidationError([Complaint("it is missing", code="missing", right=self.wanted)])
        return wrong_type(None, self.wanted) if key == "null" else super().make_error(key, **kwargs)


def finite_number(value: object, row: FieldEntry) -> float:
    """A JSON number as float, inside the range of its entry; raises ValidationError with our complaint."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        right = "a number, without quotes and without unit"
        raise wrong_type(value, f"{right}: {row.range_text}" if row.range_text else right)
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise ValidationError(
            [Complaint("it is not a finite number", code="not-finite", right=row.range_text)]
        )
    if not row.allows(number):
        below = (row.low is not None and number < row.low) or (row.above is not None and number <= row.above)
        looks = row.looks_low if below else row.looks_high
        if looks:
            wrong, code = (
                f"{number:g} is no value in {row.unit}: it looks like {looks}",
                "looks-like-other-unit",
            )
        else:
            wrong, code = f"{number:g} is outside the range", "out-of-range"
        raise ValidationError([Complaint(wrong, code=code, right=row.range_text)])
    return number


def _range_keywords(row: FieldEntry) -> dict[str, Any]:
    keywords = {"minimum": row.low, "exclusiveMinimum": row.above, "maximum": row.high}
    return {key: value for key, value in keywords.items() if value is not None}


class Number(StrictField):
    """A finite JSON number inside the range of its entry."""

    wanted = "a number"

    def __init__(self, name: str, *, required: bool = False) -> None:
        super().__init__(name, required=required, type="number", **_range_keywords(entry(name)))

    def _description(self) -> str:
        return f"{self.entry.text} [{self.entry.unit}]" if self.entry.unit else self.entry.text

    def take(self, value: Any) -> float:
        """A finite number inside the range."""
        return finite_number(value, self.entry)


class Whole(StrictField):
    """A JSON number without fraction, inside the range of its entry."""

    wanted = "a whole number"

    def __init__(self, name: str, *, required: bool = False) -> None:
        super().__init__(name, required=required, type="integer", **_range_keywords(entry(name)))

    def take(self, value: Any) -> int:
        """A number without fraction inside the range."""
        number = finite_number(value, self.entry)
        if number != int(number):
            raise ValidationError([Complaint("it has a fraction", code="wrong-type", right=self.wanted)])
        return int(number)


class Flag(StrictField):
    """true or false."""

    wanted = "true or false, without quotes"

    def __init__(self, name: str) -> None:
        super().__init__(name, type="boolean")

    def take(self, value: Any) -> bool:
        """True or false as it stands."""
        if not isinstance(value, bool):
            raise wrong_type(value, self.wanted)
        return value


class Text(StrictField):
    """A JSON text of bounded length, without control characters, in the form of `pattern` if there is one."""

    wanted = "a text"

    def __init__(
        self,
        name: str,
        *,
        required: bool = False,
        pattern: str = "",
        right: str = "",
        least: int = 0,
        key: str | None = None,
    ) -> None:
        keywords: dict[str, Any] = {"type": "string", "maxLength": entry(name).longest}
        if pattern:
            keywords["pattern"] = f"^{pattern}$"
        if least:
            keywords["minLength"] = least
        self.form = re.compile(pattern) if pattern else None
        self.right = right or f"a text of {least or 0} to {entry(name).longest} characters"
        self.least = least
        self.wanted = self.right
        super().__init__(name, required=required, key=key, **keywords)

    def take(self, value: Any) -> str:
        """The text as it stands."""
        if not isinstance(value, str):
            raise wrong_type(value, f"a text: {self.right}")
        if self.form is not None and not self.form.fullmatch(value):
            raise ValidationError(
                [Complaint("it is not written like one", code="wrong-form", right=self.right)]
            )
        if not self.least <= len(value) <= self.entry.longest or _CONTROL.search(value):
            wrong = "it is too short, too long or holds control characters"
            raise ValidationError([Complaint(wrong, code="wrong-form", right=self.right)])
        return value


def Id(name: str, *, required: bool = False, key: str | None = None) -> Text:  # noqa: N802 - stands beside the field classes in schemas
    """A text in the form of an identifier."""
    right = "letters, digits and . _ / - , at most 32, beginning with a letter or a digit"
    return Text(name, required=required, pattern=ID_PATTERN, right=right, key=key)


def PortText(name: str, *, required: bool = False, key: str | None = None) -> Text:  # noqa: N802 - stands beside the field classes
    """A text in the form of a port."""
    right = "device:group.number, for example T3:tap.2"
    return Text(name, required=required, pattern=PORT_PATTERN, right=right, key=key)


class Choice(StrictField):
    """One of a few texts."""

    def __init__(self, name: str, choices: Sequence[str], *, required: bool = False) -> None:
        self.choices = tuple(choices)
        self.wanted = f"one of {', '.join(choices)}"
        super().__init__(name, required=required, type="string", enum=list(choices))

    def take(self, value: Any) -> str:
        """The text when it is one of the choices."""
        if not isinstance(value, str):
            raise wrong_type(value, self.wanted)
        if value not in self.choices:
            raise ValidationError(
                [Complaint("there is no such choice", code="not-a-choice", right=self.wanted)]
            )
        return value


class CurveTable(StrictField):
    """A figure against frequency: one number that holds everywhere, or pairs of MHz and value that ascend."""

    wanted = "a number, or pairs of MHz and value with ascending frequencies"

    def __init__(self, name: str, *, required: bool = False) -> None:
        row = entry(name)
        number = {"type": "number"} | _range_keywords(row)
        pair = {"type": "array", "minItems": 2, "maxItems": 2, "items": {"type": "number"}}
        table = {"type": "array", "minItems": 1, "maxItems": 400, "items": pair}
        super().__init__(name, required=required, oneOf=[number, table])

    def _description(self) -> str:
        return f"{self.entry.text} [{self.entry.unit}]"

    def take(self, value: Any) -> Curve:
        """One number as a flat curve, or the table."""
        if not isinstance(value, list):
            flat = finite_number(value, self.entry)
            return Curve(frequency_mhz=(0.0, 1e6), value=(flat, flat))
        errors: dict[int, Any] = {}
        pairs: list[tuple[float, float]] = []
        for position, pair in enumerate(value[:400]):
            if not isinstance(pair, list) or len(pair) != 2:
                right = "an array of two numbers, MHz and value"
                errors[position] = [Complaint("it is no pair", code="wrong-table", right=right)]
                continue
            numbers: list[float] = []
            for place, (number, row) in enumerate(
                zip(pair, (entry("frequency_mhz"), self.entry), strict=True)
            ):
                try:
                    numbers.append(finite_number(number, row))
                except ValidationError as error:
                    errors.setdefault(position, {})[place] = error.messages
            if len(numbers) == 2:
                pairs.append((numbers[0], numbers[1]))
        if errors:
            raise ValidationError(errors)
        ascends = all(a[0] < b[0] for a, b in pairwise(pairs))
        if not ascends or not pairs or len(value) > 400:
            wrong = "the frequencies do not ascend, or there are no rows, or more than 400"
            raise ValidationError([Complaint(wrong, code="wrong-table", right=self.wanted)])
        return Curve(frequency_mhz=tuple(a for a, _ in pairs), value=tuple(b for _, b in pairs))


class Form(Schema):
    """A JSON object: unknown fields are complaints."""

    class Meta:
        unknown = RAISE

    def __init_subclass__(cls, **kwargs: Any) -> None:
        super().__init_subclass__(**kwargs)
        # The description of the OpenAPI document is the one that stands in the code.
        meta = type("Meta", (cls.Meta,), {"description": inspect.getdoc(cls) or ""})
        type.__setattr__(cls, "Meta", meta)

    error_messages = {  # noqa: RUF012 - marshmallow reads a plain mapping here
        "unknown": Complaint(
            "this document has no such field", code="unknown-field", right="a documented field"
        ),
        "type": Complaint("it is not an object", code="wrong-type", right="a JSON object"),
    }


class Section(fields.Nested):
    """A JSON object inside another one."""

    many_here = False

    def __init__(self, form: type[Form], *, required: bool = False, description: str = "") -> None:
        super().__init__(form, many=self.many_here, required=required, metadata={"description": description})

    def make_error(self, key: str, **kwargs: object) -> ValidationError:
        """Our complaint in place of marshmallow's message."""
        del kwargs
        right = "an array of objects" if self.many_here else "a JSON object"
        if key == "required":
            return ValidationError([Complaint("it is missing", code="missing", right=right)])
        return ValidationError([Complaint("it is of another type", code="wrong-type", right=right)])


class Sections(Section):
    """An array of JSON objects."""

    many_here = True


class Texts(fields.List[str]):
    """An array of texts of one form."""

    def __init__(self, inner: StrictField, *, description: str = "") -> None:
        super().__init__(inner, metadata={"description": description})

    def make_error(self, key: str, **kwargs: object) -> ValidationError:
        """Our complaint in place of marshmallow's message."""
        del key, kwargs
        return ValidationError(
            [Complaint("it is of another type", code="wrong-type", right="an array of texts")]
        )


Path = tuple[str | int, ...]


def complaints(messages: Any, path: Path = ()) -> list[tuple[Path, Complaint]]:
    """marshmallow's nested messages as a flat list: where, and what."""
    if isinstance(messages, Mapping):
        rows = []
        for key, inner in messages.items():
            rows += complaints(inner, path if key == "_schema" else (*path, key))
        return rows
    found = messages if isinstance(messages, list) else [messages]
    return [(path, row) for row in found if isinstance(row, Complaint)]
