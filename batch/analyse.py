"""`evendrop analyse`: one network document, its analysis as text or as JSON."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

from batch.exit_codes import INPUT_WRONG, NOT_SERVED, SERVED
from service.documents.analysis import analysis_document, analysis_face
from service.documents.analysis_text import analysis_text
from service.documents.faults_text import faults_text
from service.engine.analysis import analyse
from service.forms.known import Known
from service.forms.network import NetworkForm, read_network
from service.forms.reading import UnreadableDocument, read_json
from service.library.contents import library, overlaid
from service.library.profiles import load_limits, load_plans, load_services


def add_verb(verbs: Any) -> None:
    """Add this verb to the command."""
    verb = verbs.add_parser(
        "analyse",
        help="analyse a network as it stands",
        description="Analyse a network: what arrives at every outlet, what is left, what is wrong.",
        epilog="Exit codes: 0 every outlet is served, 1 some are not, 2 the input is wrong.",
    )
    verb.add_argument("network", metavar="NETWORK.json", help="a network document; - reads standard input")
    verb.add_argument("--json", action="store_true", help="print the analysis as JSON")
    verb.add_argument(
        "--unit",
        choices=("dBmV", "dBuV"),
        help="unit of the levels in the text; left out: that of the limits' region",
    )
    verb.add_argument("--library", metavar="FOLDER", help="library files laid over ours by id")
    verb.set_defaults(run=run)


def run(chosen: argparse.Namespace) -> int:
    """Read, analyse, print; complaints go to standard error."""
    stock = library()
    if chosen.library is not None:
        stock, complaints = overlaid(stock, Path(chosen.library))
        if complaints:
            return _refuse("".join(f"{chosen.library}: {row}\n" for row in complaints))
    known = Known(
        catalogue=stock.catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    try:
        raw = sys.stdin.buffer.read() if chosen.network == "-" else Path(chosen.network).read_bytes()
    except OSError as error:
        return _refuse(f"{chosen.network}: {error.strerror or error}\n")
    try:
        form, faults = read_network(read_json(raw), known)
    except UnreadableDocument as error:
        return _refuse(f"{chosen.network}: {error.wrong}; what is wanted: {error.right}\n")
    if form is None:
        return _refuse(faults_text(chosen.network, faults))
    return _print(form, known, chosen)


def _refuse(text: str) -> int:
    sys.stderr.write(text)
    return INPUT_WRONG


def _print(form: NetworkForm, known: Known, chosen: argparse.Namespace) -> int:
    analysis = analyse(
        form.network,
        form.catalogue,
        form.limits,
        known.services,
        conditions=form.conditions,
        margins=form.margins,
    )
    if chosen.json:
        document = analysis_document(analysis, margins=form.margins, source=form.source)
        print(json.dumps(document, ensure_ascii=False, allow_nan=False, indent=1))
    else:
        american = form.limits.region == "us" if chosen.unit is None else chosen.unit == "dBmV"
        face = analysis_face(analysis, margins=form.margins, source=form.source)
        print(analysis_text(face, level_unit="dBmV" if american else "dBµV"), end="")
    return SERVED if analysis.serves_all else NOT_SERVED
