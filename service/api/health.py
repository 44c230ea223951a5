"""`/health`: whether the process lives, and whether it can answer."""

from __future__ import annotations

from dataclasses import dataclass

from flask import Response
from flask_smorest import Blueprint

from service.api.operations import operation
from service.api.shapes import shape_of
from service.api.shelf import answer, shelf
from service.documents.faces import as_json

blueprint = Blueprint("health", __name__, url_prefix="/health", description="Liveness and readiness.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Liveness:
    """The process answers."""

    status: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Readiness:
    """The library is read: how much it holds."""

    status: str
    parts: int
    cables: int
    limits: int
    plans: int


@operation(blueprint, "/live", answers=shape_of(Liveness))
def live() -> Response:
    """Tell that the process lives."""
    return answer(as_json(Liveness(status="alive")))


@operation(blueprint, "/ready", answers=shape_of(Readiness))
def ready() -> Response:
    """Tell that the library is read and documents can be judged."""
    known = shelf().known
    counts = {"parts": len(known.catalogue.parts), "cables": len(known.catalogue.cables)}
    face = Readiness(status="ready", limits=len(known.limits), plans=len(known.plans), **counts)
    return answer(as_json(face))
