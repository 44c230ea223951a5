"""Compile the placement kernels before the first real task, for composition roots."""

from __future__ import annotations

from service.engine.placement.blocks import Family
from service.engine.placement.grove import index
from service.engine.placement.levels_bound import level_bounds
from service.engine.placement.programme import run
from service.engine.placement.task import Choice, PlacementTask, Spot


def warm_up() -> None:
    """Solve and trace a building of three outlets with both programmes, so that every kernel is compiled."""
    menu = (
        Choice(id="two", cents=2, ports=((1, 2),)),
        Choice(id="tap", cents=2, ports=((1, 1), (2, 2))),
        Choice(id="pad", cents=1, ports=((1, 1),)),
    )
    spots = (
        Spot(id="root", parent=None),
        Spot(id="place", parent="root", edge_cents=1),
        *(Spot(id=f"outlet {n}", parent="place", edge_cents=1, a=0, b=4) for n in range(3)),
    )
    grove = index(PlacementTask(spots=spots, menus=(menu,), terminator_cents=1, steps=5))
    level_bounds(grove)
    for family in (Family(name="intervals"), Family(name="subsets", subsets=True)):
        solved = run(grove, family)
        assert solved is not None
        solved.tree()
