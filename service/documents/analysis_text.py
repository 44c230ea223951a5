"""An analysis for people at a terminal: does it serve all, what is left, what is wrong, and the answers."""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator
from typing import Literal

from service.documents.analysis import AnalysisFace, OutletFace
from service.engine.checks.margins import Edge
from service.engine.findings import Finding
from service.engine.signal.units import DBUV_AT_0_DBMV

LevelUnit = Literal["dBmV", "dBµV"]
WIDTH = 100
MOST_OUTLETS = 40
MOST_NAMES = 12
_EDGES = {"low": "above the lower limit", "high": "below the upper limit"}
_HEADS = ("outlet", "unit", "lowest", "on", "highest", "on", "over low", "under high", "C/(N+I)", "verdict")
_LEFT = (0, 1, 3, 5, 9)


def analysis_text(
    face: AnalysisFace, *, level_unit: LevelUnit = "dBmV", most_outlets: int = MOST_OUTLETS
) -> str:
    """The analysis in lines of at most `WIDTH` characters where names allow it.

    The table has levels in `level_unit`, the outlets with the least left first, at most `most_outlets`.
    """
    parts = [
        _head(face),
        _verdict(face),
        _table(face, level_unit, most_outlets),
        _findings(face),
        _answers(face),
    ]
    return "\n\n".join("\n".join(lines) for lines in (list(part) for part in parts) if lines) + "\n"


def _wrapped(text: str, indent: str, first: str | None = None) -> list[str]:
    first = indent if first is None else first
    return textwrap.wrap(
        text,
        WIDTH,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )


def _head(face: AnalysisFace) -> Iterator[str]:
    title = f"{face.name} ({face.network})" if face.name else face.network
    yield title
    yield "=" * min(len(title), WIDTH)
    points = sorted({carrier.point for carrier in face.carriers if carrier.point})
    at = f", at the {' and the '.join(points)}" if points else ""
    yield from _wrapped(f"Judged by limits {face.limits}{at}.", "")
    if face.statement:
        yield from _wrapped(face.statement, "")
    if face.source:
        yield from _wrapped(f"Source: {face.source}", "")


def _verdict(face: AnalysisFace) -> Iterator[str]:
    count, carriers = len(face.outlets), len(face.carriers)
    on = f"on {carriers} carriers" if carriers > 1 else "on one carrier"
    outside = sum(not outlet.inside for outlet in face.outlets)
    broken = sorted({finding.rule for finding in face.findings if finding.severity == "breaks"})
    if face.serves_all:
        noun = f"all {count} outlets are" if count > 1 else "the outlet is"
        yield f"SERVED      {noun} inside the limits {on}"
    else:
        share = f"{outside} of {count} outlets outside their level limits {on}"
        yield f"NOT SERVED  {share if outside else 'levels are inside the limits ' + on}"
        yield from _wrapped(f"limits broken: {', '.join(broken)}", " " * 12)
    for word, edge in (("worst", face.worst), ("best", face.best)):
        if edge is not None:
            yield f"{word:<12}{_edge(edge)}"
    if face.spread is not None:
        share = f"{100.0 * face.spread.yield_share:.1f} %"
        text = f"every outlet passes in {share} of {face.spread.draws} draws"
        yield f"{'tolerances':<12}{text}"


def _edge(edge: Edge) -> str:
    if edge.margin_db >= 0.0:
        return f"{edge.outlet}: {edge.margin_db:.2f} dB {_EDGES[edge.edge]} on {edge.carrier}"
    side = "under the lower limit" if edge.edge == "low" else "over the upper limit"
    return f"{edge.outlet}: {-edge.margin_db:.2f} dB {side} on {edge.carrier}"


def _least(outlet: OutletFace) -> float:
    margins = [value for value in (outlet.margin_low_db, outlet.margin_high_db) if value is not None]
    return min(margins, default=-999.0)


def _table(face: AnalysisFace, unit: LevelUnit, most: int) -> Iterator[str]:
    names = [carrier.id for carrier in face.carriers]
    ordered = sorted(face.outlets, key=lambda outlet: (_least(outlet), outlet.outlet))
    rows = [_row(outlet, names, unit) for outlet in ordered[:most]]
    columns = [n for n in range(len(_HEADS)) if any(row[n] not in ("", "-") for row in rows)]
    widths = {n: max(len(row[n]) for row in (_HEADS, *rows)) for n in columns}

    def line(row: tuple[str, ...]) -> str:
        cells = (row[n].ljust(widths[n]) if n in _LEFT else row[n].rjust(widths[n]) for n in columns)
        return "  ".join(cells).rstrip()

    yield f"Outlets, least left first; levels in {unit}, the rest in dB"
    yield line(_HEADS)
    yield "  ".join("-" * width for width in widths.values())
    yield from (line(row) for row in rows)
    if len(ordered) > most:
        yield f"... and {len(ordered) - most} outlets with more left; --json has every one"


def _row(outlet: OutletFace, names: list[str], unit: LevelUnit) -> tuple[str, ...]:
    offset = DBUV_AT_0_DBMV if unit == "dBµV" else 0.0
    levels = [
        (level, name) for level, name in zip(outlet.level_dbmv, names, strict=True) if level is not None
    ]
    ratios = [value for value in outlet.cni_db if value is not None]
    return (
        outlet.outlet,
        outlet.unit,
        *_extreme(levels, min, offset),
        *_extreme(levels, max, offset),
        _figure(outlet.margin_low_db),
        _figure(outlet.margin_high_db),
        _figure(min(ratios, default=None)),
        "" if outlet.inside else "outside",
    )


def _extreme(
    levels: list[tuple[float, str]],
    pick: Callable[[list[tuple[float, str]]], tuple[float, str]],
    offset: float,
) -> tuple[str, str]:
    if not levels:
        return "-", ""
    level, name = pick(levels)
    return f"{level + offset:.2f}", name


def _figure(value: float | None) -> str:
    return "-" if value is None else f"{value:.2f}"


def _findings(face: AnalysisFace) -> Iterator[str]:
    yield "Findings, worst first" if face.findings else "No findings."
    for finding in face.findings:
        yield from _wrapped(finding.text or finding.rule, " " * 10, f"  {finding.severity:<8}")
        yield from _wrapped(_where(finding), " " * 10)


def _where(finding: Finding) -> str:
    names = ", ".join(finding.where[:MOST_NAMES])
    more = f" and {len(finding.where) - MOST_NAMES} more" if len(finding.where) > MOST_NAMES else ""
    words = [f"at {names}{more}"] if names else []
    return "; ".join([*words, f"source: {finding.source}"])


def _answers(face: AnalysisFace) -> Iterator[str]:
    yield "Before anyone signs"
    for answer in face.answers:
        yield from _wrapped(answer.asks, "     ", f"  {answer.question:<3}")
        yield from _wrapped(answer.text, "     ")
