"""`/v1/plans`: the channel plans in which channels are looked up."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from service.api.operations import operation
from service.api.problems import problem
from service.api.shapes import shape_of
from service.api.shelf import answer, shelf
from service.documents.faces import as_json
from service.documents.profiles import PlansFace, plans_face
from service.engine.signal.spectrum import ChannelPlan

blueprint = Blueprint("plans", __name__, url_prefix="/v1/plans", description="Channel plans.")


@operation(blueprint, "", answers=shape_of(PlansFace))
def every() -> Response:
    """List every channel plan."""
    return answer(as_json(plans_face(shelf().known.plans.values())))


@operation(blueprint, "/<path:name>", answers=shape_of(ChannelPlan), refuses=(404,))
def one(name: str) -> Response:
    """One plan: its channels with their edges."""
    found = shelf().known.plans.get(name)
    return answer(as_json(found)) if found is not None else problem(404, f"there is no channel plan {name!r}")
