"""The report: one page of HTML that needs no other file, says first whether the design works, then shows why.

The same page prints, and becomes PDF.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

import jinja2

from service.documents.balance_chart import balance_chart
from service.documents.book import building_tables, imprint_of, works_of
from service.documents.charts import design_charts
from service.documents.compact import Compact, compact
from service.documents.drawing import Drawing
from service.documents.drawing_svg import COLOURS, DARK, svg_text, tone_style
from service.documents.figures import Figures, figures_of
from service.documents.lettering import font_faces
from service.documents.measures import Measures
from service.documents.path_chart import path_chart, worst_path
from service.documents.policy_price import price_sentences
from service.documents.report_answers import ten_answers
from service.documents.report_tables import (
    alternative_table,
    asked_rows,
    source_table,
)
from service.documents.riser_drawing import riser_drawings
from service.documents.route_choice import route_table
from service.documents.table import Imprint, PaperSize, Table
from service.documents.table_text import shown_value
from service.documents.window_place import SPOTS, standings_of
from service.engine.findings import SEVERITY_ORDER
from service.engine.placement.proposal import Design
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.tariff import Tariff
from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import Service
from service.engine.works.bill import bill_of
from service.engine.works.revision import Issued
from service.engine.works.setup import setups_of
from service.engine.works.statements import STANDING_LINES

#: Sections of the report in their order, with their titles.
_CONTENTS = (
    ("answer", "Does it work?"),
    ("assumptions", "Assumptions and sources"),
    ("findings", "Findings"),
    ("drawing", "Riser drawing"),
    ("charts", "Charts"),
    ("tables", "Outlets and response"),
    ("parts", "Parts, cost and reasons"),
    ("pulls", "Pulls, labels and reels"),
    ("amplifiers", "Amplifier set-up and test sheet"),
    ("safety", "Powering, bonding and safety"),
    ("questions", "Ten questions before anyone signs"),
    ("contents", "Where to find what is asked for"),
)
PAGE_MARGIN_MM = 10.0
#: What a sheet of the drawing has as its own margins beyond what a printed page has.
_CROP_MM = (7.0, 5.0)
#: Height of paper that is laid across.
_HIGH_MM: dict[PaperSize, float] = {"A4": 210.0, "Letter": 215.9}
#: Sections of the report and the tables in them, set-up sheets of amplifiers left out.
_HOMES = {
    "assumptions": ("assumptions", "sources"),
    "findings": ("findings",),
    "charts": ("floors", "carriers", "path", "alternatives", "routes"),
    "parts": ("changes", "reasons", "parts", "cost", "estimate", "rates"),
    "pulls": (
        "work-order",
        "pulls",
        "labels",
        "firestops",
        "reels",
        "mounting",
        "ways",
        "pull-loads",
        "phases",
        "old-cable",
    ),
    "amplifiers": ("test",),
    "safety": ("power", "bonding", "safety", "mast"),
}
_FIGURE_KINDS = ("whole", "number", "exact", "money", "share")


@dataclass(frozen=True, slots=True, kw_only=True)
class Trade:
    """What a design is judged and explained by: parts, prices, limits, services, symbols of families, and what
    each source key stands for."""

    catalogue: Catalogue
    tariff: Tariff
    limits: Limits
    services: Mapping[str, Service]
    symbols: Mapping[str, str]
    sources: Mapping[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """The page and the drawings in it."""

    html: str
    drawings: tuple[Drawing, ...]
    charts: tuple[Drawing, ...]


def report_of(design: Design, trade: Trade, *, design_id: str, since: Issued | None = None) -> Report:
    """The report of a design, with what changed `since` one that was issued before.

    Raises UnknownIdError for a network that names what the building, catalogue or tariff doesn't hold.
    """
    building, catalogue = design.building, trade.catalogue
    imprint = imprint_of(design, design_id=design_id)
    bill = bill_of(building, design.chosen.network, catalogue, trade.tariff)
    works = works_of(design, catalogue, trade.tariff, bill)
    setups = setups_of(building, design.chosen.network, design.chosen.report, catalogue)
    drawings = riser_drawings(design, catalogue, trade.symbols, imprint)
    charts = report_charts(design, trade)
    answers = ten_answers(
        design,
        catalogue,
        trade.limits,
        trade.services,
        bill=bill,
        runs=works.runs,
        firestops=works.firestops,
        setups=setups,
    )
    tables = _tables(design, trade, since, design_id=design_id)
    facts = _facts(design, trade, figures_of(design, trade.tariff.currency))
    html = _template().render(
        imprint=imprint,
        style=_style(imprint),
        script=_file("report.js"),
        contents=[row for row in _CONTENTS if row[0] != "amplifiers" or setups],
        drawings=[(drawing, svg_text(drawing, alone=False, crop_mm=_CROP_MM)) for drawing in drawings],
        charts=[(chart, svg_text(chart, alone=False)) for chart in charts],
        answers=answers,
        sections=_sections(tables, imprint.paper),
        asked=asked_rows(),
        severities=_severities(tables["findings"]),
        **facts,
    )
    return Report(html=html, drawings=drawings, charts=charts)


def report_charts(design: Design, trade: Trade) -> tuple[Drawing, ...]:
    """Every chart of a design: levels and tolerances, cost against spread, the way to its worst outlet."""
    measures = Measures.of(design.building)
    path = worst_path(design, trade.catalogue, measures)
    last = () if path is None else (path_chart(path, measures),)
    cost = balance_chart(design, trade.tariff.currency)
    return (*design_charts(design, trade.limits), *cost, *last)


def _tables(
    design: Design,
    trade: Trade,
    since: Issued | None,
    *,
    design_id: str,
) -> dict[str, Table]:
    """The book's tables and the report's own, by id."""
    catalogue, measures = trade.catalogue, Measures.of(design.building)
    return {
        table.id: table
        for table in (
            *building_tables(design, catalogue, trade.tariff, trade.limits, design_id=design_id, since=since),
            alternative_table(design, measures, trade.tariff.currency),
            route_table(design, measures, trade.tariff.currency),
            source_table(design, catalogue, trade.limits, trade.sources),
        )
    }


def _facts(design: Design, trade: Trade, figures: Figures) -> dict[str, Any]:
    """What page one says."""
    chosen, building = design.chosen, design.building
    counts = dict.fromkeys((spot for spot, _ in SPOTS), 0)
    for standing in standings_of(chosen.margins).values():
        counts[standing.spot] += 1
    money = functools.partial(_money, currency=trade.tariff.currency)
    spread = chosen.report.spread
    return {
        "design": design,
        "building": building,
        "chosen": chosen,
        "figures": figures,
        "measures": Measures.of(building),
        "carriers": len(chosen.report.carriers),
        "worst": chosen.margins.worst,
        "best": chosen.margins.best,
        "spots": [(spot, meaning, counts[spot]) for spot, meaning in SPOTS if counts[spot]],
        "spread": spread,
        "cost": money(figures.cost_cents),
        "cost_each": money(figures.cents_per_outlet) if figures.cents_per_outlet is not None else "",
        "policy_price": price_sentences(chosen.certificate, trade.tariff.currency),
        "helps": [rescue.change for rescue in design.rescues if rescue.works],
        "not_covered": STANDING_LINES,
        "limits": trade.limits,
        "tariff": trade.tariff,
    }


def _severities(findings: Table) -> dict[str, int]:
    """How many findings of each severity the table holds."""
    said = [row[0] for row in findings.rows]
    return {severity: said.count(severity) for severity in SEVERITY_ORDER}


def _money(cents: float, currency: str) -> str:
    return f"{cents / 100:,.2f} {currency}"


def _sections(tables: dict[str, Table], paper: PaperSize) -> dict[str, list[dict[str, Any]]]:
    """Tables by the section in which they stand; those of no named section come under tables."""
    homes = {table: section for section, names in _HOMES.items() for table in names}
    found: dict[str, list[dict[str, Any]]] = {}
    for table in tables.values():
        home = "amplifiers" if table.id.startswith("setup-") else homes.get(table.id, "tables")
        if table.id != "summary" and table.rows:
            found.setdefault(home, []).append(_shown(table, compact(table, paper)))
    return found


def _shown(table: Table, small: Compact | None) -> dict[str, Any]:
    """A table as the page shows it, and as `small` sets it on paper."""
    marks = dict(table.marks)
    kinds = [column.kind for column in table.columns]
    columns = [(column.title, column.kind in _FIGURE_KINDS) for column in table.columns]
    rows = [
        (
            marks.get(at, ""),
            [
                (shown_value(value, kind), kind in _FIGURE_KINDS)
                for value, kind in zip(row, kinds, strict=True)
            ],
        )
        for at, row in enumerate(table.rows)
    ]
    shown = {
        "id": f"table-{table.id}",
        "title": table.title,
        "note": table.note,
        "wide": not table.portrait and len(table.columns) > 7,
        "half": table.id.startswith("setup-") or table.id in ("carriers", "path"),
        "columns": columns,
        "rows": rows,
        "small": None,
    }
    if small is not None:
        shown["small"] = {
            "whole": small.whole,
            "long": len(small.pages) > 1,
            "widths": [f"{width:.1f}mm" for width in small.widths_mm],
            "wide": f"{sum(small.widths_mm):.1f}mm",
            "columns": [columns[at] for at in small.columns],
            "pages": [
                [
                    [(mark, [cells[at] for at in small.columns]) for mark, cells in (rows[n] for n in block)]
                    for block in page
                ]
                for page in small.pages
            ],
        }
    return shown


def _style(imprint: Imprint) -> str:
    """Font, colours of the drawings on paper and on a dark screen, layout, and what stands on every printed page."""
    dark = tone_style(DARK, ".drawing")
    tones = f"{tone_style(COLOURS, '.drawing')}@media screen and (prefers-color-scheme:dark){{{dark}}}"
    high = _HIGH_MM[imprint.paper]
    said = [imprint.title, f"Design {imprint.design}" if imprint.design else ""]
    said += [f"revision {imprint.revision}" if imprint.revision else "", imprint.date, imprint.status]
    foot = _css_text(", ".join(word for word in said if word))
    edge = "font:7pt 'Evendrop Drawing';color:#52636d;vertical-align:bottom;padding-bottom:3mm"
    page = (
        f"@page{{size:{imprint.paper} landscape;margin:{PAGE_MARGIN_MM:g}mm;"
        f"@bottom-left{{content:{foot};{edge}}}"
        f"@bottom-right{{content:'Page ' counter(page) ' of ' counter(pages);{edge}}}}}"
        f"@media print{{#sheets svg{{max-height:{high - 2 * PAGE_MARGIN_MM - 1.0:g}mm}}}}"
    )
    return f"{font_faces()}{tones}{_file('report.css')}{page}"


def _css_text(text: str) -> str:
    """A text as a style sheet quotes it; what could end the style sheet is written by its number."""
    return (
        "'" + "".join(f"\\{ord(letter):x} " if letter in "\\'<>&\n\r\f" else letter for letter in text) + "'"
    )


@functools.cache
def _file(name: str) -> str:
    """A file that lies beside this module."""
    return files("service.documents").joinpath(name).read_text(encoding="utf-8")


@functools.cache
def _template() -> jinja2.Template:
    """The page's template; everything put into it is escaped unless the template says that it is markup."""
    environment = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True)
    environment.filters["db"] = lambda value: f"{value + 0.0:.1f} dB"
    return environment.from_string(_file("report.html"))
