"""The riser drawing: everything once, nothing over another, nothing off the page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import pytest

from service.documents.book import imprint_of
from service.documents.drawing import Drawing
from service.documents.drawing_svg import svg_text
from service.documents.riser_drawing import riser_drawings
from service.documents.riser_lanes import Reach, lanes_of

KEPT = (
    "smallest",
    "walkup_8",
    "townhouse_row",
    "graph_two_risers",
    "europe_two_stairs",
    "walkup_6_no_closets",
)
GOLDEN = ("smallest", "walkup_8")


def drawn(bench: Any, name: str, *, folded: bool | None = None) -> tuple[Drawing, ...]:
    design = bench.design(name)
    trade = bench.trade(design)
    imprint = imprint_of(design, design_id="kept")
    return riser_drawings(design, trade.catalogue, trade.symbols, imprint, folded=folded)


def overlaps(drawing: Drawing) -> Iterator[tuple[str, str]]:
    """Texts whose rooms share more than a hair."""
    texts = sorted(drawing.texts, key=lambda text: text.bounds_mm[1])
    for at, text in enumerate(texts):
        left, _, right, bottom = text.bounds_mm
        for other in texts[at + 1 :]:
            l2, t2, r2, _ = other.bounds_mm
            if t2 >= bottom - 0.05:
                break
            if left < r2 - 0.05 and l2 < right - 0.05:
                yield text.text, other.text


@pytest.mark.parametrize("folded", [False, True])
@pytest.mark.parametrize("name", KEPT)
def test_no_text_lies_on_another(bench: Any, name: str, folded: bool) -> None:
    assert [pair for sheet in drawn(bench, name, folded=folded) for pair in overlaps(sheet)] == []


@pytest.mark.parametrize("folded", [False, True])
@pytest.mark.parametrize("name", KEPT)
def test_no_line_runs_through_a_text(bench: Any, name: str, folded: bool) -> None:
    for sheet in drawn(bench, name, folded=folded):
        crossed = [
            (line.ref, text.text)
            for line in sheet.lines
            for (ax, ay), (bx, by) in pairwise(line.points)
            for text in sheet.texts
            for left, top, right, bottom in (text.bounds_mm,)
            if min(ax, bx) < right - 0.1
            and max(ax, bx) > left + 0.1
            and min(ay, by) < bottom - 0.15
            and max(ay, by) > top + 0.15
        ]
        assert crossed == []


@pytest.mark.parametrize("name", KEPT)
def test_nothing_leaves_the_page(bench: Any, name: str) -> None:
    for sheet in drawn(bench, name, folded=False):
        corners = [(text.bounds_mm[:2], text.bounds_mm[2:]) for text in sheet.texts]
        corners += [((b.x_mm, b.y_mm), (b.x_mm + b.width_mm, b.y_mm + b.height_mm)) for b in sheet.boxes]
        corners += [(point, point) for line in sheet.lines for point in line.points]
        off = [
            corner
            for low, high in corners
            for corner in (low, high)
            if not (0 <= corner[0] <= sheet.width_mm and 0 <= corner[1] <= sheet.height_mm)
        ]
        assert not off


@pytest.mark.parametrize("name", KEPT)
def test_every_device_is_named_once(bench: Any, name: str) -> None:
    names = Counter(
        text.ref.removeprefix("device:")
        for sheet in drawn(bench, name, folded=False)
        for text in sheet.texts
        if text.bold and text.ref.startswith("device:")
    )
    network = bench.design(name).chosen.network
    expected = [device.id for device in network.devices] + [feed.id for feed in network.feeds]
    assert names == Counter(expected)


@pytest.mark.parametrize("name", KEPT)
def test_every_run_is_drawn_and_says_its_cable_once(bench: Any, name: str) -> None:
    sheets = drawn(bench, name, folded=False)
    design = bench.design(name)
    lines = {line.ref for sheet in sheets for line in sheet.lines if line.ref.startswith("run:")}
    assert lines == {f"run:{run.id}" for run in design.chosen.network.runs}
    said = Counter(
        text.ref
        for sheet in sheets
        for text in sheet.texts
        if text.ref.startswith("run:") and f" {design.building.length_unit}" in text.text
    )
    assert said == Counter(f"run:{run.id}" for run in design.chosen.network.runs if run.cable is not None)


@pytest.mark.parametrize("name", KEPT)
def test_every_outlet_has_one_marker_folded_or_not(bench: Any, name: str) -> None:
    outlets = {outlet.id for outlet in bench.design(name).building.outlets}
    for folded in (False, True):
        marks = {
            thing.ref.removeprefix("outlet:")
            for sheet in drawn(bench, name, folded=folded)
            for thing in (*sheet.boxes, *sheet.lines)
            if thing.ref.startswith("outlet:")
        }
        assert marks == outlets


def test_alike_floors_fold_and_say_which_floor_they_are_like(bench: Any) -> None:
    folded, full = (drawn(bench, "europe_two_stairs", folded=fold) for fold in (True, False))
    assert len(folded) < len(full)
    said = [text.text for sheet in folded for text in sheet.texts if "wired as on floor" in text.text]
    assert len(said) == 10
    assert not [text for sheet in full for text in sheet.texts if "wired as on floor" in text.text]


def test_levels_in_the_drawing_are_those_of_the_report(bench: Any) -> None:
    design = bench.design("walkup_8")
    report = design.chosen.report
    row = report.devices.index("1A-1.1")
    low, high = report.input_dbmv[row, 0], report.input_dbmv[row, len(report.carriers) - 1]
    texts = {t.text for sheet in drawn(bench, "walkup_8") for t in sheet.texts if t.ref == "device:1A-1.1"}
    assert any(text.startswith(f"in {low:.1f} / {high:.1f}, out") for text in texts)


def test_floors_stand_from_the_roof_down_with_their_elevations(bench: Any) -> None:
    sheets = drawn(bench, "walkup_8")
    floors = [text.text for sheet in sheets for text in sheet.texts if text.ref.startswith("floor:")]
    assert floors == ["3", "+19.0 ft", "2", "+9.5 ft", "1", "+0.0 ft"]


def test_cables_that_run_side_by_side_have_lanes_of_their_own() -> None:
    reaches = {
        "a": Reach(start=(0, 10.0), end=(0, 50.0)),
        "b": Reach(start=(0, 40.0), end=(1, 20.0)),
        "c": Reach(start=(0, 60.0), end=(0, 70.0)),
    }
    lanes = lanes_of(reaches)
    assert lanes["a"] != lanes["b"] != lanes["c"]
    assert lanes["a"] == lanes["c"]
    assert reaches["b"].on_sheet(1, 5.0, 90.0) == (5.0, 20.0)
    assert reaches["a"].on_sheet(1, 5.0, 90.0) is None


@pytest.mark.parametrize("name", GOLDEN)
def test_small_buildings_are_drawn_as_they_were_when_looked_at(bench: Any, name: str) -> None:
    for sheet in drawn(bench, name):
        kept = bench.drawings / f"{name}.{sheet.id}.svg"
        assert svg_text(sheet, alone=False) + "\n" == kept.read_text(encoding="utf-8")
