"""When nothing serves all: the smallest changes that might, each tried, not guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations

from service.engine.building.places import Building
from service.engine.placement.place import Candidate, place
from service.engine.placement.price import SWITCHES
from service.engine.placement.proposal import Rescue
from service.engine.placement.propose import propose
from service.engine.placement.site import Site, survey

#: Closets that a further powered place is tried at, spread over the building.
MOST_POWER_TRIES = 3
#: How far the design window is opened to see whether the limits themselves are kept.
OPENINGS_DB = (1.5, 4.0)
#: The larger cable.
LARGE_SERIES = "11"
#: How much stronger a feed is tried, in turn, in dB; then halved down to one decibel.
STRONGER_DB = (3.0, 6.0, 12.0, 24.0)
#: How much stronger a feed is in a pair of changes.
PAIRED_DB = 12.0
#: Pairs tried where no change alone does it.
MOST_PAIRS = 6
#: What a rule is called in a change.
RULE_NAMES = {
    "margins": "design margins off (limits themselves)",
    "spare": "no spare ports and no reserve at flats",
    "no_trimming_at_outlets": "parts that trim levels allowed in panels",
    "isolation": "isolation between users left to the exact check",
    "fault_domain": "longer legs allowed",
    "box_size": "boxes of closets and panels as large as needed",
    "accessible_places": "devices in places that are not locked",
    "most_amplifiers_in_series": "more amplifiers in series",
    "amplifiers_on_house_power": "house power wherever an amplifier is wanted",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """A change of the building by name. Two of one `kind` are never tried as a pair."""

    name: str
    kind: str
    make: Callable[[Building], Building]


def _powering(places: frozenset[str]) -> Callable[[Building], Building]:
    """Gives these places house power too."""

    def make(building: Building) -> Building:
        rows = tuple(replace(row, mains=True) if row.id in places else row for row in building.places)
        return replace(building, places=rows)

    return make


def _stronger(by_db: float) -> Callable[[Building], Building]:
    """Raises every carrier of the feed."""

    def make(building: Building) -> Building:
        feed = building.feed
        most = None if feed.max_level_dbmv is None else feed.max_level_dbmv + by_db
        lines = tuple(replace(line, level_dbmv=line.level_dbmv + by_db) for line in feed.carriers)
        return replace(building, feed=replace(feed, carriers=lines, max_level_dbmv=most))

    return make


def changes(site: Site, found: Candidate) -> Iterator[Change]:
    """Changes worth trying, the smallest first: power, cable, then rules of the policy."""
    yield from _power(site)
    building = site.building
    priced = {cable.series for cable in site.catalogue.cables if site.tariff.prices_cable(cable.id)}
    if LARGE_SERIES in priced:
        if building.wishes.riser_cable not in (LARGE_SERIES, None):
            yield Change(
                name=f"series {LARGE_SERIES} in the riser",
                kind="riser",
                make=lambda one: replace(one, wishes=replace(one.wishes, riser_cable=LARGE_SERIES)),
            )
        if building.wishes.drop_cable != LARGE_SERIES:
            yield Change(
                name=f"series {LARGE_SERIES} from closet to outlet",
                kind="drop",
                make=lambda one: replace(one, wishes=replace(one.wishes, drop_cable=LARGE_SERIES)),
            )
    for switch in SWITCHES:
        if switch.rule != "amplifiers_on_house_power" and switch.binds(site, found):
            yield Change(name=RULE_NAMES[switch.rule], kind=switch.rule, make=switch.off)


def _power(site: Site) -> Iterator[Change]:
    """House power at the head-end, at the head of each riser, at closets along it."""
    closets = site.layout.closets
    rows = [closet.place for closet in closets]
    if not rows[0].mains:
        yield Change(
            name=f"house power at the head-end {rows[0].id}",
            kind="head-end power",
            make=_powering(frozenset({rows[0].id})),
        )
    dark = [row.id for row in rows[1:] if not row.mains and row.kind == "closet"]
    tried = {dark[number * len(dark) // (MOST_POWER_TRIES + 1)] for number in range(1, 4)} if dark else set()
    for name in sorted(tried, key=dark.index):
        yield Change(name=f"house power at {name}", kind="power", make=_powering(frozenset({name})))
    heads = {
        row.id
        for closet in closets
        if len(closet.children) > 1
        for row in (closets[child].place for child in closet.children)
    }
    several = [heads & set(dark), set(dark[:: max(1, len(dark) // 4)]) if len(dark) > 1 else set()]
    for names in several:
        if len(names) > 1:
            named = ", ".join(sorted(names))
            yield Change(name=f"house power at {named}", kind="power", make=_powering(frozenset(names)))


def try_rescues(site: Site, found: Candidate) -> tuple[Rescue, ...]:
    """Design the building under each change and say what came of it; pairs of changes where none alone does it."""
    listed = list(changes(site, found))
    told = [_tried(site, change) for change in listed]
    told += _feed(site)
    if not any(rescue.works for rescue in told):
        listed.insert(1, _feed_change(PAIRED_DB))
        pairs = [pair for pair in combinations(listed, 2) if pair[0].kind != pair[1].kind]
        for first, second in pairs[:MOST_PAIRS]:
            told.append(_tried(site, _both(first, second)))
            if told[-1].works:
                break
    return tuple(told)


def _both(first: Change, second: Change) -> Change:
    return Change(
        name=f"{first.name}, and {second.name}",
        kind="pair",
        make=lambda building: second.make(first.make(building)),
    )


def _tried(site: Site, change: Change) -> Rescue:
    """Design the changed building with quick effort."""
    building = change.make(site.building)
    quick = replace(building, wishes=replace(building.wishes, effort="quick"))
    changed = survey(
        quick, site.layout.route, site.catalogue, site.tariff, site.limits, site.services, site.keep
    )
    placed = place(changed, openings=OPENINGS_DB)
    if placed is None:
        note = f"still no network comes within {OPENINGS_DB[-1]:g} dB of the design window"
        return Rescue(change=change.name, works=False, cost_cents=None, note=note)
    proposal = propose(changed, placed)
    works = proposal.serves_all
    miss = f"still misses the window by {placed.solution.miss_db:.1f} dB"
    serves = "serves every outlet"
    if not placed.fits:
        serves += f", {placed.solution.miss_db:.1f} dB outside the design window"
    broken = next((row.text for row in proposal.findings if row.severity == "breaks"), miss)
    return Rescue(
        change=change.name,
        works=works,
        cost_cents=proposal.cost_cents if works else None,
        note=serves if works else broken,
    )


def _feed_change(by_db: float) -> Change:
    name = f"a feed {by_db:g} dB stronger, by antenna, provider or a pre-amplifier of low noise"
    return Change(name=name, kind="feed", make=_stronger(by_db))


def _feed(site: Site) -> list[Rescue]:
    """How many decibels more the feed would have to bring, to one decibel; what is short of that doesn't do."""
    best: Rescue | None = None
    low_db, high_db = 0.0, 0.0

    for by_db in STRONGER_DB:
        rescue = _tried(site, _feed_change(by_db))
        if rescue.works:
            best, high_db = rescue, by_db
            break
        low_db = by_db
    if best is None:
        return [replace(rescue, note=f"up to that: {rescue.note}")]
    while high_db - low_db > 1.0:
        middle = float(round((low_db + high_db) / 2.0))
        rescue = _tried(site, _feed_change(middle))
        if rescue.works:
            best, high_db = rescue, middle
        else:
            low_db = middle
    return [best]
