"""The semantic validator of a network: every complaint at once, none raised.

A network that passes has unique ids, known parts, cables and services, ports that exist and are used once,
one feed above every device, lengths and settings that are possible, and figures for every carrier it takes.
Propagation relies on that.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from service.engine.findings import Fault
from service.engine.plant.catalogue import Catalogue
from service.engine.plant.network import Device, Network, Port, Run
from service.engine.plant.parts import Part, SettingRange
from service.engine.plant.table_faults import table_faults
from service.engine.signal.limits import Limits
from service.engine.signal.pairing import pairing_problem
from service.engine.signal.spectrum import Carrier, FeedCarrier, Service

#: The closed list of codes this validator uses, each with its meaning.
NETWORK_CODES: dict[str, str] = {
    "duplicate-id": "Two things of one kind have the same id.",
    "unknown-part": "The catalogue holds no part of that id.",
    "unknown-cable": "The catalogue holds no cable of that id.",
    "unknown-device": "The network holds no device or feed of that id.",
    "unknown-port": "The part has no such port.",
    "unknown-service": "There is no service of that id.",
    "port-used-twice": "Two runs, outlets or terminators share one port.",
    "fed-twice": "Two runs end in the input of one device.",
    "run-into-feed": "A run ends in a feed, which has no input.",
    "loop": "Devices feed each other in a circle.",
    "not-fed": "No run leads from a feed to the device.",
    "impossible-length": "A length that no cable can have.",
    "setting-not-available": "The part has no such setting.",
    "setting-out-of-range": "The setting lies outside the range of the part.",
    "setting-between-steps": "The setting lies between two steps of the part.",
    "outside-table": "A part or a cable is used at a frequency for which it has no figure.",
    "wrong-band": "A satellite, cable or terrestrial service under limits written for another band.",
    "service-without-limit": "The limits say nothing about the service.",
    "impossible-level": "A level that no plant carries.",
    "impossible-frequency": "A frequency outside its own channel, or not above zero.",
    "carrier-differs": "One carrier id stands for two different channels.",
    "no-carriers": "A feed without carriers.",
    "no-feeds": "A network without feeds.",
    "nothing-served": "A network without outlets.",
}

LEAST_LEVEL_DBMV = -45.0
GREATEST_LEVEL_DBMV = 80.0


def network_faults(
    network: Network, catalogue: Catalogue, limits: Limits, services: Mapping[str, Service]
) -> tuple[Fault, ...]:
    """Every complaint about a network, in the order of its lists; empty when propagation may take it.

    Paths lead into the network document: `feeds`, `devices`, `runs`, `served`, `terminated` with the
    zero-based position in the tuples given here. Faults that only follow from another fault are left out.
    """
    return (
        *_id_faults(network),
        *_feed_faults(network, limits, services),
        *_device_faults(network, catalogue),
        *_run_faults(network, catalogue),
        *_port_faults(network, catalogue),
        *_tree_faults(network),
        *table_faults(network, catalogue),
    )


def _id_faults(network: Network) -> Iterator[Fault]:
    """Feeds and devices share one set of ids; runs and outlets have their own."""
    nodes: list[tuple[str, str, str, int]] = [
        ("feed", feed.id, "feeds", i) for i, feed in enumerate(network.feeds)
    ]
    nodes += [("device", device.id, "devices", i) for i, device in enumerate(network.devices)]
    runs = [("run", run.id, "runs", i) for i, run in enumerate(network.runs)]
    outlets = [("outlet", served.outlet, "served", i) for i, served in enumerate(network.served)]
    for kind in (nodes, runs, outlets):
        first: dict[str, str] = {}
        for noun, name, section, position in kind:
            if name in first:
                field = "outlet" if section == "served" else "id"
                yield Fault(
                    code="duplicate-id",
                    path=(section, position, field),
                    subject=f"{noun} {name}",
                    field=field,
                    value=name,
                    wrong=f"another {first[name]} has the same id",
                    right="an id that nothing else of its kind has; feeds and devices share one set",
                )
            else:
                first[name] = noun


def _feed_faults(network: Network, limits: Limits, services: Mapping[str, Service]) -> Iterator[Fault]:
    if not network.feeds:
        yield _empty("no-feeds", ("feeds",), "the network has no feed", "at least one feed")
    if not network.served:
        yield _empty("nothing-served", ("served",), "the network serves no outlet", "at least one outlet")
    seen: dict[str, Carrier] = {}
    for position, feed in enumerate(network.feeds):
        if not feed.carriers:
            path = ("feeds", position, "carriers")
            yield _empty("no-carriers", path, "the feed has no carrier", "one or more carriers")
        own: set[str] = set()
        for place, row in enumerate(feed.carriers):
            carrier = row.carrier
            rows = list(_service_rows(carrier, limits, services)) + list(_figure_rows(row))
            other = seen.setdefault(carrier.id, carrier)
            if carrier.id in own:
                wrong = "the feed has this carrier already"
                rows.append(("duplicate-id", "id", carrier.id, wrong, "one entry for each carrier"))
            elif (other.frequency_mhz, other.service) != (carrier.frequency_mhz, carrier.service):
                wrong = f"another feed has it at {other.frequency_mhz:g} MHz for {other.service}"
                rows.append(("carrier-differs", "id", carrier.id, wrong, "an id of its own for each channel"))
            own.add(carrier.id)
            for code, field, value, wrong, right in rows:
                yield Fault(
                    code=code,
                    path=("feeds", position, "carriers", place, field),
                    subject=f"carrier {carrier.id} of feed {feed.id}",
                    field=field,
                    value=value,
                    wrong=wrong,
                    right=right,
                )


_Row = tuple[str, str, str, str, str]


def _figure_rows(row: FeedCarrier) -> Iterator[_Row]:
    """What is wrong with frequency and level: code, field, value, wrong, right."""
    carrier = row.carrier
    if not 0.0 < carrier.low_mhz <= carrier.frequency_mhz <= carrier.high_mhz < math.inf:
        wrong = f"the channel runs from {carrier.low_mhz:g} to {carrier.high_mhz:g} MHz"
        right = "0 < low_mhz <= frequency_mhz <= high_mhz"
        yield "impossible-frequency", "frequency_mhz", f"{carrier.frequency_mhz:g}", wrong, right
    if not LEAST_LEVEL_DBMV <= row.level_dbmv <= GREATEST_LEVEL_DBMV:
        right = f"a level from {LEAST_LEVEL_DBMV:g} to {GREATEST_LEVEL_DBMV:g} dBmV"
        yield "impossible-level", "level_dbmv", f"{row.level_dbmv:g}", _looks_like(row.level_dbmv), right


def _service_rows(carrier: Carrier, limits: Limits, services: Mapping[str, Service]) -> Iterator[_Row]:
    """What is wrong with the service under these limits: code, field, value, wrong, right."""
    service = services.get(carrier.service)
    if service is None:
        right = f"one of {', '.join(sorted(services))}"
        yield "unknown-service", "service", carrier.service, "there is no such service", right
        return
    problem = pairing_problem(service, limits)
    if problem is not None:
        code = "wrong-band" if limits.bands and service.band not in limits.bands else "service-without-limit"
        right = "limits that are written for this service, or a service of these limits"
        yield code, "service", carrier.service, problem, right


def _looks_like(level_dbmv: float) -> str:
    if math.isfinite(level_dbmv):
        unit = "dBµV" if level_dbmv > 0.0 else "dBm"
        return f"no plant carries {level_dbmv:g} dBmV; it looks like {unit}"
    return "a level is a finite number"


def _empty(code: str, path: tuple[str | int, ...], wrong: str, right: str) -> Fault:
    field = str(path[-1])
    return Fault(code=code, path=path, subject="network", field=field, value="[]", wrong=wrong, right=right)


def _device_faults(network: Network, catalogue: Catalogue) -> Iterator[Fault]:
    for position, device in enumerate(network.devices):
        if not catalogue.has_part(device.part):
            yield Fault(
                code="unknown-part",
                path=("devices", position, "part"),
                subject=f"device {device.id}",
                field="part",
                value=device.part,
                wrong="the catalogue holds no part of this id",
                right="the id of a part of the catalogue, or of a part that the document brings",
            )
        else:
            yield from _setting_faults(position, device, catalogue.part(device.part))


def _setting_faults(position: int, device: Device, part: Part) -> Iterator[Fault]:
    settings = device.settings
    active = part.active
    rows: list[tuple[str, float, SettingRange | None]] = [
        ("slope_db", settings.slope_db, active.slope_db if active else None),
        ("input_pad_db", settings.input_pad_db, active.input_pad_db if active else None),
        ("input_equaliser_db", settings.input_equaliser_db, active.input_equaliser_db if active else None),
    ]
    if settings.gain_db is not None:
        rows.insert(0, ("gain_db", settings.gain_db, active.gain_db if active else None))
    for field, value, allowed in rows:
        none = allowed is None or (allowed.low == allowed.high == 0.0)
        if (none and value == 0.0 and field != "gain_db") or (allowed is not None and allowed.allows(value)):
            continue
        if allowed is None or none:
            code, wrong, right = (
                "setting-not-available",
                f"part {part.id} has no such setting",
                "leave it out",
            )
        else:
            steps = f" in steps of {allowed.step:g} dB" if allowed.step else ""
            right = f"a value from {allowed.low:g} to {allowed.high:g} dB{steps}"
            inside = allowed.low <= value <= allowed.high
            code = "setting-between-steps" if inside else "setting-out-of-range"
            wrong = f"part {part.id} can't be set there: " + (
                "the value lies between two steps" if inside else "the value lies outside its range"
            )
        yield Fault(
            code=code,
            path=("devices", position, "settings", field),
            subject=f"device {device.id}",
            field=field,
            value=f"{value:g}",
            wrong=wrong,
            right=right,
        )


def _run_faults(network: Network, catalogue: Catalogue) -> Iterator[Fault]:
    feeds = {feed.id for feed in network.feeds}
    devices = {device.id for device in network.devices}
    fed: dict[str, str] = {}
    for position, run in enumerate(network.runs):

        def fault(
            code: str,
            field: str,
            value: str,
            wrong: str,
            right: str,
            position: int = position,
            run: Run = run,
        ) -> Fault:
            return Fault(
                code=code,
                path=("runs", position, field),
                subject=f"run {run.id}",
                field=field,
                value=value,
                wrong=wrong,
                right=right,
            )

        if run.end in fed:
            wrong = f"run {fed[run.end]} feeds this device already"
            yield fault(
                "fed-twice", "to", run.end, wrong, "one run into each device: combiners are not covered"
            )
        elif run.end in devices:
            fed[run.end] = run.id
        elif run.end in feeds:
            yield fault("run-into-feed", "to", run.end, "a feed has no input", "the id of a device")
        else:
            yield fault("unknown-device", "to", run.end, "the run ends in nothing", "the id of a device")
        if run.cable is not None and not catalogue.has_cable(run.cable):
            right = "the id of a cable of the catalogue, or of a cable that the document brings"
            yield fault("unknown-cable", "cable", run.cable, "the catalogue holds no cable of this id", right)
        if run.cable is not None and not (math.isfinite(run.length_m) and run.length_m > 0.0):
            yield fault(
                "impossible-length", "length_m", f"{run.length_m:g}", "no cable is so long", "above 0 m"
            )
        if run.cable is None and run.length_m != 0.0:
            wrong = "the run joins two devices directly, without cable"
            yield fault("impossible-length", "length_m", f"{run.length_m:g}", wrong, "0, or a cable")


def _port_uses(network: Network) -> Iterator[tuple[tuple[str | int, ...], str, Port]]:
    for position, run in enumerate(network.runs):
        yield ("runs", position, "from"), f"run {run.id}", run.start
    for position, served in enumerate(network.served):
        yield ("served", position, "at"), f"outlet {served.outlet}", served.port
    for position, port in enumerate(network.terminated):
        yield ("terminated", position), f"terminator on {port}", port


def _ports(group: str, count: int) -> str:
    return f"{group}.1 to {group}.{count}" if count > 1 else f"{group}.1"


def _port_faults(network: Network, catalogue: Catalogue) -> Iterator[Fault]:
    feeds = {feed.id: feed for feed in network.feeds}
    parts = {device.id: device.part for device in network.devices}
    used: dict[Port, str] = {}
    for path, subject, port in _port_uses(network):
        code, wrong, right = "", "", ""
        if port.device in feeds:
            outputs = feeds[port.device].outputs
            if port.group != "out" or not 1 <= port.number <= outputs:
                code, wrong = "unknown-port", f"feed {port.device} has no such port"
                right = _ports("out", outputs)
        elif port.device not in parts:
            code, wrong, right = "unknown-device", "there is no such device or feed", "a device or a feed"
        elif catalogue.has_part(parts[port.device]):
            part = catalogue.part(parts[port.device])
            group = part.group(port.group)
            if group is None or not 1 <= port.number <= group.count:
                code, wrong = "unknown-port", f"part {part.id} has no such port"
                right = ", ".join(_ports(row.name, row.count) for row in part.groups) or "nothing leaves it"
        if not code and port in used:
            code, wrong, right = "port-used-twice", f"{used[port]} uses this port already", "a free port"
        used.setdefault(port, subject)
        if code:
            field = str(path[-1]) if isinstance(path[-1], str) else "terminated"
            yield Fault(
                code=code, path=path, subject=subject, field=field, value=str(port), wrong=wrong, right=right
            )


def _tree_faults(network: Network) -> Iterator[Fault]:
    """One fault for each loop, and one for the top of each tree that hangs on no feed."""
    feeds = {feed.id for feed in network.feeds}
    positions = {device.id: position for position, device in enumerate(network.devices)}
    above: dict[str, tuple[str, int]] = {}
    for position, run in enumerate(network.runs):
        above.setdefault(run.end, (run.start.device, position))
    done: set[str] = set()
    for device in network.devices:
        chain: list[str] = []
        node = device.id
        while node in positions and node not in feeds and node not in done:
            done.add(node)
            chain.append(node)
            if node not in above:
                yield Fault(
                    code="not-fed",
                    path=("devices", positions[node], "id"),
                    subject=f"device {node}",
                    field="id",
                    value=node,
                    wrong="no run ends in this device",
                    right="a run from a port of a feed or of a fed device, or no such device",
                )
                break
            node = above[node][0]
        if node in chain and node in above:
            circle = chain[chain.index(node) :]
            yield Fault(
                code="loop",
                path=("runs", above[node][1], "from"),
                subject=f"device {node}",
                field="from",
                value=above[node][0],
                wrong=f"the devices feed each other in a circle: {', '.join(sorted(circle))}",
                right="every device fed from above, the topmost by a feed",
            )
