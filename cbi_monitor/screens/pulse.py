"""The beat of the screens: once a second the beds move on to now. If that fails, the screen must say so.

A second timer looks at the age of the newest figures; it does nothing else, so that a crash in the first leaves it alive.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

import structlog
from PySide6.QtCore import QObject, QTimer, Signal

from cbi_monitor.ward.clock import Clock

log = structlog.get_logger("cbi_monitor.screens")

STALE = timedelta(seconds=60)
"""From this age on figures are covered."""


class Pulse(QObject):
    """Beats once a second. ``stale`` carries since when the figures stand, ``fresh`` that they are new again.

    ``slept`` carries from and to when nothing beat (the workstation slept); ``failed`` the exception of a beat.
    """

    stale = Signal(object)
    fresh = Signal()
    slept = Signal(object, object)
    failed = Signal(object)

    def __init__(self, clock: Clock, beat: Callable[[datetime], None], parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._clock, self._beat = clock, beat
        self.last: datetime | None = None
        self._covered = False
        self._beating = QTimer(self)
        self._beating.setInterval(1000)
        self._beating.timeout.connect(self.beat)
        self._watching = QTimer(self)
        self._watching.setInterval(1000)
        self._watching.timeout.connect(self.watch)

    def start(self) -> None:
        """Beat now, then every second."""
        self.beat()
        self._beating.start()
        self._watching.start()

    def stop(self) -> None:
        """Beat no more; nothing is covered by this."""
        self._beating.stop()
        self._watching.stop()

    def beat(self) -> None:
        """Move everything on to now. A failure is told and logged, and leaves the old figures to grow stale."""
        now = self._clock.now()
        try:
            self._beat(now)
        except Exception as cause:
            log.exception("tick failed", exc_info=cause)
            self.failed.emit(cause)
            return
        before, self.last = self.last, now
        if before is not None and now - before > STALE:
            self.slept.emit(before, now)
        if self._covered:
            self._covered = False
            self.fresh.emit()

    def watch(self) -> None:
        """Cover figures that are older than a minute."""
        if self.last is None:
            return
        if self._clock.now() - self.last > STALE:
            self._covered = True
            self.stale.emit(self.last)
