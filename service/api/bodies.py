"""Request bodies: bytes to a JSON value, or the problem that says why not."""

from __future__ import annotations

from flask import Response, request

from service.api.problems import problem
from service.forms.reading import UnreadableDocument, read_json


def posted_json() -> object | Response:
    """The JSON value of the request's body, or the problem response to answer with: 400 or 415.

    A body above the limit never gets here: Flask answers 413 while it is read.
    """
    if request.mimetype != "application/json":
        sent = request.mimetype or "no content type"
        return problem(415, f"the body came as {sent}; it is read as application/json")
    charset = request.mimetype_params.get("charset", "utf-8").lower()
    if charset not in ("utf-8", "utf8", "us-ascii"):
        return problem(415, f"the body came in the character set {charset}; JSON is UTF-8")
    try:
        return read_json(request.get_data(cache=False))
    except UnreadableDocument as error:
        return problem(400, f"{error.wrong}; what is wanted: {error.right}")
