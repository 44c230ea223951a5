"""`/v1/limits`: the profiles a network is judged by, each figure bound to its service."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from service.api.operations import operation
from service.api.problems import problem
from service.api.shapes import shape_of
from service.api.shelf import answer, shelf
from service.documents.faces import as_json
from service.documents.profiles import LimitsFace, limits_face
from service.engine.signal.limits import Limits

blueprint = Blueprint(
    "limits", __name__, url_prefix="/v1/limits", description="Limits by which a network is judged."
)


@operation(blueprint, "", answers=shape_of(LimitsFace))
def every() -> Response:
    """List every profile of limits."""
    return answer(as_json(limits_face(shelf().known.limits.values())))


@operation(blueprint, "/<path:name>", answers=shape_of(Limits), refuses=(404,))
def one(name: str) -> Response:
    """One profile: every figure with its service and source."""
    found = shelf().known.limits.get(name)
    return answer(as_json(found)) if found is not None else problem(404, f"there are no limits {name!r}")
