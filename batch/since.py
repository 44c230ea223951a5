"""`--since`: the design that was issued before, read from its document, so that a revision shows what changed."""

from __future__ import annotations

from pathlib import Path

from batch.desk import Desk
from service.documents.faults_text import faults_text
from service.engine.works.revision import Issued, Revision
from service.forms.building import read_building
from service.forms.network import read_network
from service.forms.reading import UnreadableDocument, read_json

DOCUMENT = "evendrop/design"


class UnreadableIssue(Exception):  # noqa: N818 - it names what the caller holds
    """The file holds no design that was issued: the text says why."""


def read_issued(path: Path, tools: Desk) -> Issued:
    """The building and network of a design document as `evendrop design` writes it.

    Raises UnreadableIssue for anything else.
    """
    try:
        document = read_json(path.read_bytes())
    except OSError as error:
        raise UnreadableIssue(f"{path}: {error.strerror or error}\n") from error
    except UnreadableDocument as error:
        raise UnreadableIssue(f"{path}: {error.wrong}; what is wanted: {error.right}\n") from error
    if not isinstance(document, dict) or document.get("document") != DOCUMENT:
        raise UnreadableIssue(f"{path}: this is no design; what is wanted: a document {DOCUMENT}\n")
    reading = read_building(document.get("building"), tools.known, tools.tariffs)
    form, faults = read_network(document.get("network"), tools.known)
    if reading.building is None or form is None:
        raise UnreadableIssue(faults_text(str(path), (*reading.faults, *faults)))
    return Issued(building=reading.building, network=form.network)


def revision_text(revision: Revision) -> str:
    """A revision in one line, for a terminal."""
    if revision.unchanged:
        return "Since the earlier design: nothing changed.\n"
    money = f"{revision.change_cents / 100:+,.2f} {revision.currency}"
    counts = f"{len(revision.runs)} pulls and {len(revision.devices)} devices differ"
    return f"Since the earlier design: {counts}, direct cost {money}; the sheet Changes lists them.\n"
