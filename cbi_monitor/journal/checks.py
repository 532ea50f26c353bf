"""What entries must keep to together: one id one entry, one opening, targets that are there, lines that a bag hung on.

Every check is a question to a set of entries, never to their order of arrival, so that a journal and the file that is
exported from it are judged alike. An entry that was accepted stays acceptable, whatever is added later.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import ValidationError

from cbi_monitor.journal.words import refusal, refusals_of
from cbi_monitor.model.canonical import canonical_bytes, overlaid
from cbi_monitor.model.events import (
    BagDown,
    BagHung,
    BagRead,
    Corrected,
    Event,
    InflowSet,
    IrrigantLost,
    IrrigantRunIn,
    LineClamped,
    LineOpened,
    SessionOpened,
    StruckOut,
    line_of,
)
from cbi_monitor.model.findings import Refusal
from cbi_monitor.model.instants import format_instant, parse_instant, utc

NEED_A_BAG = (BagRead, BagDown, LineOpened, LineClamped)
"""Kinds that mean nothing on a line on which no bag was ever hung."""

NEED_A_BAG_AMONG_BAGS = (InflowSet, IrrigantRunIn, IrrigantLost)
"""Kinds that may name a line in a chart that gives volumes and no bags, but not a strange line among hung bags.

Stopping and starting are in neither list: that the inflow was stopped is taken down whatever the line is called.
"""


@dataclass(frozen=True, slots=True)
class Placed:
    """An event and where it came from: a file and line, or nothing."""

    event: Event
    where: str = ""
    line: int = 0


def without_twins(entries: Iterable[Placed]) -> tuple[list[Placed], list[Refusal]]:
    """The entries with identical ones taken once, and a refusal for every two that differ under one id."""
    first: dict[str, tuple[bytes, Placed]] = {}
    kept: list[Placed] = []
    clashes: list[Refusal] = []
    for entry in entries:
        known = first.get(entry.event.id)
        if known is None:
            first[entry.event.id] = (canonical_bytes(entry.event), entry)
            kept.append(entry)
        elif known[0] != canonical_bytes(entry.event):
            clashes.append(id_taken(entry, _place_of(known[1])))
    return kept, clashes


def id_taken(entry: Placed, by: str) -> Refusal:
    """The refusal of an entry whose id another entry already has."""
    return _refuse(entry, "id-taken", field="id", id=entry.event.id, by=by)


def _place_of(entry: Placed) -> str:
    return f"{entry.where}:{entry.line}" if entry.line else entry.where or "-"


def _refuse(entry: Placed, kind: str, *, field: str = "", **facts: Any) -> Refusal:
    return refusal(kind, where=entry.where, line=entry.line, field=field, **facts)


def laid_over(entry: Event, corrections: Iterable[Corrected]) -> Event:
    """The entry with its corrections laid over in order of (``recorded``, ``id``). Raises pydantic.ValidationError."""
    for correction in sorted(corrections, key=lambda c: (utc(c.typed_at), c.id)):
        entry = type(entry).model_validate(overlaid(entry, correction.fields))
    return entry


def corrected_or_refused(
    entry: Event, corrections: Iterable[Corrected], *, where: str = ""
) -> Event | tuple[Refusal, ...]:
    """The entry with its corrections laid over; or, in plain words and by field, why it would be refused then."""
    for correction in sorted(corrections, key=lambda c: (utc(c.typed_at), c.id)):
        payload = overlaid(entry, correction.fields)
        try:
            entry = type(entry).model_validate(payload)
        except ValidationError as fault:
            return refusals_of(fault, type(entry), payload, where=where, line=0, text="")
    return entry


def together(
    entries: Sequence[Placed], *, new: frozenset[str] | None = None, complete: bool = True
) -> list[Refusal]:
    """What is wrong with these entries as a set; twins are already out.

    ``new``: report only on the entries of these ids (the others stand already). ``complete`` false: some lines could
    not be read, so that an entry may only seem to be missing; what needs it is then not reported.
    """
    chart = _Chart(entries, new or frozenset())
    found = [*_second_openings(chart)]
    if complete:
        found.extend(_changes(chart))
        found.extend(_strange_lines(chart))
    return [fault for entry, fault in found if new is None or entry.event.id in new]


Found = tuple[Placed, Refusal]


class _Chart:
    """Entries by id, and what was laid over each."""

    def __init__(self, entries: Sequence[Placed], new: frozenset[str]) -> None:
        self.entries = entries
        self.new = new
        self.by_id = {entry.event.id: entry for entry in entries}
        self.struck = {e.event.target for e in entries if isinstance(e.event, StruckOut)}
        self.corrections: dict[str, list[Placed]] = defaultdict(list)
        for entry in entries:
            if isinstance(entry.event, Corrected):
                self.corrections[entry.event.target].append(entry)
        for stack in self.corrections.values():
            stack.sort(key=lambda e: (utc(e.event.typed_at), e.event.id))
        self.versions: dict[str, list[tuple[Placed, Event]]] = {}
        """Of each entry: as written, then as each correction that stands leaves it, with who said so."""


def _second_openings(chart: _Chart) -> Iterator[Found]:
    opened: dict[str, Placed] = {}
    for entry in chart.entries:
        if not isinstance(entry.event, SessionOpened):
            continue
        session = entry.event.session
        if session in opened:
            first = opened[session]
            at = format_instant(first.event.at)
            fault = _refuse(
                entry, "opened-twice", field="session", session=session, at=at, by=_place_of(first)
            )
            yield entry, fault
        else:
            opened[session] = entry


def _changes(chart: _Chart) -> Iterator[Found]:
    for entry in chart.entries:
        change = entry.event
        if not isinstance(change, (Corrected, StruckOut)):
            continue
        target = chart.by_id.get(change.target)
        if target is None or target.event.session != change.session:
            fault = _refuse(
                entry, "unknown-target", field="target", target=change.target, session=change.session
            )
            yield entry, fault
        elif isinstance(change, Corrected) and isinstance(target.event, (Corrected, StruckOut)):
            kind = "corrects-a-correction" if isinstance(target.event, Corrected) else "corrects-a-strike-out"
            yield entry, _refuse(entry, kind, field="target", target=change.target)
        elif isinstance(change, StruckOut) and isinstance(target.event, StruckOut):
            yield entry, _refuse(entry, "strikes-a-strike-out", field="target", target=change.target)
    for target_id in chart.corrections:
        target = chart.by_id.get(target_id)
        if target is not None and not isinstance(target.event, (Corrected, StruckOut)):
            yield from _lay_over(chart, target)


def _lay_over(chart: _Chart, target: Placed) -> Iterator[Found]:
    """Each standing correction in turn; the first after which the entry would be refused is reported, and by which."""
    versions = [(target, target.event)]
    chart.versions[target.event.id] = versions
    for entry in chart.corrections[target.event.id]:
        change = entry.event
        if (
            change.id in chart.struck
            or not isinstance(change, Corrected)
            or change.session != target.event.session
        ):
            continue
        before = versions[-1][1]
        payload = overlaid(before, change.fields)
        try:
            versions.append((entry, type(before).model_validate(payload)))
        except ValidationError as fault:
            reasons = refusals_of(fault, type(before), payload, where=entry.where, line=entry.line, text="")
            for reason in reasons:
                field = f"fields.{reason.field}" if reason.field else "fields"
                told = Refusal(
                    entry.where, entry.line, 0, field, _corrected_what(change, reason), reason.write
                )
                yield entry, told
            yield from _blamed(chart, target, entry)
            return


def _corrected_what(change: Corrected, reason: Refusal) -> str:
    from cbi_monitor.wording import say

    return say("refusal-journal-corrected-entry-what", target=change.target, what=reason.what)


def _blamed(chart: _Chart, target: Placed, said: Placed) -> Iterator[Found]:
    """Where an entry that stands already would be refused: the new changes that brought it to that."""
    if said.event.id in chart.new:
        return
    stack = {entry.event.id for entry in chart.corrections[target.event.id]}
    for entry in chart.entries:
        change = entry.event
        if change.id in chart.new and isinstance(change, (Corrected, StruckOut)):
            if change.id in stack or change.target in stack:
                facts = {"target": target.event.id, "other": said.event.id}
                yield entry, _refuse(entry, "change-breaks", field="target", **facts)


def _strange_lines(chart: _Chart) -> Iterator[Found]:
    hung: dict[str, list[tuple[datetime, datetime, str]]] = defaultdict(list)
    for entry in chart.entries:
        if isinstance(entry.event, BagHung):
            hung[entry.event.session].extend(_hangings(chart, entry.event))
    for entry in chart.entries:
        versions = chart.versions.get(entry.event.id, [(entry, entry.event)])
        said, version = versions[-1]
        if _is_strange(version, hung[version.session]):
            lines = sorted({line for _, _, line in hung[version.session]})
            kind = "strange-line" if lines else "line-without-bag"
            field = "line" if said is entry else "fields.line"
            at = format_instant(version.at)
            fault = _refuse(
                said,
                kind,
                field=field,
                line_name=line_of(version),
                event=version.event,
                at=at,
                lines=", ".join(lines),
            )
            yield said, fault
            yield from _blamed(chart, entry, said)


def _hangings(chart: _Chart, bag: BagHung) -> Iterator[tuple[datetime, datetime, str]]:
    """When and on which line a bag hung by anything that was ever said of it, struck out or not; and when typed.

    Reads that were taken on the word of a correction stay acceptable when the correction is struck out.
    """
    changes = [entry.event for entry in chart.corrections[bag.id] if isinstance(entry.event, Corrected)]
    times = [utc(bag.at)]
    for change in changes:
        with suppress(ValueError):
            times.append(utc(parse_instant(str(change.fields["at"])) if "at" in change.fields else bag.at))
    lines = {bag.line, *(str(change.fields["line"]) for change in changes if change.fields.get("line"))}
    for line in lines:
        yield min(times), utc(bag.typed_at), line


def _is_strange(event: Event, hung: Sequence[tuple[datetime, datetime, str]]) -> bool:
    line = line_of(event)
    if not line:
        return False
    at = utc(event.at)
    if isinstance(event, NEED_A_BAG):
        return not any(name == line and since <= at for since, _, name in hung)
    if isinstance(event, NEED_A_BAG_AMONG_BAGS):
        # Only bags that were on the chart when this was typed: one that is charted late makes nothing wrong afterwards.
        typed = utc(event.typed_at)
        on_chart = any(since <= at and known <= typed for since, known, _ in hung)
        return on_chart and not any(name == line for _, _, name in hung)
    return False
