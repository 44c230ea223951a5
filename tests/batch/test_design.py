"""One building from the command line: a summary, and its papers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from batch.cli import main

SMALLEST = Path(__file__).parents[2] / "fixtures" / "buildings" / "smallest.json"


def test_a_design_is_printed_with_cost_margin_proof_and_assumptions(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["design", str(SMALLEST)]) == 0
    text = capsys.readouterr().out
    for words in ("every outlet is served: 4 outlets", "direct cost", "worst margin", "Proof", "Assumed"):
        assert words in text
    assert max(map(len, text.splitlines())) <= 100


def test_the_papers_are_written_and_their_totals_agree(tmp_path: Path) -> None:
    assert main(["design", str(SMALLEST), "-o", str(tmp_path)]) == 0
    names = {path.name.removeprefix("demo-smallest.") for path in tmp_path.iterdir()}
    assert {"xlsx", "json", "outlets.csv", "pulls.csv", "labels.csv", "parts.csv", "cost.csv"} <= names
    assert {"report.html", "report.pdf", "riser-1.svg", "frequency.svg"} <= names
    assert "<strong>Yes</strong>" in (tmp_path / "demo-smallest.report.html").read_text(encoding="utf-8")
    document = json.loads((tmp_path / "demo-smallest.json").read_text(encoding="utf-8"))
    assert (document["document"], document["status"]) == ("evendrop/design", "served")
    book = openpyxl.load_workbook(tmp_path / "demo-smallest.xlsx")
    rows = [[cell.value for cell in row] for row in book["Cost"].iter_rows(min_row=3)]
    at = rows[0].index("total [USD]")
    direct = next(number for number, row in enumerate(rows) if row[0] == "Direct cost")
    assert round(100 * sum(row[at] for row in rows[1:direct])) == document["figures"]["cost_cents"]
    assert round(100 * rows[direct][at]) == document["figures"]["cost_cents"]
    book.close()


def test_the_pull_schedule_is_ready_to_print(tmp_path: Path) -> None:
    main(["design", str(SMALLEST), "-o", str(tmp_path)])
    book = openpyxl.load_workbook(tmp_path / "demo-smallest.xlsx")
    page = book["Pull schedule"]
    assert page.page_setup.orientation == "landscape"
    assert page.print_title_rows == "$3:$3"
    assert "design " in str(page.oddFooter.left.text).lower()
    assert "for bid" in str(page.oddFooter.center.text)
    headers = [cell.value for cell in page[3]]
    labels = {page.cell(row, headers.index("label") + 1).value for row in range(4, page.max_row + 1)}
    known = [row[0].value for row in book["Labels and routes"].iter_rows(min_row=4)]
    assert {label for label in known if label and label != "Total"} == labels - {None}
    book.close()


def test_a_design_as_json_is_one_document(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["design", str(SMALLEST), "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert document["figures"]["outlets"] == 4
    assert document["network"]["document"] == "evendrop/network"


def test_a_wrong_building_is_told_in_full(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    document = json.loads(SMALLEST.read_text(encoding="utf-8"))
    document["outlets"][0]["at"] = "C9"
    document["prices"] = "none"
    path = tmp_path / "wrong.json"
    path.write_text(json.dumps(document))
    assert main(["design", str(path), "-o", str(tmp_path / "out")]) == 2
    told = capsys.readouterr().err
    assert "outlets/0/at" in told
    assert "unknown-prices" in told
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_not_there_or_no_json_ends_with_two(tmp_path: Path) -> None:
    (tmp_path / "no.json").write_text("{")
    assert main(["design", str(tmp_path / "no.json")]) == 2
    assert main(["design", str(tmp_path / "missing.json")]) == 2


def test_a_revision_lists_what_changed_since_the_issued_design(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["design", str(SMALLEST), "-o", str(tmp_path / "a")]) == 0
    issued = tmp_path / "a" / "demo-smallest.json"
    capsys.readouterr()
    assert main(["design", str(SMALLEST), "--since", str(issued)]) == 0
    assert "Since the earlier design: nothing changed." in capsys.readouterr().out
    document = json.loads(SMALLEST.read_text(encoding="utf-8"))
    lost = document["outlets"].pop()
    document.pop("expected_outlets", None)
    document.pop("expected_units", None)
    revised = tmp_path / "revised.json"
    revised.write_text(json.dumps(document), encoding="utf-8")
    assert main(["design", str(revised), "--since", str(issued), "-o", str(tmp_path / "b")]) == 0
    assert "pulls and" in capsys.readouterr().out
    text = (tmp_path / "b" / "demo-smallest.changes.csv").read_text(encoding="utf-8-sig")
    assert f"pull,{lost['id']}.1,removed" in text
    assert "money,direct cost,changed" in text


@pytest.mark.parametrize("text", ["{", '{"document": "evendrop/network"}', '{"document": "evendrop/design"}'])
def test_what_is_no_issued_design_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str
) -> None:
    path = tmp_path / "old.json"
    path.write_text(text, encoding="utf-8")
    assert main(["design", str(SMALLEST), "--since", str(path)]) == 2
    assert "old.json" in capsys.readouterr().err


def test_a_building_that_no_network_fits_is_refused_without_a_traceback(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = json.loads((SMALLEST.parent / "walkup_8.json").read_text(encoding="utf-8"))
    for closet in document["closets"]:
        closet["most_ports"] = 1
    posted = tmp_path / "crowded.json"
    posted.write_text(json.dumps(document), encoding="utf-8")
    assert main(["design", str(posted)]) == 2
    assert "no network can be built" in capsys.readouterr().err
