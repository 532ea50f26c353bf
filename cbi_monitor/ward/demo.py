"""The demo ward: the shipped invented sessions, shifted in time so that they end now, in a journal of their own.

It never opens the ward's journal: its journal is made in a new temporary folder, and goes with it.
"""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta, tzinfo
from pathlib import Path
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from cbi_monitor import __version__
from cbi_monitor.alerts.replay import replay
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import (
    AlertCleared,
    AlertShown,
    Corrected,
    Event,
    SessionDetails,
    SessionOpened,
    ThresholdsInForce,
    WatchStarted,
)
from cbi_monitor.model.instants import parse_instant, utc
from cbi_monitor.resources import demo_sessions
from cbi_monitor.ward.clock import Clock, SystemClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.entries import entry, stamped
from cbi_monitor.ward.ids import new_id
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording.alerts import numbers_of

E = TypeVar("E", bound=Event)

APART = timedelta(minutes=3)
"""So much earlier than the one before each bed's last entry lies: a nurse walks from bed to bed."""


def demo_desk(
    now: datetime,
    clock: Clock | None = None,
    *,
    in_force: InForce | None = None,
    files: Sequence[Path] | None = None,
    beds: int | None = None,
) -> Desk:
    """A desk over the demo ward, watching, as if the screen had been open all the time.

    ``clock``: the desk's clock from now on (default: the workstation's). ``files``: other session files. ``beds``: fill
    the ward up to so many beds with copies. Raises FileNotFoundError where the demo sessions are not installed, Refused
    where one cannot be read.
    """
    rules = in_force or InForce()
    charts = [read_session_file(file) for file in (files if files is not None else demo_sessions())]
    sessions = list(_ending_now(charts, now, rules.zone))
    if beds is not None:
        sessions = list(_crowded(sessions, beds))
    folder = Path(tempfile.mkdtemp(prefix="cbi-monitor-demo-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    journal = SqliteJournal(folder / "demo.db", workstation="demo")
    for events in sessions:
        journal.append([*events, *as_watched(events, rules, now)])
    desk = Desk(journal, rules, clock or SystemClock(), demo=True)
    desk.start()
    return desk


def _ending_now(charts: Iterable[Sequence[Event]], now: datetime, zone: ZoneInfo) -> Iterator[list[Event]]:
    for place, events in enumerate(charts):
        last = max(max(utc(event.at), utc(event.typed_at)) for event in events)
        by = utc(now) - place * APART - timedelta(minutes=1) - last
        # Whole minutes, so that what was charted at 14:05 sharp still is at a sharp minute.
        whole = timedelta(minutes=by // timedelta(minutes=1))
        yield [shifted(event, whole, zone) for event in events]


def shifted(event: E, by: timedelta, zone: tzinfo) -> E:
    """The same entry, every instant in it moved by a span and told with the ward's offset of its new time."""

    def moved(at: datetime) -> datetime:
        return (utc(at) + by).astimezone(zone)

    changed: dict[str, Any] = {}
    for name in event.model_fields_set:
        value = getattr(event, name)
        if isinstance(value, datetime):
            changed[name] = moved(value)
    if isinstance(event, Corrected):
        changed["fields"] = {name: _moved_text(value, moved) for name, value in event.fields.items()}
    return event.model_copy(update=changed)


def _moved_text(value: Any, moved: Any) -> Any:
    if not isinstance(value, str):
        return value
    try:
        return moved(parse_instant(value)).isoformat()
    except ValueError:
        return value


def as_watched(events: Sequence[Event], rules: InForce, now: datetime) -> list[Event]:
    """What a screen that was open all the time would have journalled beside these entries, up to ``now``."""
    session, start = events[0].session, min(utc(event.at) for event in events)
    words = Words(rules.zone, rules.scale)
    told = replay(events, rules.ward, rules.scale, rules.thresholds, until=now, session=session)
    said: list[Event] = [
        entry(WatchStarted, session, start, None, version=__version__),
        entry(
            ThresholdsInForce,
            session,
            start,
            None,
            text=rules.thresholds_text,
            hash=rules.thresholds_hash,
            version=__version__,
        ),
    ]
    for change in told.changes:
        if change.kind == "came_back":
            continue
        state = change.state
        figures = state.cleared_figures or state.figures
        said.append(
            entry(
                AlertCleared if change.kind == "cleared" else AlertShown,
                session,
                change.at,
                None,
                alert=state.id,
                condition=state.condition,
                subject=state.subject,
                priority=state.priority,
                numbers={**numbers_of(state.reading, figures), "spoken_by": state.spoken_by},
                text=words.alert(state, change.at),
            )
        )
    return [stamped(event, new_id(event.at), event.at) for event in said]


def _crowded(sessions: Sequence[list[Event]], beds: int) -> Iterator[list[Event]]:
    """Copies of the sessions under other names until there are so many."""
    for place in range(beds):
        events = sessions[place % len(sessions)]
        turn = place // len(sessions)
        yield events if turn == 0 else [_copied(event, turn, place) for event in events]


def _copied(event: Event, turn: int, place: int) -> Event:
    """The entry as another patient's: other ids, another bed, another reference."""
    changed: dict[str, Any] = {"session": f"{event.session}-{turn}", "id": _other_id(event.id, turn)}
    for name in ("target", "check"):
        if getattr(event, name, None):
            changed[name] = _other_id(getattr(event, name), turn)
    if isinstance(event, (SessionOpened, SessionDetails)):
        if event.bed:
            changed["bed"] = f"{place + 1}"
        if event.patient:
            changed["patient"] = f"{event.patient}-{turn}"
    finding = getattr(event, "finding", None)
    if finding:
        kind, _, target = finding.partition(":")
        changed["finding"] = f"{kind}:{_other_id(target, turn)}"
    return event.model_copy(update=changed)


def _other_id(entry_id: str, turn: int) -> str:
    return f"{entry_id}-{turn}"
