"""The programme against independent judges on seeded random buildings."""

import pytest

from service.engine.errors import TableRangeError
from service.engine.placement.blocks import Family
from service.engine.placement.bounds import count_bound
from service.engine.placement.grove import index
from service.engine.placement.programme import run
from service.engine.placement.subsets import solve_exactly
from service.engine.placement.task import Choice, MalformedTaskError, PlacementTask, Spot


def _padded(curve, length):
    return [*curve, *([None] * (length - len(curve)))]


@pytest.mark.parametrize("seed", range(20))
def test_the_exact_programme_equals_a_plain_subset_programme_at_every_starting_loss(oracle, seed):
    task = oracle.random_task(seed, 7)
    solved = solve_exactly(index(task))
    assert _padded(solved.curve, task.steps) == oracle.SubsetProgramme(task).curve()


@pytest.mark.parametrize("seed", [1, 2, 3, 4, 5, 13, 15])
def test_the_exact_programme_equals_the_integer_model(oracle, seed):
    task = oracle.random_task(seed, 6, devices=6, most_b=24)
    cents = solve_exactly(index(task)).curve[0]
    assert oracle.IntegerModel(task).solve() == ("impossible" if cents is None else cents)


@pytest.mark.parametrize("seed", range(20, 30))
@pytest.mark.parametrize(
    "family",
    [
        Family(name="subsets", subsets=True),
        Family(name="intervals"),
        Family(name="short", reach=3, order="both"),
        Family(name="open", reach=2, open_end=True, order="first"),
    ],
)
def test_every_traced_design_costs_what_the_curve_says_and_meets_every_window(oracle, seed, family):
    task = oracle.random_task(seed, 9)
    grove = index(task)
    solved = run(grove, family)
    for start, cents in enumerate(solved.curve):
        tree = solved.tree(start)
        assert (tree is None) == (cents is None)
        if tree is not None:
            assert oracle.walk(task, tree, start)[0] == cents


@pytest.mark.parametrize("seed", range(30, 40))
def test_a_wider_family_never_costs_more_and_none_goes_below_the_exact_programme_or_the_bound(oracle, seed):
    grove = index(oracle.random_task(seed, 9))
    places = frozenset(i for i, s in enumerate(grove.spots) if i and not s.is_outlet)
    curves = [
        run(grove, family).curve
        for family in (
            Family(name="all subsets", subsets=True),
            Family(name="intervals"),
            Family(name="short", reach=2),
            Family(name="one cable per way", collapsed=places),
        )
    ]
    bound = count_bound(grove)
    for cents in zip(*curves, strict=True):
        for narrow, wide in ((1, 0), (2, 1), (3, 0)):
            assert cents[narrow] is None or (cents[wide] is not None and cents[wide] <= cents[narrow])
        assert cents[0] is None or cents[0] >= bound


def test_the_order_of_the_spots_means_nothing(oracle):
    task = oracle.random_task(7, 8)
    turned = PlacementTask(spots=task.spots[::-1], menus=task.menus, terminator_cents=100, steps=task.steps)
    one, two = run(index(task), Family(name="x")), run(index(turned), Family(name="x"))
    assert one.curve == two.curve
    assert one.tree() == two.tree()


def test_an_allowance_that_is_too_small_gives_nothing(oracle):
    grove = index(oracle.random_task(5, 9))
    assert run(grove, Family(name="x"), 0) is None
    assert run(grove, Family(name="x"), 10**9) is not None


def test_a_single_outlet_next_to_the_source_needs_a_pad_or_a_splitter_with_one_used_port():
    menu = (Choice(id="S2", cents=1200, ports=((7, 2),)), Choice(id="P", cents=1400, ports=((7, 1),)))
    spots = (Spot(id="H", parent=None), Spot(id="O", parent="H", edge_cents=130, a=7, b=9))
    solved = solve_exactly(index(PlacementTask(spots=spots, menus=(menu,), terminator_cents=100, steps=10)))
    assert solved.curve[0] == 130 + 1200 + 100
    assert solved.tree().branches[0].device == "S2" or solved.tree().device == "S2"
    assert solved.curve[7] == 130


def test_a_task_that_contradicts_itself_is_refused():
    menu = (Choice(id="P", cents=300, ports=((2, 1),)),)
    root, outlet = Spot(id="H", parent=None), Spot(id="O", parent="H", a=0, b=5)
    for spots in [
        (outlet,),
        (root,),
        (root, root, outlet),
        (root, Spot(id="O", parent="X", a=0, b=5)),
        (root, outlet, Spot(id="Q", parent="O", a=0, b=3)),
        (root, Spot(id="O", parent="H", a=0, b=5, menu=1)),
    ]:
        with pytest.raises(MalformedTaskError):
            index(PlacementTask(spots=spots, menus=(menu,), terminator_cents=100, steps=6))


def test_costs_beyond_the_tables_are_refused():
    menu = (Choice(id="P", cents=300, ports=((2, 1),)),)
    spots = (Spot(id="H", parent=None), Spot(id="O", parent="H", edge_cents=1 << 29, a=0, b=5))
    with pytest.raises(TableRangeError):
        index(PlacementTask(spots=spots, menus=(menu,), terminator_cents=100, steps=6))
