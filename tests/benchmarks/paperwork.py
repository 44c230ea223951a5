"""Time of the paperwork of one large building, part by part; run `python tests/benchmarks/paperwork.py`.

The invented slab of 24 floors with 1,728 outlets that `design.py` designs. The design itself is not timed.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median
from typing import Any

from design import KNOWN, SLABS, building_of, slab, timed

from service.documents.book import building_tables, imprint_of
from service.documents.pages import report_pdf, write_design_book
from service.documents.report import Trade, report_of
from service.documents.riser_drawing import riser_drawings
from service.documents.table_text import csv_text
from service.documents.xlsx import write_workbook
from service.engine.placement.kernels import enable_cache
from service.engine.warm import warm_up
from service.engine.works.bill import bill_of
from service.engine.works.estimate import estimate_of
from service.engine.works.jackets import building_jacket_findings
from service.engine.works.pathways import pull_loads, way_fills
from service.engine.works.pulls import firestops_of, pulls_of
from service.engine.works.runs import cable_runs
from service.engine.works.setup import setups_of
from service.engine.works.testsheet import readings_of
from service.library import library

ROUNDS = 3


def main() -> None:
    """Print seconds by the clock and of the processor, medians of a few rounds, by part."""
    if folder := os.environ.get("NUMBA_CACHE_DIR", ""):
        enable_cache(folder)
    warm_up()
    building = building_of(slab(*SLABS[-1]))
    answer, _ = timed(building)
    catalogue, tariff = KNOWN.catalogue, library().tariffs[building.tariff]
    limits, network = KNOWN.limits[building.rules.limits], answer.chosen.network
    symbols = {name: family.symbol for name, family in library().families.items()}
    trade = Trade(
        catalogue=catalogue,
        tariff=tariff,
        limits=limits,
        services=KNOWN.services,
        symbols=symbols,
        sources={},
    )
    imprint = imprint_of(answer, design_id="d")
    made: dict[str, Any] = {}

    def part(name: str, work: Callable[[], Any]) -> None:
        clock, spent = [], []
        for _ in range(ROUNDS):
            begin, worked = time.perf_counter(), time.process_time()
            made[name] = work()
            clock.append(time.perf_counter() - begin)
            spent.append(time.process_time() - worked)
        print(f"{name:34}{median(clock):8.3f}{median(spent):8.3f}", flush=True)

    print(f"{len(building.outlets)} outlets, {len(network.runs)} runs")
    print(f"{'':34}{'seconds':>8}{'of work':>8}")
    part("runs", lambda: cable_runs(building, network, catalogue))
    part("pulls", lambda: pulls_of(building, network, catalogue, tariff))
    part("firestops", lambda: firestops_of(building, network, catalogue))
    part("raceways", lambda: way_fills(building, made["pulls"], catalogue))
    part("pull loads", lambda: pull_loads(made["pulls"], catalogue))
    part("jackets", lambda: building_jacket_findings(building, made["runs"], catalogue))
    part("bill with reels", lambda: bill_of(building, network, catalogue, tariff))
    part("estimate", lambda: estimate_of(building, network, made["bill with reels"], tariff))
    part("set-up", lambda: setups_of(building, network, answer.chosen.report, catalogue))
    part("test sheet", lambda: readings_of(building, network, answer.chosen.report, limits))
    part("all tables", lambda: building_tables(answer, catalogue, tariff, limits, design_id="d"))
    part("all tables as CSV", lambda: [csv_text(table) for table in made["all tables"]])
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "book.xlsx"
        part("all tables as a workbook", lambda: write_workbook(path, made["all tables"], imprint))
        part(
            "book with charts and pictures",
            lambda: write_design_book(path, made["all tables"], answer, trade, design_id="d"),
        )
    part("riser drawing", lambda: riser_drawings(answer, catalogue, symbols, imprint))
    part("report page with its tables", lambda: report_of(answer, trade, design_id="d"))
    part("report as PDF", lambda: report_pdf(made["report page with its tables"], answer, design_id="d"))


if __name__ == "__main__":
    main()
