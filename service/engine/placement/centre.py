"""The launch set so that the smallest margin to the limits is largest: the same parts at the same price."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from service.engine.checks.margins import outlet_margins
from service.engine.placement.assemble import Aim
from service.engine.placement.menu import GRID_DB
from service.engine.placement.rounds import SLACK_DB, Solution, missed_by
from service.engine.placement.setup import settings_for, with_settings
from service.engine.placement.site import Site
from service.engine.placement.windows import Target


def centred(site: Site, target: Target, solution: Solution) -> Solution:
    """The solution with its only amplifier, the launch, set between the limits as well as the target allows.

    Every level moves by the same decibels, so the best step is known and measured once. A network with more
    amplifiers, or with none, is left as it is.
    """
    spring, network = solution.root.spring, solution.network
    active = [row for row in network.devices if site.catalogue.part(row.part).active is not None]
    if (
        not solution.fits
        or spring.lift is None
        or len(active) != 1
        or active[0].place != site.building.headend
    ):
        return solution
    before = outlet_margins(solution.report, site.limits, margins=site.building.policy.margins)
    if before.worst is None or active[0].settings is None:
        return solution
    wanted_db = float(np.nanmin(before.low_db) - np.nanmin(before.high_db)) / 2.0
    depth = solution.root.depth + round(wanted_db / (spring.stride * GRID_DB)) * spring.stride
    most = spring.deepest // spring.stride * spring.stride
    depth = min(max(depth, 0), most)
    step = -spring.stride if depth > solution.root.depth else spring.stride
    # From the wish back to what stands: the first that keeps the target is taken.
    for tried in range(depth, solution.root.depth, step):
        moved = _launched(site, solution, active[0].id, tried)
        after = outlet_margins(moved.report, site.limits, margins=site.building.policy.margins)
        moved = replace(moved, miss_db=missed_by(target, moved.report))
        better = after.worst is not None and after.worst.margin_db > before.worst.margin_db + SLACK_DB
        if moved.fits and better:
            return moved
    return solution


def _launched(site: Site, solution: Solution, device: str, depth: int) -> Solution:
    """The solution with the launch so many steps under its top."""
    spring, report = solution.root.spring, solution.report
    assert spring.lift is not None
    aim = Aim(
        device=device,
        lift=spring.lift,
        reference_dbmv=spring.top_reference_dbmv - depth * GRID_DB,
        slope_db=spring.slope_db,
        shape_db=spring.top_dbmv - spring.top_reference_dbmv,
    )
    row = report.devices.index(device)
    settings = settings_for(aim, report.input_dbmv[row, : len(report.carriers)], site.reference)
    network = with_settings(solution.network, {device: settings})
    return replace(
        solution,
        network=network,
        report=site.judge.report(network),
        root=replace(solution.root, depth=depth),
    )
