"""Feeds of a document: carriers by channel or by frequency, levels in any of three units."""

from __future__ import annotations

from dataclasses import dataclass, field

from service.engine.findings import Fault
from service.engine.signal.spectrum import Carrier, Channel, Feed, FeedCarrier
from service.engine.signal.units import dbmv_from_dbm, dbmv_from_dbuv
from service.forms.known import Known
from service.forms.own_parts import one_of
from service.forms.reading import Json, Path, fault_at

LEVELS = ("level_dbmv", "level_dbuv", "level_dbm")


@dataclass(slots=True, kw_only=True)
class FeedsForm:
    """Feeds read so far, the positions their carriers have in the document, and complaints."""

    feeds: list[Feed] = field(default_factory=list)
    carrier_positions: list[list[int]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def level_dbmv(row: Json, prefix: str = "level") -> float | None:
    """A level in whichever unit the document has it, as dBmV; None where it has none that can be used."""
    if f"{prefix}_dbmv" in row:
        return float(row[f"{prefix}_dbmv"])
    if f"{prefix}_dbuv" in row:
        return float(dbmv_from_dbuv(float(row[f"{prefix}_dbuv"])))
    if f"{prefix}_dbm" in row:
        return float(dbmv_from_dbm(float(row[f"{prefix}_dbm"])))
    return None


def read_feed(
    form: FeedsForm, document: Json, row: Json, path: Path, name: str, known: Known, plan: str
) -> None:
    """Add one feed of the document, with what of its carriers can be used."""
    raw = document["feeds"][path[1]]
    if "max_level_dbmv" in raw and "max_level_dbuv" in raw:
        form.faults += one_of(document, raw, path, ("max_level_dbmv", "max_level_dbuv"))
    plan_id = row.get("plan", plan)
    if "plan" in row and row["plan"] not in known.plans:
        form.faults.append(_unknown_plan(document, (*path, "plan"), known))
    carriers: list[FeedCarrier] = []
    positions: list[int] = []
    for position, entry in enumerate(row.get("carriers", ())):
        place = (*path, "carriers", position)
        item = raw["carriers"][position]
        if not isinstance(item, dict):
            continue
        form.faults += one_of(document, item, place, LEVELS)
        carrier = _carrier(form.faults, document, item, entry, place, known, plan_id)
        if carrier is not None:
            level = level_dbmv(entry)
            carriers.append(
                FeedCarrier(
                    carrier=carrier, level_dbmv=0.0 if level is None else level, cn_db=entry.get("cn_db")
                )
            )
            positions.append(position)
    form.feeds.append(
        Feed(
            id=name,
            carriers=tuple(carriers),
            outputs=row.get("outputs", 1),
            output_isolation_db=row.get("output_isolation_db", 30.0),
            kind=row.get("kind", "off-air"),
            max_level_dbmv=level_dbmv(row, "max_level"),
        )
    )
    form.carrier_positions.append(positions)


def _carrier(
    faults: list[Fault], document: Json, raw: Json, row: Json, path: Path, known: Known, plan_id: str
) -> Carrier | None:
    """The carrier of one entry, or None where it isn't clear which is meant; then a complaint stands."""
    found = one_of(document, raw, path, ("channel", "frequency_mhz"))
    faults += found
    if found:
        return None
    if "channel" in raw:
        alone = [name for name in ("low_mhz", "high_mhz") if name in raw]
        for name in alone:
            wrong, right = (
                "the channel plan has the edges of a channel",
                "a frequency instead of a channel, or no edges",
            )
            faults.append(fault_at(document, (*path, name), code="not-together", wrong=wrong, right=right))
        return _channel(faults, document, row, path, known, plan_id) if "channel" in row else None
    if "service" not in raw:
        right = f"one of {', '.join(sorted(known.services))}"
        wrong = "a carrier by frequency needs a service"
        faults.append(fault_at(document, (*path, "service"), code="missing", wrong=wrong, right=right))
    if "frequency_mhz" not in row or "service" not in row:
        return None
    frequency = float(row["frequency_mhz"])
    return Carrier(
        id=row.get("id", f"{frequency:g}"),
        frequency_mhz=frequency,
        low_mhz=row.get("low_mhz", frequency),
        high_mhz=row.get("high_mhz", frequency),
        service=row["service"],
    )


def _channel(
    faults: list[Fault], document: Json, row: Json, path: Path, known: Known, plan_id: str
) -> Carrier | None:
    if "plan" in row:
        plan_id = row["plan"]
        if plan_id not in known.plans:
            faults.append(_unknown_plan(document, (*path, "plan"), known))
            return None
    if plan_id not in known.plans:
        if not plan_id:
            wrong, right = "no channel plan is named", "a plan in the rules, the feed or the carrier"
            faults.append(
                fault_at(document, (*path, "channel"), code="unknown-plan", wrong=wrong, right=right)
            )
        return None
    plan = known.plans[plan_id]
    channel: Channel | None = plan.channel(row["channel"])
    if channel is None:
        names = [one.id for one in plan.channels]
        right = f"one of {', '.join(names[:4])} ... {names[-1]}"
        wrong = f"plan {plan_id} has no such channel"
        faults.append(
            fault_at(document, (*path, "channel"), code="unknown-channel", wrong=wrong, right=right)
        )
        return None
    return Carrier(
        id=row.get("id", channel.id),
        frequency_mhz=channel.frequency_mhz,
        low_mhz=channel.low_mhz,
        high_mhz=channel.high_mhz,
        service=row.get("service", plan.service),
    )


def _unknown_plan(document: Json, path: Path, known: Known) -> Fault:
    right = f"one of {', '.join(sorted(known.plans))}"
    return fault_at(document, path, code="unknown-plan", wrong="there is no such channel plan", right=right)


def rules_plan(document: Json, rules: Json, known: Known) -> tuple[str, list[Fault]]:
    """The plan that the rules name; a name that is wrong is complained about once, here."""
    plan = rules.get("plan", "")
    if plan and plan not in known.plans:
        return plan, [_unknown_plan(document, ("rules", "plan"), known)]
    return plan, []
