"""A revision: what changed between an issued design and a new one, in pulls, devices and money.

Both are compared by identifier: what was issued under a name is looked for under that name. The earlier design is
priced by today's price sheet, so that money shows what the change costs and not what prices did.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Literal

from service.engine.building.places import Building
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network
from service.engine.plant.tariff import Tariff
from service.engine.works.bill import Bill, BillLine, bill_of
from service.engine.works.runs import CableRun, cable_runs

Happened = Literal["added", "removed", "changed"]

#: A length that differs by less is the same cable.
SAME_LENGTH_M = 0.005


@dataclass(frozen=True, slots=True, kw_only=True)
class Issued:
    """A design as it was issued: its network and the building it was made for."""

    building: Building
    network: Network


@dataclass(frozen=True, slots=True, kw_only=True)
class RunChange:
    """A cable that is new, gone or different; `what` names what differs in one that stays."""

    id: str
    happened: Happened
    what: tuple[str, ...]
    before: CableRun | None
    after: CableRun | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DeviceChange:
    """A device that is new, gone, of another part, elsewhere or set in another way."""

    id: str
    happened: Happened
    what: tuple[str, ...]
    before: Device | None
    after: Device | None


@dataclass(frozen=True, slots=True, kw_only=True)
class MoneyChange:
    """An item of the direct cost whose quantity or amount differs. Amounts in cents, quantities in `unit`."""

    sort: str
    item: str
    name: str
    unit: str
    quantity_before: float
    quantity_after: float
    before_cents: int
    after_cents: int

    @property
    def change_cents(self) -> int:
        """What it adds; negative where it saves."""
        return self.after_cents - self.before_cents


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """Everything that differs, by identifier. The changes of `money` add up to `change_cents`."""

    currency: str
    runs: tuple[RunChange, ...]
    devices: tuple[DeviceChange, ...]
    money: tuple[MoneyChange, ...]
    before_cents: int
    after_cents: int

    @property
    def change_cents(self) -> int:
        """What the revision adds to the direct cost."""
        return self.after_cents - self.before_cents

    @property
    def unchanged(self) -> bool:
        """True when nothing differs."""
        return not (self.runs or self.devices or self.money)


def revision_of(before: Issued, after: Issued, catalogue: Catalogue, tariff: Tariff) -> Revision:
    """What differs between two designs, both at the prices of one tariff.

    Raises UnknownIdError for a network that names what its building, the catalogue or the tariff doesn't hold.
    """
    bills = [bill_of(row.building, row.network, catalogue, tariff) for row in (before, after)]
    runs = [
        {run.id: run for run in cable_runs(row.building, row.network, catalogue)} for row in (before, after)
    ]
    devices = [{device.id: device for device in row.network.devices} for row in (before, after)]
    return Revision(
        currency=tariff.currency,
        runs=tuple(_run_changes(*runs)),
        devices=tuple(_device_changes(*devices)),
        money=tuple(_money_changes(*bills)),
        before_cents=bills[0].direct_cents,
        after_cents=bills[1].direct_cents,
    )


def _happened(before: object | None, after: object | None) -> Happened:
    if before is None:
        return "added"
    return "removed" if after is None else "changed"


def _run_changes(before: Mapping[str, CableRun], after: Mapping[str, CableRun]) -> Iterator[RunChange]:
    for name in sorted(before.keys() | after.keys()):
        old, new = before.get(name), after.get(name)
        what = tuple(_run_differs(old, new)) if old is not None and new is not None else ()
        if old is None or new is None or what:
            yield RunChange(id=name, happened=_happened(old, new), what=what, before=old, after=new)


def _run_differs(old: CableRun, new: CableRun) -> Iterator[str]:
    if old.cable != new.cable:
        yield "cable"
    if (old.start, old.start_place.id) != (new.start, new.start_place.id):
        yield "start"
    if old.end_place.id != new.end_place.id:
        yield "end"
    if [way.id for way in old.ways] != [way.id for way in new.ways]:
        yield "route"
    if abs(old.length_m - new.length_m) > SAME_LENGTH_M:
        yield "length"
    if old.existing != new.existing:
        yield "new or existing"
    if old.label != new.label:
        yield "label"


def _device_changes(before: Mapping[str, Device], after: Mapping[str, Device]) -> Iterator[DeviceChange]:
    for name in sorted(before.keys() | after.keys()):
        old, new = before.get(name), after.get(name)
        what: tuple[str, ...] = ()
        if old is not None and new is not None:
            pairs = (
                ("part", old.part != new.part),
                ("place", old.place != new.place),
                ("settings", old.settings != new.settings),
            )
            what = tuple(word for word, differs in pairs if differs)
        if old is None or new is None or what:
            yield DeviceChange(id=name, happened=_happened(old, new), what=what, before=old, after=new)


def _money_changes(before: Bill, after: Bill) -> Iterator[MoneyChange]:
    """Lines of the direct cost side by side; alike lines of one item are added up."""
    old, new = _by_item(before), _by_item(after)
    for key in sorted(old.keys() | new.keys()):
        pair = (old.get(key, ()), new.get(key, ()))
        cents = [sum(line.total_cents for line in lines) for lines in pair]
        quantity = [sum(line.quantity for line in lines) for lines in pair]
        if cents[0] == cents[1] and abs(quantity[0] - quantity[1]) <= SAME_LENGTH_M:
            continue
        line = (*pair[1], *pair[0])[0]
        yield MoneyChange(
            sort=line.sort,
            item=line.item,
            name=line.name,
            unit=line.unit,
            quantity_before=quantity[0],
            quantity_after=quantity[1],
            before_cents=cents[0],
            after_cents=cents[1],
        )


def _by_item(bill: Bill) -> dict[tuple[str, str, str], tuple[BillLine, ...]]:
    found: dict[tuple[str, str, str], tuple[BillLine, ...]] = {}
    for line in bill.lines:
        key = (line.sort, line.item, line.name)
        found[key] = (*found.get(key, ()), line)
    return found
