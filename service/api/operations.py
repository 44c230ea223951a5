"""One operation of the interface: its address, what it answers, with which problems it refuses."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import marshmallow
from flask_smorest import Blueprint

from service.api.problems import CONTENT_TYPE, PROBLEMS, ProblemSchema

View = TypeVar("View", bound=Callable[..., Any])


def operation(
    blueprint: Blueprint,
    rule: str,
    *,
    answers: type[marshmallow.Schema],
    takes: type[marshmallow.Schema] | None = None,
    refuses: tuple[int, ...] = (),
) -> Callable[[View], View]:
    """Serve a view at an address and document it: a GET, or a POST where it takes a document.

    The view reads its own body and returns a whole response: the schemas are documentation.
    """

    def decorate(view: View) -> View:
        documented = blueprint.response(200, answers)(view)
        for status in refuses:
            meaning = PROBLEMS[status][1]
            documented = blueprint.alt_response(
                status, schema=ProblemSchema, content_type=CONTENT_TYPE, description=meaning
            )(documented)
        if takes is not None:
            body = {"required": True, "content": {"application/json": {"schema": takes}}}
            documented = blueprint.doc(requestBody=body)(documented)
        blueprint.route(rule, methods=["GET" if takes is None else "POST"])(documented)
        return view

    return decorate
