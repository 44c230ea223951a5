"""How long the papers of the demo buildings take: riser drawing, pictures of it, report as page and as PDF, workbook.

Run `python tests/benchmarks/drawing.py [NAME ...]`. Each is the median of three runs, after one that warms the caches;
the design itself is not counted. Wanted: the riser drawing of the tower of forty storeys as SVG in under 2 s.
"""

from __future__ import annotations

import io
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path

from batch.design import job_from
from batch.desk import compile_kernels, desk
from batch.schedule import tables_of, trade_of
from service.documents.book import imprint_of
from service.documents.drawing_png import png_bytes
from service.documents.drawing_svg import svg_text
from service.documents.pages import report_pdf, write_design_book
from service.documents.report import report_of
from service.documents.riser_drawing import riser_drawings
from service.engine.design import design
from service.forms.building import read_building
from service.forms.reading import read_json

BUILDINGS = Path(__file__).parents[2] / "fixtures" / "buildings"
NAMES = ("walkup_8", "slab_14", "tower_40")


def taken_s(work: Callable[[], object]) -> float:
    """Median of three runs after one that isn't counted, seconds."""
    times = []
    for _ in range(4):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return statistics.median(times[1:])


def measure(name: str) -> None:
    """Print a line for each of a building's papers."""
    document = read_json((BUILDINGS / f"{name}.json").read_bytes())
    assert isinstance(document, dict)
    known = desk().known
    job = job_from(document, read_building(document, known, desk().tariffs), desk())
    made = design(job.building, known.catalogue, job.tariff, job.limits, known.services, keep=job.keep)
    trade, imprint = trade_of(job), imprint_of(made, design_id="kept")

    def drawn() -> list[str]:
        return [svg_text(sheet) for sheet in riser_drawings(made, trade.catalogue, trade.symbols, imprint)]

    sheets = riser_drawings(made, trade.catalogue, trade.symbols, imprint)
    report = report_of(made, trade, design_id="kept")
    tables = tables_of(job, made)
    papers: tuple[tuple[str, Callable[[], object]], ...] = (
        (f"riser drawing, {len(sheets)} sheets as SVG", drawn),
        ("the same as PNG", lambda: [png_bytes(sheet) for sheet in sheets]),
        ("report as a page", lambda: report_of(made, trade, design_id="kept")),
        ("report as PDF", lambda: report_pdf(report, made, design_id="kept")),
        ("workbook", lambda: write_design_book(io.BytesIO(), tables, made, trade, design_id="kept")),
    )
    print(f"{name}: {len(made.building.outlets)} outlets, {len(made.chosen.network.devices)} devices")
    for what, work in papers:
        print(f"  {what:36} {taken_s(work):6.2f} s")


if __name__ == "__main__":
    compile_kernels()
    for wanted in sys.argv[1:] or NAMES:
        measure(wanted)
