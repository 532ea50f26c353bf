"""Lines of session files for the tests: short to write, whole to read."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from cbi_monitor.journal.codec import read_event
from cbi_monitor.model.events import Event

AT = "2026-03-01T07:00:00+00:00"


def line(event: str, entry: str = "", *, session: str = "s", at: str = AT, **fields: Any) -> str:
    """One line of a session file; ``entry`` is its id."""
    told: dict[str, Any] = {"event": event, "session": session, "at": at, **fields}
    if entry:
        told["id"] = entry
    return json.dumps(told, ensure_ascii=False)


def event(kind: str, entry: str, **fields: Any) -> Event:
    """The same as an event."""
    return read_event(json.loads(line(kind, entry, **fields)))


def file_of(folder: Path, *lines: str, name: str = "chart.jsonl") -> Path:
    """A session file of these lines."""
    path = folder / name
    path.write_text("".join(f"{one}\n" for one in lines), encoding="utf-8")
    return path


OPENED = line("session_opened", "open", patient="demo-12")
BAG_A = line("bag_hung", "bag", line="A", label_ml=3000, fluid="saline_0.9")
READ_A = line("bag_read", "read", line="A", left_ml=2100)


def opened(session: str = "s") -> Event:
    return event("session_opened", f"open-{session}", session=session, patient="demo-12")


def bag(name: str = "A", session: str = "s") -> Event:
    return event(
        "bag_hung", f"bag-{session}-{name}", session=session, line=name, label_ml=3000, fluid="saline_0.9"
    )
