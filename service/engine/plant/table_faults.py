"""Complaints about frequencies: a part or a cable used where it has no figure, as nothing is extrapolated."""

from __future__ import annotations

from collections.abc import Iterator

from service.engine.findings import Fault
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Network
from service.engine.plant.parts import Part
from service.engine.signal.spectrum import Feed


def part_range_mhz(part: Part) -> tuple[float, float]:
    """Lowest and highest frequency at which a part has every figure that propagation reads."""
    curves = [group.gain_db for group in part.groups] + [row.isolation_db for row in part.isolation]
    if part.active is not None:
        curves.append(part.active.noise_figure_db)
    return (
        max((curve.low_mhz for curve in curves), default=0.0),
        min((curve.high_mhz for curve in curves), default=float("inf")),
    )


def _roots(network: Network) -> dict[str, Feed]:
    """The feed above every device that hangs on one; loops and open ends are left out."""
    roots = {feed.id: feed for feed in network.feeds}
    above: dict[str, str] = {}
    for run in network.runs:
        above.setdefault(run.end, run.start.device)
    seen: set[str] = set()
    for device in network.devices:
        chain: list[str] = []
        node = device.id
        while node not in roots and node in above and node not in seen:
            seen.add(node)
            chain.append(node)
            node = above[node]
        if node in roots:
            for name in chain:
                roots[name] = roots[node]
    return roots


def _outside(feed: Feed, low_mhz: float, high_mhz: float) -> str:
    """The carriers of a feed that a table doesn't cover, as text; empty when it covers all."""
    names = [
        f"{row.carrier.id} ({row.carrier.frequency_mhz:g} MHz)"
        for row in feed.carriers
        if not low_mhz - 1e-9 <= row.carrier.frequency_mhz <= high_mhz + 1e-9
    ]
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


def table_faults(network: Network, catalogue: Catalogue) -> Iterator[Fault]:
    """Parts and cables that meet a carrier outside their tables."""
    roots = _roots(network)
    known: dict[tuple[str, str, str], str] = {}

    def outside(kind: str, name: str, feed: Feed, low_mhz: float, high_mhz: float) -> str:
        key = (kind, name, feed.id)
        if key not in known:
            known[key] = _outside(feed, low_mhz, high_mhz)
        return known[key]

    def fault(
        path: tuple[str | int, ...], subject: str, name: str, carriers: str, low: float, high: float
    ) -> Fault:
        return Fault(
            code="outside-table",
            path=path,
            subject=subject,
            field=str(path[-1]),
            value=name,
            wrong=f"it meets {carriers}, and its figures run from {low:g} to {high:g} MHz",
            right="a part or cable with figures for every carrier that reaches it",
        )

    for position, device in enumerate(network.devices):
        if device.id in roots and catalogue.has_part(device.part):
            low, high = part_range_mhz(catalogue.part(device.part))
            carriers = outside("part", device.part, roots[device.id], low, high)
            if carriers:
                yield fault(
                    ("devices", position, "part"), f"device {device.id}", device.part, carriers, low, high
                )
    for position, run in enumerate(network.runs):
        if run.start.device in roots and run.cable is not None and catalogue.has_cable(run.cable):
            curve = catalogue.cable(run.cable).loss_db_per_100m
            carriers = outside("cable", run.cable, roots[run.start.device], curve.low_mhz, curve.high_mhz)
            if carriers:
                path = ("runs", position, "cable")
                yield fault(path, f"run {run.id}", run.cable, carriers, curve.low_mhz, curve.high_mhz)
