"""The verdict: every rule over one network, worst first."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from service.engine.checks import (
    amplifiers,
    differences,
    headend,
    isolation,
    legs,
    levels,
    noise,
    ports,
    powering,
    tolerance,
)
from service.engine.checks.case import Case, open_case
from service.engine.findings import Finding, worst_first
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.propagation.report import SignalReport
from service.engine.signal.limits import Limits
from service.engine.signal.spectrum import Service

Check = Callable[[Case], Iterator[Finding]]

#: Every rule that signals and the network alone can tell.
CHECKS: tuple[Check, ...] = (
    levels.check_service_without_limit,
    levels.check_outlet_without_signal,
    levels.check_level_low,
    levels.check_level_high,
    levels.check_design_level_low,
    levels.check_design_level_high,
    noise.check_noise_and_intermodulation,
    noise.check_noise,
    noise.check_intermodulation,
    noise.check_feed_noise_known,
    differences.check_adjacent_difference,
    differences.check_pair_difference,
    differences.check_unit_spread,
    differences.check_building_spread,
    headend.check_feed_level,
    headend.check_head_end_level,
    headend.check_head_end_spread,
    isolation.check_isolation,
    isolation.check_response,
    amplifiers.check_overload,
    amplifiers.check_output_reserve_today,
    amplifiers.check_output_reserve_tomorrow,
    amplifiers.check_gain_reserve,
    amplifiers.check_slope_reserve,
    amplifiers.check_input_low,
    amplifiers.check_input_high,
    amplifiers.check_input_pad,
    amplifiers.check_series,
    amplifiers.check_fault_domain,
    powering.check_line_voltage,
    powering.check_supply_load,
    powering.check_live_outlets,
    ports.check_open_ports,
    ports.check_spare_ports,
    legs.check_through_ports,
    legs.check_falling_values,
    legs.check_tap_variety,
    legs.check_trimmed_outlets,
    tolerance.check_yield,
    tolerance.check_hot,
    tolerance.check_cold,
)


def judge(
    network: Network,
    catalogue: Catalogue,
    limits: Limits,
    services: Mapping[str, Service],
    report: SignalReport,
    *,
    margins: bool = True,
) -> tuple[Finding, ...]:
    """Every finding about a network, worst first; `report` must be of this network.

    With `margins` off neither design windows nor reserves are asked for, limits alone. Raises UnknownIdError
    for a part the catalogue does not hold.
    """
    return judge_case(open_case(network, catalogue, limits, services, report, margins=margins))


def judge_case(case: Case) -> tuple[Finding, ...]:
    """Every finding about a case, worst first."""
    return worst_first(tuple(finding for check in CHECKS for finding in check(case)))
