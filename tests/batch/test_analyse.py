"""`evendrop analyse`: text, JSON and exit codes."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from batch.cli import main

NETWORKS = Path(__file__).parents[2] / "fixtures" / "networks"
TRUNK = NETWORKS / "published-trunk.json"


@pytest.mark.parametrize(
    ("name", "code", "verdict"),
    [
        ("demo-walkup", 0, "SERVED"),
        ("demo-corridor", 0, "SERVED"),
        ("demo-stair", 0, "SERVED"),
        ("demo-blocks", 0, "SERVED"),
        ("demo-walkup-faulty", 1, "NOT SERVED"),
    ],
)
def test_the_exit_code_and_the_text_tell_whether_all_are_served(
    name: str, code: int, verdict: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["analyse", str(NETWORKS / f"{name}.json")]) == code
    out = capsys.readouterr().out
    assert any(line.startswith(verdict + " ") for line in out.splitlines())
    assert max(len(line) for line in out.splitlines()) <= 110


def test_the_text_names_worst_and_best_outlet_and_every_finding(capsys: pytest.CaptureFixture[str]) -> None:
    main(["analyse", str(NETWORKS / "demo-walkup-faulty.json")])
    out = capsys.readouterr().out
    assert "worst       3B-2: 5.57 dB under the lower limit on 28" in out
    assert "breaks  Level too low at 4 outlets" in out
    assert out.index("breaks") < out.index("warns")


def test_json_is_the_analysis_in_full(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", "--json", str(TRUNK)]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["document"] == "evendrop/analysis"
    assert len(document["outlets"]) == 16
    assert document["serves_all"] is True


def test_levels_come_in_the_unit_of_the_region_or_the_one_asked_for(
    capsys: pytest.CaptureFixture[str],
) -> None:
    main(["analyse", str(NETWORKS / "published-riser.json")])
    assert "levels in dBµV" in (first := capsys.readouterr().out)
    assert " 40.60 " in first
    main(["analyse", "--unit", "dBmV", str(NETWORKS / "published-riser.json")])
    assert " -19.40 " in capsys.readouterr().out


def test_a_network_may_come_from_standard_input(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(TRUNK.read_bytes())))
    assert main(["analyse", "-"]) == 0
    assert "published-trunk" in capsys.readouterr().out


def test_every_complaint_comes_at_once_with_its_place_on_standard_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = json.loads(TRUNK.read_text(encoding="utf-8"))
    document["feeds"][0]["carriers"][0]["level_dbmv"] = 105
    document["runs"][1]["cable"] = "none"
    path = tmp_path / "wrong.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    assert main(["analyse", str(path)]) == 2
    printed = capsys.readouterr()
    assert printed.out == ""
    assert "2 faults" in printed.err
    assert "feeds/0/carriers/0/level_dbmv = 105" in printed.err
    assert "looks like dBµV" in printed.err
    assert "[unknown-cable]" in printed.err


@pytest.mark.parametrize("raw", [b"", b"\xff", b"[" * 1000, b'{"a": 1'])
def test_a_file_that_is_no_document_is_refused(
    raw: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "broken.json"
    path.write_bytes(raw)
    assert main(["analyse", str(path)]) == 2
    assert "what is wanted" in capsys.readouterr().err


def test_a_file_that_is_not_there_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["analyse", str(tmp_path / "none.json")]) == 2
    assert "none.json" in capsys.readouterr().err


def test_library_files_of_the_user_are_laid_over_ours(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = str(NETWORKS / "demo-walkup.json")
    header = "part,group,figure,frequency_mhz,value,source\n"
    rows = "split-2,out,loss_db,5,9.3,assumed\nsplit-2,out,loss_db,1218,9.3,assumed\n"
    (tmp_path / "figures.csv").write_text(header + rows, encoding="utf-8")
    least = []
    for more in ([], ["--library", str(tmp_path)]):
        assert main(["analyse", "--json", name, *more]) == 0
        document = json.loads(capsys.readouterr().out)
        least.append(min(level for row in document["outlets"] for level in row["level_dbmv"]))
    assert least[1] < least[0] - 4.0


def test_a_wrong_library_file_is_refused_with_file_row_and_column(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text = "part,group,figure,frequency_mhz,value,source\nsplit-2,out,loss_db,5,x,assumed\n"
    (tmp_path / "figures.csv").write_text(text, encoding="utf-8")
    assert main(["analyse", "--library", str(tmp_path), str(TRUNK)]) == 2
    assert "figures.csv, row 2, column value" in capsys.readouterr().err
