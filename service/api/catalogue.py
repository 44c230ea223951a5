"""`/v1/catalogue`: the parts and cables a network may use."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from service.api.operations import operation
from service.api.problems import problem
from service.api.shapes import shape_of
from service.api.shelf import answer, shelf
from service.documents.catalogue import (
    CableFace,
    CatalogueFace,
    PartFace,
    cable_face,
    catalogue_face,
    part_face,
)
from service.documents.faces import as_json

blueprint = Blueprint("catalogue", __name__, url_prefix="/v1/catalogue", description="Parts and cables.")


@operation(blueprint, "", answers=shape_of(CatalogueFace))
def whole() -> Response:
    """List every part and cable."""
    return answer(as_json(catalogue_face(shelf().known.catalogue)))


@operation(blueprint, "/parts/<path:part_id>", answers=shape_of(PartFace), refuses=(404,))
def one_part(part_id: str) -> Response:
    """One part: the document that a network may bring along, and the source of every figure."""
    catalogue = shelf().known.catalogue
    if not catalogue.has_part(part_id):
        return problem(404, f"the catalogue holds no part {part_id!r}")
    return answer(as_json(part_face(catalogue.part(part_id), shelf().sources)))


@operation(blueprint, "/cables/<path:cable_id>", answers=shape_of(CableFace), refuses=(404,))
def one_cable(cable_id: str) -> Response:
    """One cable: the document that a network may bring along, and the source of every figure."""
    catalogue = shelf().known.catalogue
    if not catalogue.has_cable(cable_id):
        return problem(404, f"the catalogue holds no cable {cable_id!r}")
    return answer(as_json(cable_face(catalogue.cable(cable_id), shelf().sources)))
