"""From visits to a network: devices at their places, runs between their ports, outlets served, ends closed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from service.engine.errors import TableRangeError
from service.engine.placement.cabling import Laid
from service.engine.placement.legs import Plan, Programme
from service.engine.placement.lifts import Lift
from service.engine.placement.menu import GRID_DB
from service.engine.placement.recipes import Pick
from service.engine.placement.springs import Floats, Spring
from service.engine.placement.stages import Windows, drop_order
from service.engine.placement.trace import Visit
from service.engine.placement.windows import Planned
from service.engine.plant.network import Ambient, Device, Network, Port, Run, Served

_AMBIENT: dict[str, Ambient] = {
    "riser": "riser",
    "unknown-vertical": "riser",
    "attic": "attic",
    "outdoor": "outdoors",
    "buried": "buried",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """What an amplifier is to be set to: output at the reference and how far the low end lies below it."""

    device: str
    lift: Lift
    reference_dbmv: float
    slope_db: float
    shape_db: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Landing:
    """A feed that lands at a closet: its first device there, the closet it came from, its spring and whose output."""

    closet: int
    device: str
    parent: int
    spring: Spring
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembled:
    """A network with what the tables predict: level of each outlet at each carrier, and the amplifiers' aims.

    `springs` names, by outlet, the spring it hangs on and the device whose output that is ("" for the feed). `charged`
    are the cents by which the tables held the design dearer than it is.
    """

    network: Network
    predicted_dbmv: dict[str, Floats]
    aims: tuple[Aim, ...]
    springs: dict[str, tuple[Spring, str]]
    landings: tuple[Landing, ...]
    charged: int


@dataclass(slots=True)
class _Bench:
    """Collects devices, runs and ends while the visits are walked."""

    plan: Plan
    programme: Programme
    devices: list[Device] = field(default_factory=list)
    runs: list[Run] = field(default_factory=list)
    served: list[Served] = field(default_factory=list)
    closed: list[Port] = field(default_factory=list)
    predicted: dict[str, Floats] = field(default_factory=dict)
    aims: list[Aim] = field(default_factory=list)
    springs: dict[str, tuple[Spring, str]] = field(default_factory=dict)
    landings: list[Landing] = field(default_factory=list)
    sources: dict[int, str] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)
    charged: int = 0

    def device(self, place: str, part: str) -> str:
        """Stand a part at a place; its id is the place and the next number there."""
        number = self.counts.get(place, 0) + 1
        self.counts[place] = number
        name = f"{place}.{number}"
        self.devices.append(Device(id=name, part=part, place=place))
        return name

    def couple(self, start: Port, device: str) -> None:
        """Join a port to the next device's input directly, one connector joint between."""
        self.runs.append(Run(id=device, start=start, end=device, cable=None, length_m=0.0, joints=1))

    def cable(self, start: Port, device: str, laid: Laid) -> None:
        """A cable from a port to a device."""
        spaces = [space for way in laid.ways for space in self.plan.cabling.ways[way].spaces]
        found = {_AMBIENT[space] for space in spaces if space in _AMBIENT}
        ambient: Ambient = next(
            (name for name in ("outdoors", "attic", "riser", "buried") if name in found), "indoors"
        )
        self.runs.append(
            Run(
                id=device,
                start=start,
                end=device,
                cable=laid.cable,
                length_m=laid.length_m,
                joints=2,
                ambient=ambient,
                ways=laid.ways,
                existing=laid.existing,
                loss_factor=laid.loss_factor,
            )
        )

    # -- closets ---------------------------------------------------------------------------------------

    def visit(self, visit: Visit, source: Port, laid: Laid | None, above: Visit | None) -> None:
        """Land a feed at a closet: amplifier first where one stands, then the recipe's devices."""
        closet = self.plan.layout.closets[visit.closet]
        place = closet.place.id
        first = f"{place}.{self.counts.get(place, 0) + 1}"
        if laid is not None and above is not None:
            source_device = self.sources[id(above.spring)]
            self.landings.append(
                Landing(
                    closet=visit.closet,
                    device=first,
                    parent=above.closet,
                    spring=above.spring,
                    source=source_device,
                )
            )
        if visit.starts:
            self.sources[id(visit.spring)] = first if visit.spring.lift is not None else ""
        if visit.starts and visit.spring.lift is not None:
            name = self.device(place, visit.spring.lift.part.id)
            self._join(source, name, laid)
            self._aim(name, visit)
            source, laid = Port(device=name, group=visit.spring.lift.group), None
        for trim in visit.trims:
            name = self.device(place, trim.part)
            self._join(source, name, laid)
            source, laid = Port(device=name, group=trim.arms[0].name), None
        self.charged += visit.stage.book.rules.charge(visit.recipe)
        targets = iter(visit.onward)
        # Without a device the one local, or the feed that goes on, hangs on what stands there already.
        thing = visit.recipe.pick or (0 if visit.recipe.loads else "onward")
        self._hang(thing, source, laid, visit, self._depths(visit), targets)

    def _join(self, source: Port, name: str, laid: Laid | None) -> None:
        if laid is None:
            self.couple(source, name)
        else:
            self.cable(source, name, laid)

    def _aim(self, name: str, visit: Visit) -> None:
        spring = visit.spring
        assert spring.lift is not None
        reference = self.plan.reference
        level = float(spring.top_dbmv[reference]) - visit.depth * GRID_DB
        shape = spring.top_dbmv - spring.top_dbmv[reference]
        self.aims.append(
            Aim(device=name, lift=spring.lift, reference_dbmv=level, slope_db=spring.slope_db, shape_db=shape)
        )

    def _depths(self, visit: Visit) -> dict[int, int]:
        """Steps of device loss at each item of the closet, by the item's own position."""
        depths = {}
        for first, past, steps in visit.recipe.loads:
            for position in range(first, past):
                depths[int(visit.stage.order[position])] = visit.depth + steps
        return depths

    def _hang(
        self,
        thing: Pick | int | str,
        source: Port,
        laid: Laid | None,
        visit: Visit,
        depths: dict[int, int],
        targets: Iterator[Visit],
    ) -> None:
        """Put one thing of a recipe behind a port; `laid` is the cable that brings the feed here, if any."""
        if thing == "onward":
            following = next(targets)
            if following.lead is not None:
                name = self.device(self.plan.layout.closets[visit.closet].place.id, following.lead.part)
                self._join(source, name, laid)
                source = Port(device=name, group=following.lead.arms[0].name)
            path = self.plan.path(visit.closet, following.closet)
            self.visit(following, source, path, visit)
        elif isinstance(thing, int):
            number = int(visit.stage.order[thing])
            planned = self.plan.planned[visit.closet][number]
            first, past = self.plan.field.bounds[visit.closet][number : number + 2]
            rows = self.programme.windows_of(visit.closet, visit.spring)[first:past]
            windows = tuple((least, most) for least, most in rows.tolist())
            self._item(planned, windows, source, visit, depths[number])
        elif isinstance(thing, Pick):
            name, group = source.device, source.group
            if thing.offer.part:
                name = self.device(self.plan.layout.closets[visit.closet].place.id, thing.offer.part)
                self._join(source, name, laid)
            for arm, hung in zip(thing.offer.arms, thing.arms, strict=True):
                for index, below in enumerate(hung):
                    port = Port(device=name, group=arm.name or group, number=index + 1)
                    if below is None:
                        self.closed.append(port)
                    else:
                        self._hang(below, port, None, visit, depths, targets)

    # -- items -----------------------------------------------------------------------------------------

    def _item(self, planned: Planned, windows: Windows, source: Port, visit: Visit, depth: int) -> None:
        """A flat's cable to its panel and the drops behind it, or one straight cable to an outlet."""
        plan = self.plan
        price = visit.stage.book.rules.price
        recipe = plan.kitchen.panel_recipe(windows, planned.panel_rules, depth, price)
        self.charged += price.charge(recipe) if recipe is not None else 0
        drops = dict.fromkeys(range(len(windows)), depth)
        if planned.feeder is None or recipe is None or recipe.pick is None:
            if len(planned.drops) != 1:
                raise TableRangeError(f"no panel device for {planned.item.panel}")
            self._plate(planned, 0, source, visit, depth)
            return
        order = drop_order(windows)
        for first, past, steps in recipe.loads:
            for position in range(first, past):
                drops[order[position]] = depth + steps
        self._panel(recipe.pick, source, planned, visit, order, drops, planned.feeder)

    def _panel(
        self,
        pick: Pick,
        source: Port,
        planned: Planned,
        visit: Visit,
        order: tuple[int, ...],
        drops: dict[int, int],
        feeder: Laid | None,
    ) -> None:
        name = self.device(planned.item.panel, pick.offer.part)
        self._join(source, name, feeder)
        for arm, hung in zip(pick.offer.arms, pick.arms, strict=True):
            for index, below in enumerate(hung):
                port = Port(device=name, group=arm.name, number=index + 1)
                if below is None:
                    self.closed.append(port)
                elif isinstance(below, Pick):
                    self._panel(below, port, planned, visit, order, drops, None)
                elif isinstance(below, int):
                    self._plate(planned, order[below], port, visit, drops[order[below]])

    def _plate(self, planned: Planned, number: int, source: Port, visit: Visit, depth: int) -> None:
        """The outlet's plate at the end of its drop, and the level that the tables predict there."""
        plan = self.plan
        drop = planned.item.drops[number]
        plate = planned.plates[number]
        name = self.device(drop.outlet, plate.part)
        self.cable(source, name, planned.drops[number])
        place = plan.cabling.places[drop.outlet]
        self.served.append(
            Served(
                outlet=drop.outlet,
                port=Port(device=name, group=plate.arms[0].name),
                user=drop.user,
                unit=planned.item.unit,
                floor=place.floor,
            )
        )
        self.springs[drop.outlet] = (visit.spring, self.sources[id(visit.spring)])
        above = plan.above(visit.spring)[visit.closet]
        self.predicted[drop.outlet] = (
            visit.spring.top_dbmv - above - planned.fixed_db[number] - depth * GRID_DB
        )


def assemble(plan: Plan, root: Visit) -> Assembled:
    """Build the network of a traced design. Amplifiers start at full gain: `set_up` sets them."""
    building = plan.layout.building
    bench = _Bench(plan=plan, programme=Programme(plan))
    bench.visit(root, Port(device=building.feed.id, group="out"), None, None)
    leaving = {run.start for run in bench.runs}
    outputs = (
        Port(device=building.feed.id, group="out", number=number)
        for number in range(1, building.feed.outputs + 1)
    )
    closed = {*bench.closed, *(port for port in outputs if port not in leaving)}
    network = Network(
        id=building.id,
        name=building.name,
        feeds=(building.feed,),
        devices=tuple(sorted(bench.devices, key=lambda device: device.id)),
        runs=tuple(sorted(bench.runs, key=lambda run: run.id)),
        served=tuple(sorted(bench.served, key=lambda served: served.outlet)),
        terminated=tuple(sorted(closed)),
        joint_loss_db_at_1ghz=plan.cabling.joint_loss_db_at_1ghz,
    )
    return Assembled(
        network=network,
        predicted_dbmv=bench.predicted,
        aims=tuple(bench.aims),
        springs=bench.springs,
        landings=tuple(bench.landings),
        charged=bench.charged,
    )
