"""The desk: the door between the screens and everything below them.

Reading: the beds in order of need, each as it stands. Writing: an entry is checked, appended to the journal, and only
after the commit folded into its ledger. What was shown to whom, by which thresholds, is journalled too. No Qt, and the
time comes from the clock that is handed in.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from functools import partial
from time import perf_counter
from typing import Any

from cbi_monitor import __version__
from cbi_monitor.alerts.replay import Change
from cbi_monitor.journal.port import Fault as JournalFault
from cbi_monitor.journal.port import Journal
from cbi_monitor.model.events import (
    Event,
    SessionOpened,
    ThresholdsInForce,
    WatchStarted,
    WatchStopped,
)
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.ward.acts import Acts
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.clock import Clock
from cbi_monitor.ward.entries import entry, stamped
from cbi_monitor.ward.heartbeat import Heartbeat
from cbi_monitor.ward.ids import IdMaker
from cbi_monitor.ward.log import logger
from cbi_monitor.ward.outcomes import Fault, NotWatching, Outcome, Preview, Rejected, Saved
from cbi_monitor.ward.preview import preview_of
from cbi_monitor.ward.rules import refusals_of
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.ward.shown import changes_to_show
from cbi_monitor.ward.telling import Words
from cbi_monitor.ward.watch import Watch
from cbi_monitor.wording import say

Changed = Callable[[frozenset[str]], None]


class UnknownSession(KeyError):
    """There is no such session on this journal."""


class Desk(Acts):
    """Everything a screen may ask for or do."""

    def __init__(
        self,
        journal: Journal,
        in_force: InForce,
        clock: Clock,
        *,
        demo: bool = False,
        heartbeat: Heartbeat | None = None,
    ) -> None:
        """Take the parts; ``start`` sets to work.

        ``demo``: the screens wear the demo's page colour and mark. ``heartbeat``: where a sign of life is kept, so that
        a start after a power cut can say since when nobody watched.
        """
        self.journal = journal
        self.in_force = in_force
        self.clock = clock
        self.demo = demo
        self.heartbeat = heartbeat
        self.not_watching: NotWatching | None = None
        """For how long nobody watched before ``start``; None before it."""
        self.changed: list[Changed] = []
        self.faults: list[Callable[[Fault], None]] = []
        self._ids = IdMaker()
        self._watches: dict[str, Watch] = {}
        self._beds: dict[str, Bed] = {}
        self._broken: dict[str, str] = {}
        self._seq = 0
        self._now: datetime | None = None
        self._glimpsing = False

    # --- the day's beginning and end ------------------------------------------------------------------------------

    def start(self, *, settled: bool = True) -> NotWatching:
        """Load every session, rebuild the alert states, begin to watch, and say since when nobody did.

        ``settled`` False: show how each bed stands now, and leave it to ``settle`` to step through the stays, so that a
        window need not wait. Raises what the journal raises where it cannot be read; what cannot be written is told to
        ``faults``.
        """
        now = self.clock.now()
        known = self.journal.read_after(0)
        last = max((one.event.typed_at for one in known), default=None)
        self._glimpsing = not settled
        self._absorb(known, now)
        self._glimpsing = False
        self.not_watching = self._last_watched(last, now)
        watching: list[Event] = []
        for session in self.open_sessions:
            watching.extend(self._watch_begins(session, now))
        self._append_own(watching, now)
        self._journal_shown(self._watches, now)
        self.tick(now)
        return self.not_watching

    @property
    def settled(self) -> bool:
        """Whether the alerts of every open bed are stepped through from the beginning of its stay."""
        return all(self._watches[session].settled for session in self.open_sessions)

    def settle(self, seconds: float = 0.02) -> bool:
        """Step on through the stays for so long; the bed that needs someone first goes first. True when all are done.

        Called again and again between other work after ``start(settled=False)``. Only a bed that is done has its alerts
        journalled.
        """
        end = perf_counter() + seconds
        now = self.clock.now()
        for bed in self.beds():
            watch = self._watches[bed.session]
            if watch.settled:
                continue
            done = False
            try:
                done = watch.settle(now, lambda: perf_counter() > end)
            except Exception as cause:  # noqa: BLE001  told and logged, the bed marked; others go on
                self._mark_broken(watch, cause)
                watch.stay_glimpse()
            if done:
                self._now = max(now, self._now) if self._now else now
                self._has_settled(watch, now)
                self._announce({bed.session})
            if perf_counter() > end:
                break
        return self.settled

    def _has_settled(self, watch: Watch, now: datetime) -> None:
        self._stepped(watch.pop_changes())
        self._journal_shown([watch.session], now)

    def stop(self) -> None:
        """Say in the journal that nobody watches any more."""
        now = self.clock.now()
        self._append_own([entry(WatchStopped, session, now, None) for session in self.open_sessions], now)
        if self.heartbeat is not None:
            self.heartbeat.stop(now)

    def _last_watched(self, last_entry: datetime | None, now: datetime) -> NotWatching:
        ends = [watch.last_watch for watch in self._watches.values() if watch.last_watch is not None]
        if not ends:
            return NotWatching(None, now, sessions=self.open_sessions)
        latest = max(ends, key=lambda event: event.at)
        if isinstance(latest, WatchStopped):
            return NotWatching(latest.at, now, sessions=self.open_sessions)
        signs = [latest.at, self.heartbeat.last() if self.heartbeat is not None else None, last_entry]
        since = max(sign for sign in signs if sign is not None and sign <= now)
        return NotWatching(since, now, at_latest=True, sessions=self.open_sessions)

    def _watch_begins(self, session: str, now: datetime) -> list[Event]:
        return [
            entry(WatchStarted, session, now, None, version=__version__),
            self._thresholds_event(session, now),
        ]

    def _thresholds_event(self, session: str, now: datetime) -> Event:
        in_force = self.in_force
        return entry(
            ThresholdsInForce,
            session,
            now,
            None,
            text=in_force.thresholds_text,
            hash=in_force.thresholds_hash,
            version=__version__,
        )

    # --- reading --------------------------------------------------------------------------------------------------

    @property
    def sessions(self) -> tuple[str, ...]:
        """Every session of the journal, closed ones too."""
        return tuple(self._watches)

    @property
    def open_sessions(self) -> tuple[str, ...]:
        """The sessions that are not closed."""
        return tuple(
            session
            for session, watch in self._watches.items()
            if watch.opening and not watch.closed and watch.judgement is not None
        )

    @property
    def words(self) -> Words:
        """Says findings, remarks and alerts by the ward's clock and scale."""
        return Words(self.in_force.zone, self.in_force.scale)

    @property
    def now(self) -> datetime:
        """The instant to which the beds were last moved (UTC)."""
        return self._now or self.clock.now()

    def beds(self) -> tuple[Bed, ...]:
        """The open sessions, the one that needs someone first at the front."""
        return tuple(sorted((self.bed(session) for session in self.open_sessions), key=lambda bed: bed.need))

    def bed(self, session: str) -> Bed:
        """One session, open or closed. Raises UnknownSession."""
        watch = self._watches.get(session)
        if watch is None or watch.judgement is None:
            raise UnknownSession(session)
        bed = self._beds.get(session)
        if bed is None or bed.judgement is not watch.judgement or bed.now != self.now:
            bed = Bed(watch, self.now, self.in_force.zone, self._broken.get(session, ""))
            self._beds[session] = bed
        return bed

    def shows_alert(self, session: str, alert: str) -> bool:
        """Whether this alert is on the bed's lane; True where there is no such session (saving then says so)."""
        return session not in self._watches or any(state.id == alert for state in self.bed(session).alerts)

    def watch(self, session: str) -> Watch:
        """The session's ledger and alert states as they move. Raises UnknownSession."""
        try:
            return self._watches[session]
        except KeyError:
            raise UnknownSession(session) from None

    # --- the clock ------------------------------------------------------------------------------------------------

    def tick(self, now: datetime | None = None) -> frozenset[str]:
        """Move every bed to ``now`` and take what other workstations wrote; cheap where nothing is due.

        Returns the sessions in which something changed by itself; journals alerts that came up or cleared.
        """
        now = now or self.clock.now()
        changed: set[str] = set()
        if self.in_force.refresh():
            changed |= self._thresholds_changed(now)
        try:
            changed |= self._absorb(self.journal.read_after(self._seq), now)
        except Exception as cause:  # noqa: BLE001  told, logged, and tried again at the next tick
            self._tell(self._fault(cause, "tick"))
        self._now = max(now, self._now) if self._now else now
        for session in self.open_sessions:
            watch = self._watches[session]
            due = watch.next_change
            if due is not None and due <= now:
                self._guarded(watch, partial(watch.step_to, now))
                changed.add(session)
        self._journal_shown(changed, now)
        if self.heartbeat is not None:
            self.heartbeat.beat(now)
        if changed:
            self._announce(changed)
        return frozenset(changed)

    def _thresholds_changed(self, now: datetime) -> set[str]:
        """Other files are in force, or the list of faults is another: judge by them; a new ward file reloads all."""
        said: list[Event] = []
        for session in self.open_sessions:
            watch = self._watches[session]
            new_thresholds = watch.thresholds is not self.in_force.thresholds
            if watch.ward is not self.in_force.ward or watch.scale is not self.in_force.scale:
                self._reload(session, now)
            elif new_thresholds:
                watch.judge_by(self.in_force.thresholds)
            if new_thresholds:
                said.append(self._thresholds_event(session, now))
        self._append_own(said, now)
        return set(self.open_sessions)

    def _reload(self, session: str, now: datetime) -> None:
        fresh = self._new_watch(session)
        fresh.take(self._watches[session].by_id.values(), now)
        self._watches[session] = fresh

    # --- writing --------------------------------------------------------------------------------------------------

    def new_id(self) -> str:
        """A new id for an entry (UUIDv7)."""
        return self._ids.new(self.clock.now())

    def new_session_id(self) -> str:
        """A new id for a session."""
        return self.new_id()

    def new_check_id(self) -> str:
        """A new id that ties the readings of one visit."""
        return self.new_id()

    def save(self, events: Sequence[Event]) -> Outcome:
        """Check, write, fold. All of them or none; ``Saved`` only when they are on disk."""
        now = self.clock.now()
        ready = [stamped(event, self._ids.new(now), now) for event in events]
        if not ready:
            return Saved(self._seq, ())
        refusals = self._refusals(ready, now)
        if refusals:
            return Rejected(tuple(refusals))
        opened = [event.session for event in ready if isinstance(event, SessionOpened)]
        try:
            self.journal.append(ready, live_at=now)
        except Refused as refused:
            return Rejected(refused.refusals)
        except Exception as cause:  # noqa: BLE001  whatever it is: not saved, told and logged
            return self._fault(cause, "save")
        # From here on the entry is on disk; what fails now is told, but never as "not saved".
        changed = {event.session for event in ready}
        try:
            changed |= self._absorb(self.journal.read_after(self._seq), now)
        except Exception as cause:  # noqa: BLE001  told and logged; read again at the next tick
            self._tell(self._fault(cause, "read back", said="fault-saved-not-shown"))
        for session in opened:
            self._append_own(self._watch_begins(session, now), now)
        self._now = max(now, self._now) if self._now else now
        self._journal_shown(changed, now)
        self._announce(changed)
        return Saved(self._seq, tuple(event.id for event in ready))

    def preview(self, session: str, events: Sequence[Event]) -> Preview:
        """How the chart would stand if these were right. Writes nothing."""
        now = self.clock.now()
        ready = [stamped(event, self._ids.new(now), now) for event in events]
        refusals = self._refusals(ready, now)
        watch = self._watches.get(session)
        others = [self.bed(other) for other in self.open_sessions if other != session]
        return preview_of(watch, ready, refusals, others, now)

    def _refusals(self, events: Sequence[Event], now: datetime) -> list[Refusal]:
        found: list[Refusal] = []
        for session in dict.fromkeys(event.session for event in events):
            own = [event for event in events if event.session == session]
            watch = self._watches.get(session)
            found.extend(refusals_of(own, watch, self.in_force.scale, self.in_force.zone, now))
        return found

    # --- below the door -------------------------------------------------------------------------------------------

    def _new_watch(self, session: str) -> Watch:
        in_force = self.in_force
        return Watch(session, in_force.ward, in_force.scale, in_force.thresholds)

    def _absorb(self, stored: Iterable[Any], now: datetime) -> set[str]:
        """Fold what the journal holds beyond what was read so far."""
        fresh: dict[str, list[Event]] = {}
        for one in stored:
            fresh.setdefault(one.event.session, []).append(one.event)
            self._seq = max(self._seq, one.seq)
        for session, events in fresh.items():
            if session not in self._watches:
                self._watches[session] = self._new_watch(session)
            watch = self._watches[session]
            self._guarded(watch, partial(self._take, watch, events, now))
        return set(fresh)

    def _take(self, watch: Watch, events: Sequence[Event], now: datetime) -> None:
        if self._glimpsing:
            watch.glimpse(events, now)
        else:
            self._stepped(watch.take(events, now))

    def _stepped(self, changes: Sequence[Change]) -> None:
        """For whoever wants to know what happened to alerts on the way (the demo, as if it had been watching)."""

    def _guarded(self, watch: Watch, act: Callable[[], object]) -> None:
        """Do it; where reckoning fails the entry is still on disk, so the bed is marked, never the save."""
        try:
            act()
        except Exception as cause:  # noqa: BLE001  whatever it is, it is told and logged, and the bed is marked
            self._mark_broken(watch, cause)

    def _mark_broken(self, watch: Watch, cause: Exception) -> None:
        fault = self._fault(cause, "reckon", said="fault-saved-not-shown", session=watch.session)
        self._broken[watch.session] = fault.reference
        self._beds.pop(watch.session, None)
        self._tell(fault)

    def _journal_shown(self, sessions: Iterable[str], now: datetime) -> None:
        said: list[Event] = []
        for session in sessions:
            watch = self._watches.get(session)
            if watch is not None and watch.judgement is not None and watch.settled:
                said.extend(changes_to_show(watch, self.words, now))
        self._append_own(said, now)

    def _append_own(self, events: Sequence[Event], now: datetime) -> None:
        """What the program itself journals. A failure is told; the next tick tries again."""
        if not events:
            return
        ready = [stamped(event, self._ids.new(now), now) for event in events]
        try:
            self.journal.append(ready, live_at=now)
            self._absorb(self.journal.read_after(self._seq), now)
        except Exception as cause:  # noqa: BLE001  told and logged; tried again at the next tick
            self._tell(self._fault(cause, "journal what was shown", said="fault-record"))

    def _fault(
        self, cause: BaseException, doing: str, *, said: str = "fault-not-saved", **more: str
    ) -> Fault:
        # The journal has logged its own fault under a reference already; the screen shows the same one.
        reference = cause.reference if isinstance(cause, JournalFault) else secrets.token_hex(3).upper()
        logger("cbi_monitor.desk").error("fault", reference=reference, doing=doing, exc_info=cause, **more)
        return Fault(reference, say(said, reference=reference))

    def _tell(self, fault: Fault) -> None:
        for listener in tuple(self.faults):
            listener(fault)

    def _announce(self, sessions: set[str]) -> None:
        told = frozenset(sessions)
        for listener in tuple(self.changed):
            listener(told)
