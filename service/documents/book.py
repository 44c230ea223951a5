"""A building's book: every table that comes with a design, in the order of its sheets."""

from __future__ import annotations

from service.documents.bill_tables import cost_table, parts_table
from service.documents.estimate_table import estimate_table
from service.documents.figures import Figures, figures_of
from service.documents.mast_table import mast_table
from service.documents.measures import Measures
from service.documents.mounting_table import mounting_table
from service.documents.outlet_table import outlet_table
from service.documents.policy_price import price_sentences
from service.documents.pull_tables import Works, pull_tables
from service.documents.rates_table import rates_table
from service.documents.reading_table import reading_table
from service.documents.report_tables import power_table, reason_table, response_table
from service.documents.retrofit_tables import old_cable_table, phase_table
from service.documents.revision_table import revision_table
from service.documents.route_choice import route_sentence
from service.documents.setup_tables import joined, setup_table
from service.documents.sheet_chart import book_charts
from service.documents.site_tables import bonding_table, caution_table, load_table, way_table
from service.documents.table import Column, Imprint, Table, Value
from service.engine.building.places import Building
from service.engine.findings import Finding, worst_first
from service.engine.placement.proposal import Design, Rescue
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.tariff import Tariff, variety_cents
from service.engine.signal.limits import Limits
from service.engine.works.bill import Bill, bill_of
from service.engine.works.bonding import Bond, Edition, bond_findings, bonds_of
from service.engine.works.estimate import Estimate, estimate_of, survey_of
from service.engine.works.jackets import building_jacket_findings
from service.engine.works.mast import mast_findings
from service.engine.works.pathways import (
    PullLoad,
    WayFill,
    fill_findings,
    load_findings,
    pull_loads,
    way_fills,
)
from service.engine.works.pulls import firestops_of, pulls_of
from service.engine.works.retrofit import old_cables, phases_of
from service.engine.works.revision import Issued, revision_of
from service.engine.works.runs import cable_runs
from service.engine.works.safety import cautions_of
from service.engine.works.setup import AmplifierSetup, setups_of
from service.engine.works.statements import STANDING_LINES
from service.engine.works.testsheet import readings_of

_MOST_NAMED = 12
_SURVEYS = {
    "walked": "lengths measured on site",
    "drawings": "drawings",
    "outline": "AN OUTLINE: lengths may be off by a quarter; for a first price, not for construction",
}


def imprint_of(design: Design, *, design_id: str) -> Imprint:
    """What stands on every page of a building's book; an outline is called one."""
    building, paper = design.building, design.building.paper
    outlined = survey_of(building, design.chosen.network) == "outline"
    return Imprint(
        title=building.name or building.id,
        design=design_id,
        revision=paper.revision,
        date=paper.date,
        status=f"outline, {paper.status}" if outlined else paper.status,
        paper=Measures.of(building).paper,
    )


def building_tables(
    design: Design,
    catalogue: Catalogue,
    tariff: Tariff,
    limits: Limits,
    *,
    design_id: str,
    since: Issued | None = None,
) -> tuple[Table, ...]:
    """Summary, what changed `since` a design that was issued before, outlets, what the crew pulls, what the buyer
    buys, cost and estimate, reasons, findings, bonding and safety, amplifiers and their power, test sheet, figures
    of the charts, assumptions.

    Raises UnknownIdError for a network that names what the building, catalogue or tariff doesn't hold.
    """
    building, network, measures = design.building, design.chosen.network, Measures.of(design.building)
    bill = bill_of(building, network, catalogue, tariff)
    works = works_of(design, catalogue, tariff, bill)
    estimate = _estimate(design, bill, tariff)
    setups = setups_of(building, network, design.chosen.report, catalogue)
    loads = pull_loads(works.pulls, catalogue)
    fills, bonds = way_fills(building, works.pulls, catalogue), bonds_of(building)
    site, pulled = _site_findings(building, fills, bonds), _works_findings(design, works, catalogue, loads)
    stops = tuple(row for row in site if row.severity == "breaks")
    rest = (row for row in site if row not in stops)
    findings = (*stops, *worst_first((*rest, *design.chosen.findings, *pulled)))
    return (
        _summary(design, tariff, bill, setups, design_id),
        *_changes(design, since, catalogue, tariff),
        outlet_table(design, measures),
        response_table(design, measures),
        *pull_tables(works, measures),
        *_mounting(design, catalogue, tariff),
        *_way_tables(fills, loads, measures),
        *_retrofit_tables(works, network, tariff, measures),
        parts_table(bill, estimate, tariff, measures),
        cost_table(bill, measures),
        estimate_table(estimate, tariff),
        rates_table(building.rates, tariff),
        *(table for table in (reason_table(design),) if table.rows),
        _findings(findings, measures),
        bonding_table(bonds, Edition.of(building), measures),
        caution_table(cautions_of(building, network, catalogue)),
        *_masts(building, measures),
        *(setup_table(setup, measures, joined(network, works.runs, setup.device)) for setup in setups),
        *(table for table in (power_table(design, setups),) if table.rows),
        reading_table(readings_of(building, network, design.chosen.report, limits), measures),
        *book_charts(design, limits, catalogue).tables,
        _assumptions(design, tariff),
    )


def _changes(design: Design, since: Issued | None, catalogue: Catalogue, tariff: Tariff) -> tuple[Table, ...]:
    """The difference sheet, where there is an earlier design."""
    if since is None:
        return ()
    now = Issued(building=design.building, network=design.chosen.network)
    return (revision_table(revision_of(since, now, catalogue, tariff), Measures.of(design.building)),)


def _mounting(design: Design, catalogue: Catalogue, tariff: Tariff) -> tuple[Table, ...]:
    """What is mounted where, where anything is."""
    made = mounting_table(design.building, design.chosen.network, catalogue, tariff.terminator)
    return (made,) if made.rows else ()


def works_of(design: Design, catalogue: Catalogue, tariff: Tariff, bill: Bill) -> Works:
    """Runs, pulls, seals and reels of a design's chosen network."""
    building, network = design.building, design.chosen.network
    return Works(
        building=building,
        runs=cable_runs(building, network, catalogue),
        pulls=pulls_of(building, network, catalogue, tariff),
        firestops=firestops_of(building, network, catalogue),
        reels=bill.reels,
    )


def _retrofit_tables(works: Works, network: Network, tariff: Tariff, measures: Measures) -> tuple[Table, ...]:
    """Phases and old cable, where people live or cable lies already; none of them without a row."""
    building = works.building
    phases = phases_of(building, network, works.pulls, tariff)
    tables = (
        phase_table(phases, building.rates, measures),
        old_cable_table(old_cables(building, network), measures),
    )
    return tuple(table for table in tables if table.rows)


def _way_tables(
    fills: tuple[WayFill, ...], loads: tuple[PullLoad, ...], measures: Measures
) -> tuple[Table, ...]:
    """Raceways and pull loads; none of them without a row."""
    tables = (way_table(fills, measures), load_table(loads, measures))
    return tuple(table for table in tables if table.rows)


def _masts(building: Building, measures: Measures) -> tuple[Table, ...]:
    """The mast's sheet, where antennas are raised or a mast is stated."""
    if building.feed.kind != "off-air" and building.mast is None:
        return ()
    roof_m = max((floor.elevation_m for floor in building.floors), default=0.0)
    return (mast_table(building.mast, roof_m, measures),)


def _estimate(design: Design, bill: Bill, tariff: Tariff) -> Estimate:
    """The estimate by the example rates, other designs as alternates."""
    others = tuple((row.label, row.cost_cents) for row in design.choices if row.serves_all and not row.chosen)
    return estimate_of(design.building, design.chosen.network, bill, tariff, alternates=others)


def _works_findings(
    design: Design, works: Works, catalogue: Catalogue, loads: tuple[PullLoad, ...]
) -> tuple[Finding, ...]:
    """What the works find about jackets and pulls, and the design hasn't said already."""
    said = {finding.rule for finding in design.chosen.findings}
    jackets = building_jacket_findings(works.building, works.runs, catalogue)
    return tuple(row for row in (*jackets, *load_findings(loads)) if row.rule not in said)


def _site_findings(
    building: Building, fills: tuple[WayFill, ...], bonds: tuple[Bond, ...]
) -> tuple[Finding, ...]:
    """What is found of what the document states: the mast first, then raceways and bonding conductors."""
    mast = () if building.mast is None else mast_findings(building.mast)
    return (*mast, *fill_findings(fills), *bond_findings(bonds))


def _summary(
    design: Design, tariff: Tariff, bill: Bill, setups: tuple[AmplifierSetup, ...], design_id: str
) -> Table:
    figures, building, served = figures_of(design, tariff.currency), design.building, design.chosen.serves_all
    measures = Measures.of(building)
    broken = f"NOT every outlet is served: {figures.worst_finding}"
    rows: list[tuple[Value, ...]] = [
        ("Building", building.name or building.id),
        ("Result", "every outlet is served" if served else broken),
        ("Known from", _SURVEYS[figures.survey]),
        *_stop(building),
        *_power(setups),
        *_quality(figures),
        *_money(figures, bill, tariff, design.chosen.network),
        ("New cable", _long(measures, figures.cable_m)),
        ("Work", f"{bill.hours:.1f} person-hours at the price sheet's rates"),
        ("Proof", figures.certificate),
        *(("Proof takes for granted", text) for text in design.chosen.certificate.assumes),
        *(
            ("Price of the policy", text)
            for text in price_sentences(design.chosen.certificate, figures.currency)
        ),
        ("Findings", f"{figures.breaks} break a limit, {figures.warns} warn, {figures.notes} note"),
        ("Limits, plan, codes", f"{building.rules.limits}, {building.rules.plan}, {building.rules.codes}"),
        ("Units", f"lengths in {measures.length_unit}, levels in {measures.level_unit}"),
        ("Route", route_sentence(design)),
        ("Design id", design_id),
        *(("Note", building.note) for _ in range(1) if building.note),
        *(("Rescue tried", _rescue(rescue)) for rescue in design.rescues),
        *(("Read with care", text) for text in STANDING_LINES),
    ]
    columns = (Column(name="what", width=26), Column(name="value", kind="wide", width=84))
    marks = (*(((1, "bad"),) if not served else ()), *(((2, "look"),) if figures.survey == "outline" else ()))
    return Table(id="summary", title="Summary", columns=columns, rows=tuple(rows), marks=marks, portrait=True)


def _stop(building: Building) -> list[tuple[Value, ...]]:
    """The mast that can fall onto a power line, on page one."""
    found = () if building.mast is None else mast_findings(building.mast)
    return [("Mast", f"STOP. {row.text}") for row in found if row.severity == "breaks"]


def _power(setups: tuple[AmplifierSetup, ...]) -> list[tuple[Value, ...]]:
    """What the amplifiers draw together, and the energy of a year."""
    if not setups:
        return []
    drawn, energy = sum(row.draws_w for row in setups), sum(row.energy_kwh for row in setups)
    return [("Consumption", f"{drawn:.0f} W, {energy:,.0f} kWh a year, amplifiers always on")]


def _quality(figures: Figures) -> list[tuple[Value, ...]]:
    worst = f"at outlet {figures.worst_outlet}"
    return [
        ("Units and outlets", f"{figures.units} units, {figures.outlets} outlets"),
        ("Worst margin to a limit", _db(figures.worst_margin_db, worst)),
        ("Best margin to a limit", _db(figures.best_margin_db, "")),
        ("Spread over the building", _db(figures.spread_db, "between outlets on one carrier")),
    ]


def _money(figures: Figures, bill: Bill, tariff: Tariff, network: Network) -> list[tuple[Value, ...]]:
    rows: list[tuple[Value, ...]] = [
        ("Direct cost", f"{bill.direct_cents / 100:,.2f} {bill.currency} by price sheet {tariff.id}")
    ]
    if figures.outlets:
        each = bill.direct_cents / 100 / figures.outlets
        rows.append(("Direct cost an outlet", f"{each:,.2f} {bill.currency}"))
    below = f"{bill.below_cents / 100:,.2f} {bill.currency} for waste, whole boxes and spares"
    rows.append(("Below the direct cost", below))
    variety = variety_cents(network, tariff)
    kinds = len({device.part for device in network.devices})
    shelf = (
        f"{variety / 100:,.2f} {bill.currency} for {kinds} kinds of part: weighed in the search, in no bill"
    )
    rows.append(("Variety, shown apart", shelf))
    return rows


def _db(value: float | None, where: str) -> str:
    return "" if value is None else f"{value:.2f} dB {where}".rstrip()


def _rescue(rescue: Rescue) -> str:
    helps = "serves every outlet" if rescue.works else "does not help"
    return f"{rescue.change}: {helps}. {rescue.note}".rstrip()


def _long(measures: Measures, length_m: float) -> str:
    return f"{measures.length(length_m):,.0f} {measures.length_unit} as pulled"


def _findings(found: tuple[Finding, ...], measures: Measures) -> Table:
    """Findings in their order, lengths in the building's unit."""
    rows = tuple(
        (
            finding.severity,
            finding.rule,
            finding.text,
            _named(finding.where),
            finding.carrier or "",
            *_figures(finding, measures),
            finding.source,
        )
        for finding in found
    )
    columns = (
        Column(name="severity", width=9),
        Column(name="rule", width=20),
        Column(name="finding", kind="wide", width=48),
        Column(name="where, worst first", kind="wide", width=36),
        Column(name="carrier", width=9),
        Column(name="measured", kind="exact"),
        Column(name="limit", kind="exact"),
        Column(name="unit", width=7),
        Column(name="source", kind="wide", width=28),
    )
    colours = {"breaks": "bad", "warns": "look"}
    marks = tuple((at, colours[row.severity]) for at, row in enumerate(found) if row.severity in colours)
    note = "Red breaks a limit, amber wants a person's decision, the rest informs."
    return Table(id="findings", title="Findings", columns=columns, rows=rows, marks=marks, note=note)


def _figures(finding: Finding, measures: Measures) -> tuple[Value, Value, str]:
    """Measured, limit and unit; a length in the building's unit."""
    if finding.unit != "m":
        return finding.measured, finding.limit, finding.unit
    found, limit = (
        None if value is None else round(measures.length(value), 2)
        for value in (finding.measured, finding.limit)
    )
    return found, limit, measures.length_unit


def _named(ids: tuple[str, ...]) -> str:
    """The first of many ids, and how many more there are."""
    more = f" and {len(ids) - _MOST_NAMED} more" if len(ids) > _MOST_NAMED else ""
    return ", ".join(ids[:_MOST_NAMED]) + more


def _assumptions(design: Design, tariff: Tariff) -> Table:
    """Every default that was used, and what the prices stand on."""
    rows: list[tuple[Value, ...]] = [(row.field, row.value, row.why) for row in design.assumptions]
    rows.append(("prices", tariff.id, tariff.note))
    columns = (
        Column(name="field", width=30),
        Column(name="value", kind="wide", width=34),
        Column(name="why", kind="wide", width=64),
    )
    note = "Defaults used where the building document is silent. Replace them by stating the field."
    return Table(id="assumptions", title="Assumptions", columns=columns, rows=tuple(rows), note=note)
