"""A flat's panel holds no more devices and ports than its box takes, and nothing that is barred there."""

from __future__ import annotations

from service.engine.placement.stages import Kitchen, StageRules
from service.engine.placement.stock import cooks_for
from service.library import library

FREE = StageRules(ends_leg_spare=False)


def kitchen() -> Kitchen:
    frequencies = (57.0, 605.0)
    _, closet_cook, panel_cook = cooks_for(
        library().catalogue, library().tariffs["demo-usd"], frequencies, frozenset(), trim_free=True
    )
    return Kitchen(depth=400, closet_cook=closet_cook, panel_cook=panel_cook, classes=((9, FREE),))


def test_a_panel_with_room_for_one_device_gets_no_tree_of_two() -> None:
    free = kitchen().panel_recipes(20, FREE)
    assert free
    assert all(recipe.devices > 1 for recipe in free)
    assert kitchen().panel_recipes(20, StageRules(ends_leg_spare=False, most_devices=1)) == ()


def test_a_panel_with_few_ports_gets_no_larger_part() -> None:
    bound = kitchen().panel_recipes(9, StageRules(ends_leg_spare=False, most_ports=16))
    assert bound
    assert all(recipe.ports <= 16 for recipe in bound)


def test_a_part_barred_in_a_panel_is_in_none_of_its_recipes() -> None:
    free = kitchen().panel_recipes(3, FREE)
    bound = kitchen().panel_recipes(3, StageRules(ends_leg_spare=False, barred=frozenset({"split-3"})))
    assert any("split-3" in recipe.parts for recipe in free)
    assert not any("split-3" in recipe.parts for recipe in bound)
