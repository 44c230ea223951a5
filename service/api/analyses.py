"""`/v1/analyses`: what a network as it stands delivers."""

from __future__ import annotations

from flask import Response
from flask_smorest import Blueprint

from service.api.bodies import posted_json
from service.api.operations import operation
from service.api.problems import wrong_input
from service.api.shapes import shape_of
from service.api.shelf import answer, shelf
from service.documents.analysis import AnalysisFace, analysis_document
from service.engine.analysis import analyse
from service.forms.network import NetworkForm, read_network
from service.forms.network_schema import NetworkDocument

blueprint = Blueprint("analyses", __name__, url_prefix="/v1/analyses", description="Analyses of networks.")


@operation(
    blueprint,
    "",
    answers=shape_of(AnalysisFace),
    takes=NetworkDocument,
    refuses=(400, 413, 415, 422),
)
def create() -> Response:
    """Analyse a network: levels, noise, distortion, isolation, line power, findings, answers."""
    document = posted_json()
    if isinstance(document, Response):
        return document
    form, faults = read_network(document, shelf().known)
    return wrong_input(faults) if form is None else answer(_analysed(form))


def _analysed(form: NetworkForm) -> dict[str, object]:
    analysis = analyse(
        form.network,
        form.catalogue,
        form.limits,
        shelf().known.services,
        conditions=form.conditions,
        margins=form.margins,
    )
    return analysis_document(analysis, margins=form.margins, source=form.source)
