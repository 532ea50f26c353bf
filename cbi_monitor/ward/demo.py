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

from cbi_monitor.alerts.replay import Change
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import (
    AlertCleared,
    AlertShown,
    Corrected,
    Event,
    SessionDetails,
    SessionOpened,
)
from cbi_monitor.model.instants import parse_instant, utc
from cbi_monitor.resources import demo_sessions
from cbi_monitor.ward.clock import Clock, SystemClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.entries import stamped
from cbi_monitor.ward.ids import new_id
from cbi_monitor.ward.outcomes import NotWatching
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.ward.shown import shown_event
from cbi_monitor.ward.watch import Watch

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
    settled: bool = True,
) -> Desk:
    """A desk over the demo ward, watching, as if the screen had been open all the time.

    ``clock``: the desk's clock from now on (default: the workstation's). ``files``: other session files. ``beds``: fill
    the ward up to so many beds with copies. ``settled``: see ``Desk.start``.

    Raises FileNotFoundError where the demo sessions are not installed, Refused
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
        journal.append(events)
    desk = _DemoDesk(journal, rules, clock or SystemClock())
    desk.start(settled=settled)
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


class _DemoDesk(Desk):
    """A desk that journals what a screen open all the time would have shown: for invented sessions."""

    def __init__(self, journal: SqliteJournal, in_force: InForce, clock: Clock) -> None:
        super().__init__(journal, in_force, clock, demo=True)
        self._history: list[Event] = []
        self._loading = True

    def start(self, *, settled: bool = True) -> NotWatching:
        """Load, and put into the journal what was shown on the way."""
        told = super().start(settled=settled)
        self._loading = not settled
        return told

    def settle(self, seconds: float = 0.02) -> bool:
        """Step on; see the desk's own."""
        done = super().settle(seconds)
        self._loading = self._loading and not done
        return done

    def _watch_begins(self, session: str, now: datetime) -> list[Event]:
        opening = self.watch(session).opening
        start = utc(opening.at) if self._loading and opening is not None else now
        return [*super()._watch_begins(session, start), *self._pop_history(session)]

    def _has_settled(self, watch: Watch, now: datetime) -> None:
        self._stepped(watch.pop_changes())
        self._append_own(self._pop_history(watch.session), now)
        super()._has_settled(watch, now)

    def _pop_history(self, session: str) -> list[Event]:
        mine = [event for event in self._history if event.session == session]
        self._history = [event for event in self._history if event.session != session]
        return mine

    def _stepped(self, changes: Sequence[Change]) -> None:
        if not self._loading:
            return
        for change in changes:
            if change.kind == "came_back":
                continue
            kind = AlertCleared if change.kind == "cleared" else AlertShown
            figures = change.state.cleared_figures or change.state.figures
            event = shown_event(kind, change.state, figures, self.words, change.at)
            self._history.append(stamped(event, new_id(change.at), change.at))


def _crowded(sessions: Sequence[list[Event]], beds: int) -> Iterator[list[Event]]:
    """Copies of the sessions under other names until there are so many."""
    for place in range(beds):
        events = sessions[place % len(sessions)]
        turn = place // len(sessions)
        yield events if turn == 0 else [_copied(event, turn) for event in events]


def _copied(event: Event, turn: int) -> Event:
    """The entry as another patient's: other ids, another bed, another reference."""
    changed: dict[str, Any] = {"session": f"{event.session}-{turn}", "id": _other_id(event.id, turn)}
    for name in ("target", "check"):
        if getattr(event, name, None):
            changed[name] = _other_id(getattr(event, name), turn)
    if isinstance(event, (SessionOpened, SessionDetails)):
        if event.bed:
            changed["bed"] = f"{event.bed}-{turn + 1}"
        if event.patient:
            changed["patient"] = f"{event.patient}-{turn}"
    finding = getattr(event, "finding", None)
    if finding:
        kind, _, target = finding.partition(":")
        changed["finding"] = f"{kind}:{_other_id(target, turn)}"
    return event.model_copy(update=changed)


def _other_id(entry_id: str, turn: int) -> str:
    return f"{entry_id}-{turn}"
