"""The tables of the library: the columns of each, what a cell may hold, and what makes a row unique."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["id", "text", "source", "number", "count", "money", "choice", "flag", "numbers"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A column: its header with the unit in it, and what its cells hold, from `low` to `high` for numbers."""

    name: str
    kind: Kind
    low: float = 0.0
    high: float = 1e6
    choices: tuple[str, ...] = ()
    optional: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class TableKind:
    """A table: its columns, those that make a row unique, and those by which a user's rows replace ours."""

    columns: tuple[Column, ...]
    unique: tuple[str, ...]
    replaces: tuple[str, ...]

    def column(self, name: str) -> Column | None:
        """The column of that header, or None."""
        return next((column for column in self.columns if column.name == name), None)


def _number(name: str, low: float, high: float, *, optional: bool = False) -> Column:
    return Column(name=name, kind="number", low=low, high=high, optional=optional)


def _range(name: str, high: float) -> tuple[Column, ...]:
    return tuple(_number(f"{name}_{edge}_db", 0.0, high) for edge in ("low", "high", "step"))


def _id(name: str) -> Column:
    return Column(name=name, kind="id")


_SOURCE = Column(name="source", kind="source")
_FREQUENCY = _number("frequency_mhz", 1.0, 5000.0)

#: What a figure's value may be, by the name in column `figure`.
FIGURE_RANGES: dict[str, tuple[float, float]] = {
    "loss_db": (0.0, 100.0),
    "gain_db": (-100.0, 80.0),
    "isolation_db": (0.0, 120.0),
    "return_loss_db": (0.0, 60.0),
    "noise_figure_db": (0.0, 30.0),
}

_PARTS = TableKind(
    columns=(
        _id("part"),
        Column(name="family", kind="text"),
        Column(name="name", kind="text"),
        _number("tolerance_db", 0.0, 10.0),
        _number("tolerance_high_db", 0.0, 10.0),
        _number("width_mm", 0.0, 2000.0),
        Column(name="supply", kind="choice", choices=("none", "mains", "line")),
        _number("draws_w", 0.0, 1000.0),
        _number("least_v", 0.0, 100.0),
        _number("injects_v", 0.0, 100.0),
        _number("injects_a", 0.0, 20.0),
        Column(name="injects_into", kind="text", optional=True),
        _SOURCE,
    ),
    unique=("part",),
    replaces=("part",),
)

_PORTS = TableKind(
    columns=(
        _id("part"),
        _id("group"),
        Column(name="count", kind="count", low=1, high=64),
        Column(name="ends_in", kind="choice", choices=("cable", "user", "nothing")),
        Column(name="passes_power", kind="flag"),
    ),
    unique=("part", "group"),
    replaces=("part", "group"),
)

_FIGURES = TableKind(
    columns=(
        _id("part"),
        Column(name="group", kind="text"),
        Column(name="figure", kind="choice", choices=tuple(FIGURE_RANGES)),
        _FREQUENCY,
        _number("value", -100.0, 120.0),
        _SOURCE,
    ),
    unique=("part", "group", "figure", "frequency_mhz"),
    replaces=("part", "group", "figure"),
)

_AMPLIFIERS = TableKind(
    columns=(
        _id("part"),
        _number("gain_low_db", -20.0, 80.0),
        _number("gain_high_db", -20.0, 80.0),
        _number("gain_step_db", 0.0, 20.0),
        *_range("slope", 30.0),
        *_range("pad", 40.0),
        *_range("equaliser", 40.0),
        _number("slope_low_mhz", 1.0, 5000.0),
        _number("slope_high_mhz", 1.0, 5000.0),
        _number("input_low_dbmv", -80.0, 80.0, optional=True),
        _number("input_high_dbmv", -80.0, 80.0, optional=True),
        _number("reverse_isolation_db", 0.0, 120.0),
        _number("test_point_db", 0.0, 60.0),
        _SOURCE,
    ),
    unique=("part",),
    replaces=("part",),
)

_RATINGS = TableKind(
    columns=(
        _id("part"),
        Column(name="basis", kind="choice", choices=("total power", "per carrier")),
        _number("output_dbmv", 0.0, 90.0),
        _number("ratio_db", 10.0, 100.0),
        Column(name="carriers", kind="count", low=2, high=1000, optional=True),
        _SOURCE,
    ),
    unique=("part", "basis"),
    replaces=("part", "basis"),
)

_CABLES = TableKind(
    columns=(
        _id("cable"),
        _id("series"),
        Column(name="name", kind="text"),
        Column(
            name="jacket",
            kind="choice",
            choices=("CATVP", "CATVR", "CATV", "CATVX", "outdoor", "buried", "B2ca", "Cca", "Dca", "Eca"),
        ),
        _number("loop_resistance_ohm_per_km", 0.1, 1000.0),
        _number("outer_diameter_mm", 1.0, 100.0),
        _number("mass_kg_per_km", 1.0, 5000.0),
        _number("pull_limit_n", 1.0, 50000.0),
        _number("bend_installed_mm", 1.0, 3000.0),
        _number("bend_pulling_mm", 1.0, 3000.0),
        Column(name="screening_class", kind="choice", choices=("A++", "A+", "A", "B", "C")),
        _id("connector"),
        Column(name="put_ups_m", kind="numbers", low=1.0, high=10000.0),
        _SOURCE,
    ),
    unique=("cable",),
    replaces=("cable",),
)

_CABLE_LOSSES = TableKind(
    columns=(_id("series"), _FREQUENCY, _number("loss_db_per_100m", 0.001, 300.0), _SOURCE),
    unique=("series", "frequency_mhz"),
    replaces=("series",),
)

_TARIFFS = TableKind(
    columns=(
        _id("tariff"),
        Column(name="currency", kind="text"),
        Column(name="labour_per_h", kind="money"),
        _number("end_h", 0.0, 100.0),
        _number("test_h", 0.0, 100.0),
        _id("terminator"),
        Column(name="variety", kind="money"),
        Column(name="note", kind="text"),
        _SOURCE,
    ),
    unique=("tariff",),
    replaces=("tariff",),
)

_PART_PRICES = TableKind(
    columns=(
        _id("tariff"),
        _id("part"),
        Column(name="price", kind="money"),
        _number("labour_h", 0.0, 1000.0),
        _SOURCE,
    ),
    unique=("tariff", "part"),
    replaces=("tariff", "part"),
)

_CABLE_PRICES = TableKind(
    columns=(
        _id("tariff"),
        _id("cable"),
        _number("price_per_m", 0.0, 1000.0),
        Column(name="price_per_end", kind="money"),
        _SOURCE,
    ),
    unique=("tariff", "cable"),
    replaces=("tariff", "cable"),
)

_PULL_RATES = TableKind(
    columns=(
        _id("tariff"),
        _id("kind"),
        _number("first_h_per_m", 0.0, 10.0),
        _number("further_h_per_m", 0.0, 10.0),
        _SOURCE,
    ),
    unique=("tariff", "kind"),
    replaces=("tariff", "kind"),
)

#: Every table by the name of its file. Money is in the currency of the row's tariff.
TABLES: dict[str, TableKind] = {
    "parts": _PARTS,
    "ports": _PORTS,
    "figures": _FIGURES,
    "amplifiers": _AMPLIFIERS,
    "ratings": _RATINGS,
    "cables": _CABLES,
    "cable_losses": _CABLE_LOSSES,
    "tariffs": _TARIFFS,
    "part_prices": _PART_PRICES,
    "cable_prices": _CABLE_PRICES,
    "pull_rates": _PULL_RATES,
}
