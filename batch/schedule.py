"""Which tables make the portfolio's workbook and a building's book, and how they are written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from batch.desk import desk
from batch.folder import write_whole
from batch.intake import Intake
from service.documents.book import building_tables
from service.documents.pages import design_pages, write_design_book
from service.documents.report import Trade
from service.documents.table import Column, Imprint, Table, Value, money
from service.documents.table_text import csv_text
from service.documents.xlsx import write_workbook
from service.engine.placement.proposal import Design
from service.portfolio import ID_DIGITS, Job, Line, Standing, standings

_PORTFOLIO = (
    Column(name="building", width=18),
    Column(name="name", kind="wide", width=36),
    Column(name="result", width=12),
    Column(name="known from", width=11),
    Column(name="units", kind="whole"),
    Column(name="outlets", kind="whole"),
    Column(name="worst margin", unit="dB", kind="exact"),
    Column(name="at outlet", width=12),
    Column(name="best margin", unit="dB", kind="exact"),
    Column(name="spread", unit="dB", kind="exact"),
    Column(name="direct cost", kind="money"),
    Column(name="currency", width=9),
    Column(name="cost an outlet", kind="money"),
    Column(name="cost to median", unit="×", kind="exact"),
    Column(name="new cable", unit="m", kind="number"),
    Column(name="cable an outlet", unit="m", kind="number"),
    Column(name="cable to median", unit="×", kind="exact"),
    Column(name="stands out", kind="wide", width=26),
    Column(name="above bound", kind="share"),
    Column(name="breaks", kind="whole"),
    Column(name="warns", kind="whole"),
    Column(name="notes", kind="whole"),
    Column(name="certificate", kind="wide", width=36),
    Column(name="first finding or complaint", kind="wide", width=36),
)
_PROBLEMS = (
    Column(name="workbook", width=24),
    Column(name="sheet", width=18),
    Column(name="row", kind="whole"),
    Column(name="column", width=8),
    Column(name="header", width=18),
    Column(name="building", width=18),
    Column(name="effect", width=14),
    Column(name="value", width=22),
    Column(name="what it looks like", kind="wide"),
    Column(name="what would be right", kind="wide"),
    Column(name="code", width=22),
)


def portfolio_tables(intake: Intake, lines: tuple[Line, ...]) -> tuple[Table, ...]:
    """A line for each building beside the portfolio's medians, and every complaint of the workbook.

    Prices are compared within a currency.
    """
    metres = standings({line.id: line.figures.metres_per_outlet for line in lines if line.figures})
    prices: dict[str, Standing] = {}
    for currency in sorted({line.figures.currency for line in lines if line.figures}):
        prices |= standings(
            {
                line.id: line.figures.cents_per_outlet
                for line in lines
                if line.figures and line.figures.currency == currency
            }
        )
    marks = tuple(
        (position, "bad" if line.status != "served" else "look")
        for position, line in enumerate(lines)
        if line.status != "served" or _stands_out(line, metres, prices)
    )
    rows = tuple(_line(line, metres.get(line.id), prices.get(line.id), metres, prices) for line in lines)
    served = sum(line.status == "served" for line in lines)
    note = f"{served} of {len(lines)} buildings served. Red: not served. Amber: far from the median."
    buildings = Table(
        id="portfolio",
        title="Portfolio",
        columns=_PORTFOLIO,
        rows=rows,
        marks=marks,
        note=note,
        pages_wide=2,
    )
    return (buildings, _problems(intake))


def _line(
    line: Line,
    metres: Standing | None,
    price: Standing | None,
    all_metres: dict[str, Standing],
    all_prices: dict[str, Standing],
) -> tuple[Value, ...]:
    figures = line.figures
    if figures is None:
        return (line.id, line.name, line.status, *(None,) * 20, line.text)
    cents = figures.cents_per_outlet
    return (
        line.id,
        line.name,
        line.status,
        figures.survey,
        figures.units,
        figures.outlets,
        figures.worst_margin_db,
        figures.worst_outlet,
        figures.best_margin_db,
        figures.spread_db,
        money(figures.cost_cents),
        figures.currency,
        None if cents is None else cents / 100,
        price.ratio if price else None,
        figures.cable_m,
        figures.metres_per_outlet,
        metres.ratio if metres else None,
        _stands_out(line, all_metres, all_prices),
        figures.gap_share,
        figures.breaks,
        figures.warns,
        figures.notes,
        figures.certificate,
        line.text or figures.worst_finding,
    )


def _stands_out(line: Line, metres: dict[str, Standing], prices: dict[str, Standing]) -> str:
    words = []
    for name, found in (("cable", metres.get(line.id)), ("cost", prices.get(line.id))):
        if found is not None and found.flag:
            words.append(f"{name} {found.flag}: {found.ratio:.1f} × median")
    return ", ".join(words)


def _problems(intake: Intake) -> Table:
    rows = tuple(
        (
            problem.workbook,
            problem.spot.sheet,
            problem.spot.row or None,
            problem.spot.column,
            problem.spot.header,
            problem.building or "every building",
            "not designed" if problem.stops else "read so",
            problem.value,
            problem.looks_like,
            problem.right,
            problem.code,
        )
        for problem in intake.problems
    )
    marks = tuple((at, "bad") for at, problem in enumerate(intake.problems) if problem.stops)
    note = "Buildings with a complaint against them are not designed; the others are."
    return Table(id="problems", title="Problems", columns=_PROBLEMS, rows=rows, marks=marks, note=note)


def write_portfolio(path: Path, *, intake: Intake, lines: tuple[Line, ...]) -> None:
    """Write the portfolio's workbook."""
    write_workbook(path, portfolio_tables(intake, lines), Imprint(title=f"Portfolio of {intake.name}"))


def tables_of(job: Job, design: Design) -> tuple[Table, ...]:
    """The tables of a building's book."""
    catalogue = desk().known.catalogue
    return building_tables(
        design,
        catalogue,
        job.tariff,
        job.limits,
        design_id=job.digest[:ID_DIGITS],
        since=job.issued,
    )


def write_building(path: Path, *, job: Job, design: Design, tables: Sequence[Table]) -> None:
    """Write the book of a building."""
    write_design_book(path, tables, design, trade_of(job), design_id=job.digest[:ID_DIGITS])


def write_papers(out: Path, name: str, tables: Sequence[Table]) -> None:
    """Write every table of a building as a CSV file."""
    for table in tables:
        text = csv_text(table)
        write_whole(out / f"{name}.{table.id}.csv", partial(_write_text, text=text))


def trade_of(job: Job) -> Trade:
    """What a job's report is made with."""
    tools = desk()
    return Trade(
        catalogue=tools.known.catalogue,
        tariff=job.tariff,
        limits=job.limits,
        services=tools.known.services,
        symbols=tools.symbols,
        sources=tools.sources,
    )


def write_pages(
    out: Path, name: str, job: Job, design: Design, *, wanted: Callable[[str], bool] | None = None
) -> None:
    """Write the report, the drawings and the charts of a building; those of them whose name is `wanted`."""
    pages = design_pages(design, trade_of(job), design_id=job.digest[:ID_DIGITS], since=job.issued)
    for page, content in pages.items():
        if wanted is None or wanted(page):
            write_whole(out / f"{name}.{page}", partial(_write_bytes, content=content))


def _write_bytes(path: Path, *, content: bytes) -> None:
    path.write_bytes(content)


def _write_text(path: Path, *, text: str) -> None:
    path.write_bytes(text.encode("utf-8-sig"))
