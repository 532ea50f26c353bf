"""The window: the ward board, the bedside chart, and over both the marks that keep the clocks honest."""

from __future__ import annotations

import secrets
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import datetime
from types import TracebackType
from typing import Any

import structlog
from PySide6.QtCore import QSettings, Qt
from PySide6.QtGui import QAction, QCloseEvent, QGuiApplication, QKeySequence
from PySide6.QtWidgets import QApplication, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from cbi_monitor.screens import look, says
from cbi_monitor.screens.acts import Acts
from cbi_monitor.screens.board import counts
from cbi_monitor.screens.board.board import Board
from cbi_monitor.screens.board.lanes import lane_of, spoken_for
from cbi_monitor.screens.board.view import Lane
from cbi_monitor.screens.overlay import Bar, DemoMark, NotLive
from cbi_monitor.screens.pictures import render
from cbi_monitor.screens.pulse import Pulse
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import Fault, NotWatching
from cbi_monitor.wording import say

log = structlog.get_logger("cbi_monitor.screens")


BUDGET = 0.006
"""Seconds of one beat that may go into telling lanes anew: with their painting it stays within a frame of 60 Hz."""


class MainWindow(QMainWindow, Acts):
    """One window for one desk."""

    def __init__(self, desk: Desk, before: NotWatching | None = None) -> None:
        super().__init__()
        self.desk = desk
        self.nurse = say("demo-nurse") if desk.demo else ""
        self.dark: bool | None = None
        self._bedside: Any = None
        self._lanes: dict[str, Lane] = {}
        self._shares: dict[str, counts.Share] = {}
        self._queue: list[str] = []
        self._dirty: set[str] = set()
        self._lane_cost = 0.002
        self._minute: datetime | None = None
        self._stale = True
        self.setWindowTitle(
            say("window-title-demo" if desk.demo else "window-title", ward=desk.in_force.ward.name)
        )
        self.setMinimumSize(1000, 640)
        self.resize(1280, 760)
        page = QWidget()
        page.setProperty("part", "page")
        page.setAccessibleName(self.windowTitle())
        column = QVBoxLayout(page)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        self.fault, self.unwatched, self.warn, self.settings_bar = (
            Bar("fault"),
            Bar("warn"),
            Bar("warn"),
            Bar("warn"),
        )
        for bar in (self.fault, self.unwatched, self.warn, self.settings_bar):
            column.addWidget(bar)
        self.pages = QStackedWidget()
        self.pages.setAccessibleName(self.windowTitle())
        column.addWidget(self.pages, 1)
        self.setCentralWidget(page)
        self.board = Board()
        self.board.opened.connect(self.open_bed)
        self.board.used.connect(lambda: self.board.touched(self.desk.clock.now()))
        self.pages.addWidget(self.board)
        self.not_live = NotLive(self.pages)
        self.demo = DemoMark(self) if desk.demo else None
        self._actions()
        desk.changed.append(self._changed)
        desk.faults.append(self.show_fault)
        self.pulse = Pulse(desk.clock, self._beat, self)
        self.pulse.stale.connect(self._cover)
        self.pulse.fresh.connect(self._uncover)
        self.pulse.slept.connect(self._slept)
        self.pulse.failed.connect(self._beat_failed)
        if before is not None:
            self._say_not_watched(before)
        self._sign(self.nurse)
        hints = QGuiApplication.styleHints()
        hints.colorSchemeChanged.connect(self._system_theme)

    # --- keys ---------------------------------------------------------------------------------------------------

    def _actions(self) -> None:
        """Keys that are live everywhere are function keys or go with Ctrl; never a bare letter."""
        acts: tuple[tuple[str, str, Callable[[], Any]], ...] = (
            ("check", "F1", lambda: self._slip("check")),
            ("going", "F2", lambda: self.do("going")),
            ("not-draining", "F3", lambda: self.do("not-draining")),
            ("stop", "F4", lambda: self.do("stop")),
            ("look", "F5", lambda: self._slip("look")),
            ("bag", "F6", lambda: self._slip("bag")),
            ("emptied", "F7", lambda: self._slip("emptied")),
            ("washout", "F8", lambda: self._slip("washout")),
            ("scan", "F9", lambda: self._slip("scan")),
            ("patient", "F10", lambda: self._slip("patient")),
            ("level", "F11", lambda: self._slip("level")),
            ("seen", "F12", lambda: self.do("seen")),
            ("new", "Ctrl+N", self.open_session),
            ("sign", "Ctrl+U", self.ask_name),
            ("report", "Ctrl+R", lambda: self.do("report")),
            ("details", "Ctrl+I", lambda: self.do("details")),
            ("entries", "Ctrl+E", lambda: self._tab(1)),
            ("rows", "Ctrl+B", lambda: self._tab(0)),
            ("questions", "Ctrl+Q", lambda: self._tab(2)),
            ("theme", "Ctrl+D", self.toggle_theme),
            ("larger", "Ctrl++", lambda: self.set_scale(look.scale() + 0.1)),
            ("smaller", "Ctrl+-", lambda: self.set_scale(look.scale() - 0.1)),
            ("back", "Alt+Left", self.show_board),
        )  # fmt: skip
        self.keys: dict[str, QAction] = {}
        for name, keys, run in acts:
            action = QAction(say(f"act-{name}"), self)
            shortcuts = [QKeySequence(keys)]
            if name == "larger":
                shortcuts.append(QKeySequence("Ctrl+="))
            action.setShortcuts(shortcuts)
            action.setShortcutContext(Qt.ShortcutContext.WindowShortcut)
            action.triggered.connect(run)
            self.addAction(action)
            self.keys[name] = action
        for place, span in enumerate(("six", "shift", "day", "all"), start=1):
            action = QAction(say(f"bedside-span-{span}-name"), self)
            action.setShortcut(QKeySequence(f"Ctrl+{place}"))
            action.triggered.connect(lambda _=False, span=span: self._span(span))
            self.addAction(action)

    # --- the beat -----------------------------------------------------------------------------------------------

    def start(self) -> None:
        """Begin to beat."""
        self.pulse.start()
        self.board.focus_row()

    def _beat(self, now: datetime) -> None:
        self._dirty |= self.desk.tick(now)
        self.show_time(now)
        minute = now.replace(second=0, microsecond=0)
        if self._stale or self._minute is None:
            self.refresh(now)
            self._stale = False
            self._queue, self._dirty = [], set()
        else:
            if minute != self._minute:
                self._queue = list(self.desk.open_sessions)
            if self._dirty or self._queue:
                self.refresh(now, self._next())
        self._minute = minute
        self.board.settle(now)

    def _next(self) -> frozenset[str]:
        """The beds that are told anew in this beat: changed ones first, then those whose minute it is.

        A few a second, so that no beat is felt.
        """
        waiting = list(dict.fromkeys((*self._dirty, *self._queue)))
        if self.pages.currentWidget() is not self.board:
            self._queue, self._dirty = [], set()
            return frozenset(waiting)
        take = max(1, int(BUDGET / self._lane_cost))
        turn, self._queue = waiting[:take], waiting[take:]
        self._dirty = set()
        return frozenset(turn)

    def show_time(self, now: datetime) -> None:
        """The ticking clock."""
        zone = self.desk.in_force.zone
        if self.pages.currentWidget() is self.board:
            self.board.show_clock(now, zone)
        elif self._bedside is not None:
            name = self.nurse or say("board-not-signed")
            self._bedside.show_clock(says.joined(says.ticking(now, zone), name))

    def refresh(self, now: datetime, only: frozenset[str] | None = None) -> None:
        """Show everything anew; ``only`` these beds where nothing else moved."""
        desk = self.desk
        beds = desk.beds()
        if self.pages.currentWidget() is self.board:
            sessions = {bed.session for bed in beds}
            began, told = time.perf_counter(), []
            for bed in beds:
                if only is None or bed.session in only or bed.session not in self._lanes:
                    self._lanes[bed.session] = lane_of(bed, desk.in_force, now)
                    self._shares[bed.session] = counts.share_of(bed, desk.in_force, now)
                    told.append(bed.session)
            if told:
                # what a lane costs on this workstation, painting taken as the same again
                self._lane_cost = max(0.0005, 2 * (time.perf_counter() - began) / len(told))
            for gone in set(self._lanes) - sessions:
                del self._lanes[gone], self._shares[gone]
            shares = self._shares.values()
            self.board.show_counts(
                counts.alerts_by_priority(shares), counts.checks_due(shares, desk.in_force, now),
                counts.bags_until_shift_end(shares, desk.in_force, now),
            )  # fmt: skip
            self.board.show_lanes(
                [self._lanes[one] for one in self._lanes], now, None if only is None else told
            )
        elif self._bedside is not None:
            if only is None or self._bedside.session in only:
                self._bedside.refresh(now)
            self._show_others()
        refusals = desk.in_force.refusals
        if refusals:
            self.settings_bar.show_words(
                say("bar-settings", what="; ".join(str(one) for one in refusals[:2]), n=len(refusals))
            )
        else:
            self.settings_bar.setVisible(False)

    def _show_others(self) -> None:
        """Alerts at the other beds, by priority, on the bedside of this one."""
        here = self._bedside.session
        beds = (bed for bed in self.desk.beds() if bed.session != here)
        self._bedside.show_others(dict(Counter(state.priority for bed in beds for state in spoken_for(bed))))

    def _changed(self, sessions: frozenset[str]) -> None:
        self._dirty |= sessions

    # --- honest clocks and faults -------------------------------------------------------------------------------

    def _cover(self, since: datetime) -> None:
        self.not_live.cover(says.clock(since, self.desk.in_force.zone, self.desk.clock.now()))

    def _uncover(self) -> None:
        self.not_live.setVisible(False)
        self._stale = True

    def _slept(self, since: datetime, until: datetime) -> None:
        zone = self.desk.in_force.zone
        self.unwatched.show_words(
            say("bar-not-watching", since=says.clock(since, zone, until), until=says.clock(until, zone))
        )

    def _say_not_watched(self, before: NotWatching) -> None:
        zone = self.desk.in_force.zone
        if before.since is None or before.gap is None or before.gap.total_seconds() < 60:
            return
        key = "bar-not-watching-about" if before.at_latest else "bar-not-watching"
        since, until = says.clock(before.since, zone, before.until), says.clock(before.until, zone)
        self.unwatched.show_words(say(key, since=since, until=until))

    def _beat_failed(self, cause: object) -> None:
        reference = secrets.token_hex(3).upper()
        log.error("the screens could not be brought up to date", reference=reference, cause=repr(cause))
        since = self.pulse.last
        at = say("bar-start") if since is None else says.clock(since, self.desk.in_force.zone)
        self.fault.show_words(say("bar-fault-tick", since=at, reference=reference))

    def show_fault(self, fault: Fault) -> None:
        """A fault of the program or the disk, with the log's reference; stays until it is taken away."""
        self.fault.show_words(fault.text)

    def crashed(self, kind: type[BaseException], cause: BaseException, trace: TracebackType | None) -> None:
        """The last net: what nobody caught is logged and shown, never swallowed."""
        reference = secrets.token_hex(3).upper()
        log.error("uncaught", reference=reference, exc_info=(kind, cause, trace))
        self.fault.show_words(say("bar-fault", reference=reference))

    # --- going about --------------------------------------------------------------------------------------------

    @property
    def bedside(self) -> Any:
        """The bedside chart; made, and pyqtgraph loaded, when it is first asked for."""
        if self._bedside is None:
            from cbi_monitor.screens.bedside.bedside import Bedside

            self._bedside = Bedside(self.desk, lambda: self.nurse or None)
            self._bedside.left.connect(self.show_board)
            self._bedside.act.connect(self.do)
            self._bedside.entry_opened.connect(self.correct)
            self._bedside.finding_opened.connect(self.answer_finding)
            self._bedside.faulted.connect(self.show_fault)
            self._bedside.asks_name.connect(self.ask_name)
            self.pages.addWidget(self._bedside)
        return self._bedside

    def open_bed(self, session: str) -> None:
        """Go to a bed."""
        bedside = self.bedside
        self.pages.setCurrentWidget(bedside)
        bedside.open_bed(session)
        self._show_others()
        self._over()
        self.show_time(self.desk.clock.now())

    def show_board(self) -> None:
        """Back to the ward."""
        session = self._bedside.session if self._bedside is not None else None
        self.pages.setCurrentWidget(self.board)
        self.refresh(self.desk.now)
        self.show_time(self.desk.clock.now())
        self._over()
        self.board.focus_row(session if session in self._lanes else None)

    def _over(self) -> None:
        if self.demo is not None:
            self.demo.raise_()
        if self.not_live.isVisible():
            self.not_live.raise_()

    def _session(self) -> str | None:
        """The bed in hand: the open chart, or the row that has the focus."""
        if self._bedside is not None and self.pages.currentWidget() is self._bedside:
            return str(self._bedside.session)
        for session in self.board.order:
            if self.board.row(session).hasFocus():
                return session
        return None

    def _at_bed(self) -> str | None:
        session = self._session()
        if session is None:
            self.warn.show_words(say("bar-choose-bed"))
            self.board.focus_row()
            return None
        if self._bedside is None or self.pages.currentWidget() is not self._bedside:
            self.open_bed(session)
        return session

    def _slip(self, kind: str) -> None:
        if self._at_bed() is not None:
            self.bedside.show_slip(kind)

    def _tab(self, place: int) -> None:
        if self._at_bed() is not None:
            tabs = self.bedside.tabs
            tabs.setCurrentIndex(place)
            tabs.currentWidget().setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _span(self, name: str) -> None:
        if self._bedside is not None and self.pages.currentWidget() is self._bedside:
            self._bedside.show_span(name)

    # --- light and dark, larger and smaller ---------------------------------------------------------------------

    def _system_theme(self, *_: object) -> None:
        if self.dark is None:
            self.set_theme(look.system_is_dark(), chosen=False)

    def toggle_theme(self) -> None:
        """Light or dark, whatever the desktop says from now on."""
        self.set_theme(look.theme().name == "light")

    def set_theme(self, dark: bool, *, chosen: bool = True) -> None:
        """Put the theme on."""
        if chosen:
            self.dark = dark
            QSettings("cbi_monitor", "screens").setValue("dark", dark)
        self._put_on(dark, look.scale())

    def set_scale(self, size: float) -> None:
        """Type at 1.0 to 2.0 of its size."""
        self._put_on(look.theme().name == "dark", size)
        QSettings("cbi_monitor", "screens").setValue("scale", look.scale())

    def _put_on(self, dark: bool, size: float) -> None:
        app = QApplication.instance()
        if isinstance(app, QApplication):
            look.put_on(app, look.pick(dark, self.desk.demo), size)
            self.refresh(self.desk.now)
            self.board.fit_again()

    def closeEvent(self, event: QCloseEvent) -> None:
        """Stop watching, and say so in the journal."""
        self.end()
        self.desk.stop()
        super().closeEvent(event)

    def end(self) -> None:
        """Beat no more and let go of the desk, which goes on without this window."""
        self.pulse.stop()
        if self._changed in self.desk.changed:
            self.desk.changed.remove(self._changed)
        if self.show_fault in self.desk.faults:
            self.desk.faults.remove(self.show_fault)


def application() -> QApplication:
    """The one Qt application; made where there is none yet."""
    app = QApplication.instance()
    if isinstance(app, QApplication):
        return app
    made = QApplication(sys.argv[:1])
    made.setApplicationName("cbi_monitor")
    made.setStyle("Fusion")
    return made


def open_window(desk: Desk, before: NotWatching | None = None) -> MainWindow:
    """Open the window of a started desk and begin to beat. ``before``: what ``desk.start()`` gave back."""
    app = application()
    kept = QSettings("cbi_monitor", "screens")
    chosen = kept.value("dark")
    dark = look.system_is_dark() if chosen is None else str(chosen).lower() == "true"
    try:
        size = float(kept.value("scale") or 1.0)
    except (TypeError, ValueError):
        size = 1.0
    look.put_on(app, look.pick(dark, desk.demo), size)
    window = MainWindow(desk, before)
    window.dark = None if chosen is None else dark
    sys.excepthook = window.crashed
    window.show()
    window.start()
    return window


__all__ = ["MainWindow", "application", "open_window", "render"]
