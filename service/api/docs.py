"""`/docs`: the OpenAPI document as a page of our own, with the codes of every complaint. It has no script."""

from __future__ import annotations

from typing import Any

from flask import Blueprint, Flask, redirect, render_template
from flask_smorest import Api
from werkzeug.wrappers import Response

from service.api.problems import PROBLEMS
from service.forms.codes import FAULT_CODES

_METHODS = ("get", "post", "put", "delete")


def _target(shape: dict[str, Any]) -> str:
    """The name of the schema that a shape refers to, itself or in one of its arms, or an empty text."""
    arms = [shape, *shape.get("anyOf", ()), *shape.get("allOf", ())]
    return next((str(arm["$ref"]).rsplit("/", 1)[-1] for arm in arms if "$ref" in arm), "")


def _words(shape: dict[str, Any]) -> str:
    """A shape without reference in a few words: its type and its bounds."""
    for arms in ("oneOf", "anyOf"):
        if arms in shape:
            return " or ".join(_words(arm) for arm in shape[arms])
    kind = shape.get("type", "any value")
    kind = " or ".join(kind) if isinstance(kind, list) else kind
    if kind == "array":
        return f"array of {_target(shape.get('items', {})) or _words(shape.get('items', {}))}"
    bounds = {
        "minimum": "at least",
        "exclusiveMinimum": "above",
        "maximum": "at most",
        "maxLength": "at most characters:",
    }
    words = [f"{text} {shape[key]:g}" for key, text in bounds.items() if key in shape]
    words += (
        ["one of " + ", ".join(map(str, shape["enum"]))] if len(shape.get("enum", ())) in range(1, 8) else []
    )
    return ", ".join([kind, *words])


def _operations(spec: dict[str, Any]) -> list[dict[str, Any]]:
    return [
        {"path": path, "method": method.upper(), "parameters": item.get("parameters", []), **item[method]}
        for path, item in spec.get("paths", {}).items()
        for method in _METHODS
        if method in item
    ]


def add_docs(app: Flask, api: Api) -> None:
    """Serve the page; its style lies beside it and is the only other file it loads."""
    pages = Blueprint(
        "docs", __name__, template_folder="pages", static_folder="pages/files", static_url_path="/docs/files"
    )

    @pages.get("/")
    def front() -> Response:
        return redirect("/docs")

    @pages.get("/docs")
    def page() -> str:
        spec = api.spec.to_dict()
        return render_template(
            "docs.html",
            spec=spec,
            operations=_operations(spec),
            target=_target,
            words=_words,
            problems=PROBLEMS,
            codes=FAULT_CODES,
        )

    app.register_blueprint(pages)
