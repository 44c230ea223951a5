"""Complaints over HTTP: problem documents after RFC 9457, all faults at once, each with its JSON pointer."""

from __future__ import annotations

import http
import json
from collections.abc import Iterable
from typing import Any

import marshmallow
from flask import Response, current_app
from flask_smorest import Api
from werkzeug.exceptions import HTTPException

from service.engine.findings import Fault
from service.forms.codes import FAULT_CODES
from service.forms.reading import pointer

CONTENT_TYPE = "application/problem+json"

#: The closed list of problems by status: name and meaning. `type` in a problem document is `/docs#<name>`.
PROBLEMS: dict[int, tuple[str, str]] = {
    400: ("unreadable", "The body is not UTF-8, not JSON, nested too deeply, or holds a key twice."),
    404: ("not-found", "There is nothing of that name."),
    405: ("method-not-allowed", "This address does not take that method."),
    413: ("too-large", "The body is larger than the limit of this service."),
    415: ("wrong-content-type", "The body is not sent as application/json."),
    422: ("wrong-input", "The document was read and is wrong: every fault is listed with its place."),
    500: ("failure", "The service failed; nothing is wrong with the request."),
}


class FaultSchema(marshmallow.Schema):
    """One fault of a document."""

    code = marshmallow.fields.String(required=True, metadata={"enum": list(FAULT_CODES)})
    pointer = marshmallow.fields.String(required=True, metadata={"description": "JSON pointer, RFC 6901."})
    subject = marshmallow.fields.String(required=True, metadata={"description": "The thing, for people."})
    field = marshmallow.fields.String(required=True)
    value = marshmallow.fields.String(required=True, metadata={"description": "What stands there."})
    wrong = marshmallow.fields.String(required=True, metadata={"description": "What is wrong with it."})
    right = marshmallow.fields.String(required=True, metadata={"description": "What would be right."})


class ProblemSchema(marshmallow.Schema):
    """A problem document, RFC 9457."""

    type = marshmallow.fields.String(required=True)
    title = marshmallow.fields.String(required=True)
    status = marshmallow.fields.Integer(required=True)
    detail = marshmallow.fields.String(required=True)
    faults = marshmallow.fields.List(marshmallow.fields.Nested(FaultSchema))


def fault_rows(faults: Iterable[Fault]) -> list[dict[str, str]]:
    """Faults as they stand in a problem document."""
    return [
        {
            "code": fault.code,
            "pointer": pointer(fault.path),
            "subject": fault.subject,
            "field": fault.field,
            "value": fault.value,
            "wrong": fault.wrong,
            "right": fault.right,
        }
        for fault in faults
    ]


def problem(status: int, detail: str, faults: tuple[Fault, ...] = ()) -> Response:
    """A problem document as a response."""
    name, title = PROBLEMS.get(status, ("about", http.HTTPStatus(status).phrase))
    kind = f"/docs#{name}" if status in PROBLEMS else "about:blank"
    body: dict[str, Any] = {"type": kind, "title": title, "status": status, "detail": detail}
    if faults:
        body["faults"] = fault_rows(faults)
    return Response(json.dumps(body, ensure_ascii=False), status=status, content_type=CONTENT_TYPE)


#: What is said in place of the server's own words.
_DETAILS = {
    404: "there is nothing at this address; /docs lists what there is",
    500: "the service failed while it answered; its log says where",
}


def wrong_input(faults: tuple[Fault, ...]) -> Response:
    """The answer to a document with faults."""
    count = "one fault" if len(faults) == 1 else f"{len(faults)} faults"
    return problem(422, f"the document has {count}", faults)


class ProblemApi(Api):  # type: ignore[misc]  # flask-smorest has no types
    """flask-smorest with our problem documents instead of its own error body."""

    DEFAULT_ERROR_RESPONSE_NAME = None
    ERROR_SCHEMA = ProblemSchema

    def handle_http_exception(self, error: HTTPException) -> Response:
        """Answer every HTTP error with a problem document; keeps the headers that the error asks for."""
        status = error.code or 500
        detail = _DETAILS.get(status, error.description or "")
        if status == 413:
            detail = f"the body may have at most {current_app.config['MAX_CONTENT_LENGTH']} bytes"
        response = problem(status, detail)
        for name, value in error.get_headers():
            if name.lower() not in ("content-type", "content-length"):
                response.headers[name] = value
        return response
