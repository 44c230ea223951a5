"""The analysis at a terminal: one look tells whether all are served and what to do."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

from service.documents.analysis import AnalysisFace, analysis_face
from service.documents.analysis_text import analysis_text
from service.documents.faults_text import faults_text
from service.engine.analysis import analyse
from service.engine.findings import Fault
from service.forms.known import Known
from service.forms.network import read_network
from service.library.contents import library
from service.library.profiles import load_limits, load_plans, load_services

NETWORKS = Path(__file__).parents[3] / "fixtures" / "networks"


@cache
def _face(name: str) -> AnalysisFace:
    known = Known(
        catalogue=library().catalogue, limits=load_limits(), plans=load_plans(), services=load_services()
    )
    form, _ = read_network(json.loads((NETWORKS / f"{name}.json").read_text(encoding="utf-8")), known)
    assert form is not None
    analysis = analyse(form.network, form.catalogue, form.limits, known.services)
    return analysis_face(analysis, margins=form.margins, source=form.source)


def _table(text: str) -> list[str]:
    lines = text.splitlines()
    start = next(n for n, line in enumerate(lines) if line.startswith("---"))
    return lines[start + 1 : lines.index("", start)]


def test_the_outlet_with_the_least_left_comes_first() -> None:
    face = _face("demo-walkup-faulty")
    rows = _table(analysis_text(face))
    assert face.worst is not None
    assert rows[0].startswith(face.worst.outlet)
    assert rows[0].endswith("outside")
    assert len(rows) == len(face.outlets)


def test_columns_that_have_nothing_to_tell_are_left_out() -> None:
    text = analysis_text(_face("published-trunk"))
    head = next(line for line in text.splitlines() if line.startswith("outlet  "))
    assert "unit" not in head
    assert "verdict" not in head
    assert "C/(N+I)" not in head


def test_a_long_table_tells_how_many_outlets_it_leaves_out() -> None:
    text = analysis_text(_face("demo-corridor"), most_outlets=5)
    assert "... and 19 outlets with more left" in text


def test_every_level_is_the_same_in_either_unit() -> None:
    face = _face("published-riser")
    assert "-19.40" in analysis_text(face)
    assert " 40.60" in analysis_text(face, level_unit="dBµV")


def test_every_question_has_its_answer() -> None:
    face = _face("demo-blocks")
    text = " ".join(analysis_text(face).split())
    for answer in face.answers:
        assert " ".join(answer.text.split()) in text


def test_a_complaint_tells_place_value_code_wrong_and_right() -> None:
    fault = Fault(
        code="out-of-range",
        path=("runs", 3, "length_m"),
        subject="run R4",
        field="length_m",
        value="-1",
        wrong="too short",
        right="above 0 m",
    )
    text = faults_text("file.json", (fault,))
    for part in (
        "file.json: one fault",
        "runs/3/length_m = -1",
        "[out-of-range]",
        "run R4: too short",
        "above 0 m",
    ):
        assert part in text
