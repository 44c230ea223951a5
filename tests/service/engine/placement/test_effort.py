"""Effort is counted work: the answer is the best so far with its certificate, and the same every time."""

from service.engine.placement import effort
from service.engine.placement.task import Choice, PlacementTask, Spot


def _tower(floors, flats):
    spots = [Spot(id="H", parent=None)]
    for floor in range(1, floors + 1):
        closet = f"C{floor:02d}"
        spots.append(Spot(id=closet, parent="H" if floor == 1 else f"C{floor - 1:02d}", edge_cents=390))
        for flat in range(flats):
            panel = f"P{floor:02d}.{flat}"
            spots.append(Spot(id=panel, parent=closet, edge_cents=650 * (1 + flat)))
            for outlet in range(2 + (flat + floor) % 2):
                spots.append(
                    Spot(
                        id=f"{panel}.{outlet}",
                        parent=panel,
                        edge_cents=650 + 130 * outlet,
                        a=40 - floor - flat,
                        b=58 - floor - flat,
                    )
                )
    menu = (
        Choice(id="S2", cents=1200, ports=((7, 2),)),
        Choice(id="S3", cents=1300, ports=((11, 3),)),
        Choice(id="S8", cents=2000, ports=((21, 8),)),
        Choice(id="T4", cents=1800, ports=((2, 1), (30, 4))),
        Choice(id="P1", cents=300, ports=((2, 1),)),
        Choice(id="P6", cents=300, ports=((12, 1),)),
    )
    return PlacementTask(spots=tuple(spots), menus=(menu,), terminator_cents=100, steps=59)


def test_the_certificate_and_the_design_belong_together(oracle):
    task = _tower(4, 4)
    placed = effort.place(task)
    cents, _ = oracle.walk(task, placed.tree)
    assert cents == placed.cost_cents == placed.curve[0] == placed.certificate.cost_cents
    assert placed.certificate.bound_cents <= cents
    assert placed.certificate.gap == (cents - placed.certificate.bound_cents) / placed.certificate.bound_cents


def test_more_effort_never_costs_more(monkeypatch):
    task = _tower(4, 4)
    costs = []
    for cells in (0, 3_000_000, 300_000_000):
        monkeypatch.setitem(effort.CELLS, "normal", (cells, 0))
        costs.append(effort.place(task).cost_cents)
    assert costs[0] >= costs[1] >= costs[2]
    assert costs[0] > costs[2]


def test_fourteen_outlets_are_proven_with_normal_effort_and_never_dearer_than_with_quick():
    tower = _tower(3, 2)
    task = PlacementTask(
        spots=tower.spots[:-1], menus=tower.menus, terminator_cents=tower.terminator_cents, steps=tower.steps
    )
    assert sum(spot.is_outlet for spot in task.spots) == 14
    quick, normal = effort.place(task, "quick"), effort.place(task, "normal")
    assert not quick.certificate.proven
    assert normal.certificate.proven
    assert quick.certificate.bound_cents <= normal.cost_cents <= quick.cost_cents


def test_the_same_task_gives_the_same_answer():
    task = _tower(3, 3)
    assert effort.place(task, "quick") == effort.place(task, "quick")


def test_an_impossible_task_is_an_answer():
    menu = (Choice(id="S2", cents=1200, ports=((7, 2),)),)
    spots = (
        Spot(id="H", parent=None),
        Spot(id="A", parent="H", a=0, b=3),
        Spot(id="B", parent="H", a=0, b=3),
    )
    placed = effort.place(PlacementTask(spots=spots, menus=(menu,), terminator_cents=100, steps=4))
    assert placed.cost_cents is None
    assert placed.tree is None
    assert placed.certificate.gap is None


def test_nothing_is_called_proven_where_a_place_lacks_what_the_place_above_it_has():
    menus = (
        (Choice(id="S2", cents=1200, ports=((7, 2),)),),
        (Choice(id="S3", cents=1500, ports=((11, 3),)),),
    )
    spots = (
        Spot(id="H", parent=None),
        Spot(id="C", parent="H", edge_cents=130, menu=1),
        *(Spot(id=f"O{n}", parent="C", edge_cents=130, a=0, b=20) for n in range(2)),
    )
    known = effort.place(PlacementTask(spots=spots, menus=menus, terminator_cents=100, steps=21)).certificate
    assert known.cost_cents == 130 + 1500 + 100 + 2 * 130
    assert known.bound_cents == 2 * 130 + 1200 + 2 * 130
    assert not known.proven
