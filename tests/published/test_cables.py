"""Cable figures from outside: losses, ceilings, temperature, copper, geometry; and the library beside them.

Tolerance is half of the last printed digit unless a test says otherwise.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import skrf
from skrf.media import Coaxial

from service.engine.plant.cables import Cable
from service.engine.propagation.climate import loss_at_db
from service.engine.signal.curves import Curve
from service.engine.signal.units import db_per_100m_from_db_per_100ft
from service.library import library

CABLES = library().catalogue.cables

#: .500 in hardline, dB/ft. Source: CATV/MATV Design Fundamentals, p. 5, n2prise.org.
HARDLINE_DB_PER_FT = {5: 0.0016, 40: 0.0044, 50: 0.0050, 750: 0.0204}

#: Series 6 nominal, dB/100 ft. Source: a retail table.
SERIES_6_DB_PER_100FT = {
    50: 1.46,
    100: 2.05,
    200: 2.83,
    400: 4.05,
    700: 5.60,
    900: 6.23,
    1000: 6.59,
    1200: 7.50,
}

#: Legal ceilings in dB/100 m at 5 and 862 MHz, outer diameter in mm. Source: Real Decreto 346/2011, Annex II.
CEILINGS = {"11": (1.3, 13.5, 10.3), "6": (1.9, 20.0, 7.1), "59": (2.8, 24.5, 6.2)}

#: Centre conductor and dielectric diameter in mm, relative permittivity, and dB/100 m. Source: coaxial line
#: theory, solid copper, tan δ 1e-4.
GEOMETRY = {
    "6": ((1.02, 4.57, 1.46), {47: 4.050, 474: 13.189, 862: 18.026, 2150: 29.328}),
    "11": ((1.63, 7.11, 1.42), {47: 2.572, 474: 8.510, 862: 11.716, 2150: 19.355}),
}

#: Ω per 1000 ft at 20 °C, copper and copper-clad steel of 21 % IACS. Source: 1.7241e-8 Ωm and the definition
#: of the wire gauge.
WIRE_OHM_PER_1000FT = {20: ("10.15", "48.35"), 18: ("6.385", "30.40"), 14: ("2.525", "12.03")}


def root_fit(table: dict[int, float]) -> np.ndarray:
    """Coefficients a, b of the least-squares fit a·√f + b·f."""
    frequencies = np.asarray(list(table), dtype=np.float64)
    basis = np.stack([np.sqrt(frequencies), frequencies], axis=1)
    return np.linalg.lstsq(basis, np.asarray(list(table.values())), rcond=None)[0]


def of_series(*series: str) -> tuple[Cable, ...]:
    return tuple(cable for cable in CABLES if cable.series in series)


def test_the_hardline_of_the_library_has_the_printed_losses() -> None:
    for cable in of_series("500"):
        for frequency, loss in HARDLINE_DB_PER_FT.items():
            db_per_ft = cable.loss_db_per_100m.at_one(frequency) * 0.3048 / 100.0
            assert db_per_ft == pytest.approx(loss, abs=0.00005)


def test_the_hardline_follows_the_root_fit_through_its_printed_losses() -> None:
    a, b = 0.06898, 0.000201
    for cable in of_series("500"):
        table = cable.loss_db_per_100m
        for frequency, loss in zip(table.frequency_mhz, table.value, strict=True):
            assert loss * 0.3048 == pytest.approx(a * math.sqrt(frequency) + b * frequency, abs=0.005)


def test_a_root_fit_meets_the_printed_series_6_within_its_stated_error() -> None:
    a, b = root_fit(SERIES_6_DB_PER_100FT)
    errors = [abs(a * math.sqrt(f) + b * f - loss) for f, loss in SERIES_6_DB_PER_100FT.items()]
    assert max(errors) <= 0.14


def test_series_6_maxima_lie_above_the_printed_nominal_losses() -> None:
    """Named deviation: from 700 MHz the retail table is up to 4 % above the standard's maxima.

    It isn't cable of that standard; below 700 MHz the maxima are the higher ones, as they should be.
    """
    for cable in of_series("6", "6t", "6q"):
        for frequency, nominal in SERIES_6_DB_PER_100FT.items():
            loss = cable.loss_db_per_100m.at_one(frequency)
            share = 1.0 if frequency < 700 else 0.96
            assert loss >= share * db_per_100m_from_db_per_100ft(nominal), (cable.id, frequency)


@pytest.mark.parametrize("series", ["11", "6", "6t", "6q", "11sat", "6sat"])
def test_losses_stay_under_the_legal_ceilings(series: str) -> None:
    low, high, _ = CEILINGS["11" if series.startswith("11") else "6"]
    for cable in of_series(series):
        assert cable.loss_db_per_100m.at_one(5.0) <= low
        assert cable.loss_db_per_100m.at_one(862.0) <= high


def test_series_59_lies_just_above_the_legal_ceiling_of_another_region() -> None:
    """Named deviation: the maxima of the United States' standard exceed the Spanish ceiling of RG-59 by 1 %.

    The library keeps the maxima of the region the type belongs to: at 5 MHz 2.82 against 2.8, at 862 MHz 24.6
    against 24.5 dB/100 m. Use the satellite-grade types where the Spanish rules hold.
    """
    low, high, _ = CEILINGS["59"]
    for cable in of_series("59"):
        assert low < cable.loss_db_per_100m.at_one(5.0) <= 1.01 * low
        assert high < cable.loss_db_per_100m.at_one(862.0) <= 1.01 * high
        assert cable.jacket.startswith("CATV")


def test_outer_diameters_are_those_of_the_legal_types() -> None:
    for series, (_, _, diameter_mm) in CEILINGS.items():
        for cable in of_series(series, f"{series}sat"):
            if cable.jacket != "buried":
                assert cable.outer_diameter_mm == pytest.approx(diameter_mm, abs=0.2 + 1e-9)


@pytest.mark.parametrize("series", GEOMETRY)
def test_a_coaxial_line_of_the_printed_dimensions_has_the_printed_losses(series: str) -> None:
    losses = solid_copper_db_per_100m(series)
    for frequency, printed in GEOMETRY[series][1].items():
        assert losses[frequency] == pytest.approx(printed, abs=0.0005)


@pytest.mark.parametrize("series", GEOMETRY)
def test_no_cable_of_the_library_beats_solid_copper_of_its_own_dimensions(series: str) -> None:
    losses = solid_copper_db_per_100m(series)
    alike = [cable for cable in CABLES if cable.series.startswith(series)]
    assert len(alike) > 3
    for cable in alike:
        for frequency, loss in losses.items():
            if cable.loss_db_per_100m.covers(frequency):
                assert cable.loss_db_per_100m.at_one(frequency) > loss, (cable.id, frequency)


def solid_copper_db_per_100m(series: str) -> dict[int, float]:
    """Loss of the series' geometry by an independent line solver, by frequency."""
    (inner_mm, outer_mm, permittivity), printed = GEOMETRY[series]
    line = Coaxial(
        frequency=skrf.Frequency.from_f(np.asarray(list(printed)) * 1e6, unit="hz"),
        Dint=inner_mm / 1000.0,
        Dout=outer_mm / 1000.0,
        epsilon_r=permittivity,
        tan_delta=1e-4,
        sigma=5.8e7,
    )
    db_per_100m = line.gamma.real * 20.0 / math.log(10.0) * 100.0
    return dict(zip(printed, (float(loss) for loss in db_per_100m), strict=True))


def test_loss_grows_with_temperature_as_printed() -> None:
    """0.055 dB/ft at 100 °F is 0.056936, and 11.0 dB of 200 ft are 11.387.

    Source: a tech tip of the trade, 0.11 % per °F above 68.
    """
    hot_c = (100.0 - 32.0) / 1.8
    assert loss_at_db(0.055, hot_c) == pytest.approx(0.056936, abs=5e-7)
    assert loss_at_db(11.0, hot_c) == pytest.approx(11.387, abs=0.0005)


def test_twenty_db_of_cable_tilt_by_the_root_law_as_printed() -> None:
    """20 dB at 450 MHz tilt by 13.07 dB down to 54 MHz. Source: L2 = L1·√(f2/f1)."""
    k = 20.0 / math.sqrt(450.0)
    line = Curve(frequency_mhz=(5.0, 1000.0), value=(k * math.sqrt(5.0), k * math.sqrt(1000.0)))
    assert line.at_one(450.0) - line.at_one(54.0) == pytest.approx(13.07, abs=0.005)


def test_the_cables_of_the_library_tilt_nearly_by_the_root_law() -> None:
    for cable in CABLES:
        high, low = (cable.loss_db_per_100m.at_one(f) for f in (450.0, 54.0))
        assert 20.0 * (1.0 - low / high) == pytest.approx(13.07, abs=0.7), cable.id


@pytest.mark.parametrize(("gauge", "printed"), WIRE_OHM_PER_1000FT.items())
def test_wire_resistances_are_the_printed_ones(gauge: int, printed: tuple[str, str]) -> None:
    """Copper to half of the last digit; clad steel within 0.006, for gauge 20 is printed 0.0055 high."""
    copper, clad = wire_ohm_per_1000ft(gauge)
    half_digit = 0.5 * 10.0 ** -len(printed[0].partition(".")[2])
    assert copper == pytest.approx(float(printed[0]), abs=half_digit)
    assert clad == pytest.approx(float(printed[1]), abs=0.006)


@pytest.mark.parametrize(("series", "gauge"), [("59", 20), ("6", 18), ("6t", 18), ("6q", 18), ("11", 14)])
def test_a_loop_resists_more_than_its_copper_clad_centre_alone(series: str, gauge: int) -> None:
    centre_ohm_per_km = float(WIRE_OHM_PER_1000FT[gauge][1]) / 0.3048
    for cable in of_series(series):
        assert centre_ohm_per_km < cable.loop_resistance_ohm_per_km < 2.0 * centre_ohm_per_km


@pytest.mark.parametrize(("series", "gauge"), [("6sat", 18), ("11sat", 14)])
def test_a_loop_of_solid_copper_resists_more_than_its_centre_alone(series: str, gauge: int) -> None:
    centre_ohm_per_km = float(WIRE_OHM_PER_1000FT[gauge][0]) / 0.3048
    for cable in of_series(series):
        assert centre_ohm_per_km < cable.loop_resistance_ohm_per_km < 3.0 * centre_ohm_per_km


def wire_ohm_per_1000ft(gauge: int) -> tuple[float, float]:
    """Resistance of copper and of copper-clad steel (21 % IACS) wire of an American wire gauge."""
    diameter_m = 0.127e-3 * 92.0 ** ((36.0 - gauge) / 39.0)
    copper = 1.7241e-8 * 304.8 / (math.pi * diameter_m**2 / 4.0)
    return copper, copper / 0.21
