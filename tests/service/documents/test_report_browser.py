"""The report in a real browser: its search finds outlets, closets and runs, folded ones too; nothing overflows.

Needs Debian's chromium.
"""

from __future__ import annotations

import html
import json
import re
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from service.documents.drawing_svg import svg_text
from service.documents.report import report_of
from service.documents.riser_drawing import riser_drawings

CHROMIUM = shutil.which("chromium")
QUIET = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1280,900",
    "--virtual-time-budget=10000",
]
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="chromium is not installed")

ASK = """<script>window.onload = function () {
  var said = {};
  WORDS.forEach(function (word) {
    document.getElementById('wanted').value = word;
    document.getElementById('seek').onsubmit(new Event('submit'));
    said[word] = [document.getElementById('told').textContent, document.querySelectorAll('.found').length];
  });
  said.overflow = document.documentElement.scrollWidth - document.documentElement.clientWidth;
  document.body.innerHTML = '<pre id="said">' + JSON.stringify(said) + '</pre>';
};</script></body>"""

MEASURE = """<script>document.fonts.ready.then(function () {
  var wide = Array.from(document.querySelectorAll('svg text')).map(function (text) {
    return [text.textContent, text.getComputedTextLength()];
  });
  document.body.innerHTML = '<pre id="said">' + JSON.stringify(wide) + '</pre>';
});</script></body>"""


def in_browser(page: str, script: str, folder: Path) -> Any:
    """What the page holds as `said` after a script has run in it."""
    file = folder / "report.html"
    file.write_text(page.replace("</body>", script), encoding="utf-8")
    profile = f"--user-data-dir={folder / 'profile'}"
    assert CHROMIUM is not None
    dumped = subprocess.run(
        [CHROMIUM, *QUIET, profile, "--dump-dom", file.as_uri()],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    ).stdout
    found = re.search(r'<pre id="said">(.*?)</pre>', dumped, re.DOTALL)
    assert found is not None, dumped[:500]
    return json.loads(html.unescape(found[1]))


def searched(page: str, words: list[str], folder: Path) -> Any:
    """What the page answers to each word that is looked for."""
    return in_browser(page, ASK.replace("WORDS", json.dumps(words)), folder)


def test_search_finds_outlet_closet_and_run_and_the_page_fits_its_window(bench: Any, tmp_path: Path) -> None:
    design = bench.design("walkup_8")
    page = report_of(design, bench.trade(design), design_id="kept").html
    said = searched(page, ["1A-1", "C1", "2-2D-1", "nowhere"], tmp_path)
    assert said["1A-1"] == ["outlet 1A-1, 1 of 1, sheet 2 of 2", 1]
    assert said["C1"][0].startswith("closet C1, 1 of")
    assert said["2-2D-1"][0].startswith("run 2D.1, 1 of")
    assert said["nowhere"] == ["Nothing is named so.", 0]
    assert said["overflow"] <= 0


def test_search_finds_what_is_folded(bench: Any, tmp_path: Path) -> None:
    design = bench.design("europe_two_stairs")
    folded = next(
        text.text
        for sheet in report_of(design, bench.trade(design), design_id="kept").drawings
        for text in sheet.texts
        if "wired as on floor" in text.text
    )
    unit = folded.split(": ")[1].split(",")[0]
    page = report_of(design, bench.trade(design), design_id="kept").html
    said = searched(page, [f"{unit}.1", f"{unit}.1.1"], tmp_path)
    assert said[f"{unit}.1"][0].startswith(f"outlet {unit}.1, 1 of 1")
    assert said[f"{unit}.1.1"][0].startswith("fold ")


def test_letters_are_as_wide_in_the_browser_as_the_layout_thinks(bench: Any, tmp_path: Path) -> None:
    design = bench.design("smallest")
    trade = bench.trade(design)
    imprint = replace(bench.imprint(design), title="House (invented)")
    (sheet,) = riser_drawings(design, trade.catalogue, trade.symbols, imprint)
    texts = [text for text in sheet.texts if not text.turned]
    page = f"<html><body>{svg_text(sheet, alone=True)}</body></html>"
    measured = in_browser(page, MEASURE, tmp_path)
    planned = {text.text: text.bounds_mm[2] - text.bounds_mm[0] for text in texts}
    assert len(measured) == len(texts)
    apart = [
        (text, wide, planned[text])
        for text, wide in measured
        if abs(wide - planned[text]) > 0.02 * planned[text] + 0.05
    ]
    assert apart == []
