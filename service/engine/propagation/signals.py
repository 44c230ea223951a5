"""The verb: propagate a network's signals and report what arrives everywhere."""

from __future__ import annotations

from collections.abc import Mapping

from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.propagation.amplifiers import report_amplifiers
from service.engine.propagation.distortion import noise_and_intermodulation_db, sort_lineup, stage_ci_db
from service.engine.propagation.isolation import least_isolation
from service.engine.propagation.ladder import build_ladder
from service.engine.propagation.levels import carriers_of, run_levels, slope_db
from service.engine.propagation.noise import stage_cn_db
from service.engine.propagation.powering import line_power
from service.engine.propagation.report import SignalReport
from service.engine.propagation.spread import AS_DRAWN, Conditions, OutletLimits, spread_levels
from service.engine.signal.spectrum import Service


def propagate(
    network: Network,
    catalogue: Catalogue,
    services: Mapping[str, Service],
    *,
    passband_mhz: tuple[float, float],
    conditions: Conditions = AS_DRAWN,
    outlet_limits: OutletLimits | None = None,
) -> SignalReport:
    """Levels, noise, distortion, isolation, line power and, where limits are given, spread of a network.

    `passband_mhz` are the two frequencies reported beside the carriers, drawn in to where every table in use
    has a figure; the report holds those used. Carriers are those of all feeds, by frequency, then id; outlets
    go by id. The spread is worked out when `outlet_limits` is given and `conditions.spread` is on.

    Raises UnknownIdError, NotATreeError, and OutsideTableError for a carrier outside a table.
    """
    ladder = build_ladder(network, catalogue)
    carriers = carriers_of(ladder.feeds)
    levels = run_levels(ladder, carriers, passband_mhz)
    stage_cn = stage_cn_db(ladder, levels, carriers, services)
    lineup = sort_lineup(carriers, services)
    stage_ci = stage_ci_db(ladder, levels, lineup)
    stage_both = noise_and_intermodulation_db(stage_cn, stage_ci)
    spread = None
    if outlet_limits is not None and conditions.spread:
        spread = spread_levels(ladder, levels, carriers, conditions, outlet_limits)
    return SignalReport(
        carriers=carriers,
        frequency_mhz=levels.frequency_mhz,
        ports=ladder.ports,
        level_dbmv=levels.level_dbmv,
        devices=tuple(device.id for device in ladder.devices),
        input_dbmv=levels.input_dbmv,
        cn_db=stage_cn[ladder.row_stage],
        ci_db=stage_ci[ladder.row_stage],
        cni_db=stage_both[ladder.row_stage],
        slope_db=slope_db(levels.level_dbmv[:, : len(carriers)]),
        outlets=ladder.outlets,
        outlet_rows=ladder.outlet_rows,
        amplifiers=report_amplifiers(ladder, levels, lineup),
        isolation=least_isolation(ladder, levels, carriers),
        power=line_power(ladder),
        spread=spread,
    )
