"""How the chart would stand "if this is right"."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from cbi_monitor.model.events import Event
from cbi_monitor.model.findings import Refusal
from cbi_monitor.model.instants import utc
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.outcomes import Preview
from cbi_monitor.ward.watch import Watch
from cbi_monitor.ward.wrong_bed import suspicion


def preview_of(
    watch: Watch | None,
    events: Sequence[Event],
    refusals: Sequence[Refusal],
    others: Sequence[Bed],
    now: datetime,
) -> Preview:
    """The row, the standing and the new questions that these entries would make; ``others`` are the other beds.

    ``now`` is the clock; a figure never stands before the last entry.
    """
    if watch is None or refusals:
        return Preview(refusals=tuple(refusals))
    before = watch.ledger
    known = {finding.id for finding in before.findings}
    ledger = before.fork()
    ledger.fold_all(events)
    at = max([now, *(utc(event.at) for event in events)] + ([watch.now] if watch.now else []))
    questions = tuple(finding for finding in ledger.findings if finding.id not in known)
    rows = ledger.rows
    made = None
    if rows and events:
        first = min(utc(event.at) for event in events)
        made = next((row for row in reversed(rows) if row.end >= first), None)
    return Preview(
        row=made,
        standing=ledger.at(at),
        questions=questions,
        refusals=(),
        wrong_bed=suspicion(before.at(at), events, others, at) if others else None,
    )
