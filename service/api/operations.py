"""One operation of the interface: its address, what it answers, with which problems it refuses."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import marshmallow
from flask_smorest import Blueprint

from service.api.problems import CONTENT_TYPE, PROBLEMS, ProblemSchema

View = TypeVar("View", bound=Callable[..., Any])


def operation(
    blueprint: Blueprint,
    rule: str,
    *,
    answers: type[marshmallow.Schema] | None,
    takes: type[marshmallow.Schema] | None = None,
    refuses: tuple[int, ...] = (),
    status: int = 200,
    also: tuple[str, ...] = (),
    method: str = "",
    asks: Mapping[str, str] | None = None,
) -> Callable[[View], View]:
    """Serve a view at an address and document it: a GET, or a POST where it takes a document.

    The view reads its own body and returns a whole response: the schemas are documentation. `status` is that
    of a good answer, `also` names further content types it may come in, `method` another method,
    `asks` what may be asked behind the address, by name.
    """

    def decorate(view: View) -> View:
        documented = blueprint.response(status, answers)(view)
        if also:
            content = {kind: {"schema": {"type": "string"}} for kind in also}
            documented = blueprint.doc(responses={str(status): {"content": content}})(documented)
        for refused in refuses:
            meaning = PROBLEMS[refused][1]
            documented = blueprint.alt_response(
                refused, schema=ProblemSchema, content_type=CONTENT_TYPE, description=meaning
            )(documented)
        if takes is not None:
            body = {"required": True, "content": {"application/json": {"schema": takes}}}
            documented = blueprint.doc(requestBody=body)(documented)
        if asks:
            rows = [
                {"name": name, "in": "query", "description": text, "schema": {"type": "string"}}
                for name, text in asks.items()
            ]
            documented = blueprint.doc(parameters=rows)(documented)
        verb = method or ("GET" if takes is None else "POST")
        blueprint.route(rule, methods=[verb])(documented)
        return view

    return decorate
