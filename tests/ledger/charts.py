"""Charts written in a few words for the tests of the ledger: entries of one invented session."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from typing import Any

from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.canonical import with_derived_ids
from cbi_monitor.model.events import BY_NAME, Event
from cbi_monitor.settings import load_scale, load_ward

START = datetime(2026, 3, 2, 7, 0, tzinfo=UTC)
WARD, SCALE = load_ward(), load_scale()


def entry(kind: str, minute: float, **fields: Any) -> Event:
    """One entry, ``minute`` minutes after the start."""
    payload = {"event": kind, "session": "s", "at": (START + timedelta(minutes=minute)).isoformat(), **fields}
    return BY_NAME[kind].model_validate(payload)


def opening(weight_kg: float = 78, line: str = "A", label_ml: float = 3000, **more: Any) -> list[Event]:
    """Opened, drainage bag on, one bag up."""
    return [
        entry("session_opened", 0, patient="r1", weight_kg=weight_kg, **more),
        entry("drainage_bag_placed", 0, capacity_ml=4000),
        entry("bag_hung", 0, line=line, label_ml=label_ml, fluid="saline_0_9"),
    ]


def check(minute: float, drained: float, *, how: str = "steady", **lines: float) -> list[Event]:
    """A check with volumes: contents of the drainage bag, what is left on each line, and a look."""
    name = f"c{minute}"
    read = [entry("bag_read", minute, line=line, left_ml=left, check=name) for line, left in lines.items()]
    look = entry("outflow_seen", minute, running=how != "none", how=how, check=name, by="K.M.")
    return [*read, entry("drainage_read", minute, contents_ml=drained, check=name), look]


def account(events: Iterable[Event], ward: Any = None) -> Ledger:
    """The ledger of these entries."""
    ledger = Ledger("s", ward or WARD, SCALE)
    ledger.fold_all(with_derived_ids(events))
    return ledger
