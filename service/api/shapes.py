"""Response shapes for the OpenAPI document, made from the dataclasses that are answered.

Texts come from the dictionary of fields where it knows the name.
"""

from __future__ import annotations

import inspect
import types
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import marshmallow
import numpy as np

from service.engine.signal.curves import Curve
from service.forms.dictionary import dictionary

_SIMPLE: dict[Any, type[marshmallow.fields.Field[Any]]] = {
    str: marshmallow.fields.String,
    float: marshmallow.fields.Float,
    int: marshmallow.fields.Integer,
    bool: marshmallow.fields.Boolean,
}
_NUMBER = {"type": "number"}
_PAIR = {"type": "array", "items": _NUMBER, "minItems": 2, "maxItems": 2}
_CURVE = {
    "oneOf": [_NUMBER, {"type": "array", "items": _PAIR}],
    "description": "One number, or pairs of MHz and value.",
}


@cache
def shape_of(record: type) -> type[marshmallow.Schema]:
    """The schema of a dataclass as it is answered: every field is there, None is null."""
    hints = get_type_hints(record)
    made: dict[str, Any] = {row.name: _field(hints[row.name], row.name) for row in fields(record) if row.init}
    made["Meta"] = type("Meta", (), {"description": inspect.getdoc(record) or ""})
    return type(record.__name__ + "Schema", (marshmallow.Schema,), made)


def _field(hint: Any, name: str) -> marshmallow.fields.Field[Any]:
    nullable = False
    if get_origin(hint) in (Union, types.UnionType):
        nullable = type(None) in get_args(hint)
        hint = next(arm for arm in get_args(hint) if arm is not type(None))
    entry = dictionary().get(name) if hint in _SIMPLE else None
    metadata: dict[str, Any] = {"description": entry.text} if entry is not None else {}
    common: dict[str, Any] = {"required": True, "allow_none": nullable, "metadata": metadata}
    if hint in _SIMPLE:
        # A figure that is not finite is answered as null.
        return _SIMPLE[hint](**common | {"allow_none": nullable or hint is float})
    if hint is Curve:
        return marshmallow.fields.Raw(**common | {"metadata": metadata | _CURVE})
    if get_origin(hint) is Literal:
        return marshmallow.fields.String(**common | {"metadata": metadata | {"enum": list(get_args(hint))}})
    if is_dataclass(hint) and isinstance(hint, type):
        return marshmallow.fields.Nested(shape_of(hint), **common)
    if get_origin(hint) is np.ndarray:
        return marshmallow.fields.List(_field(float, ""), **common)
    if get_origin(hint) is tuple:
        arms = [arm for arm in get_args(hint) if arm is not Ellipsis]
        inner = arms[0] if len(set(arms)) == 1 else Any
        return marshmallow.fields.List(_field(inner, ""), **common)
    return marshmallow.fields.Raw(**common)
