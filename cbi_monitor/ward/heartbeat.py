"""A sign of life beside the journal, so that a start after a power cut can say since when nobody watched."""

from __future__ import annotations

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cbi_monitor.model.instants import utc
from cbi_monitor.ward.log import logger

EVERY = timedelta(seconds=30)


class Heartbeat:
    """The time of a file: the last moment at which a desk was alive."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._last: datetime | None = None

    def last(self) -> datetime | None:
        """The last sign of life (UTC), None where there never was one."""
        try:
            return datetime.fromtimestamp(self.path.stat().st_mtime, UTC)
        except OSError:
            return None

    def beat(self, now: datetime) -> None:
        """Leave a sign, not more often than every half minute. A disk that does not take it is logged."""
        if self._last is not None and utc(now) - self._last < EVERY:
            return
        self._last = utc(now)
        self._touch()

    def stop(self, now: datetime) -> None:
        """The last sign of this desk."""
        self._last = utc(now)
        self._touch()

    def _touch(self) -> None:
        assert self._last is not None
        try:
            self.path.touch(mode=0o600)
            os.utime(self.path, (self._last.timestamp(), self._last.timestamp()))
        except OSError as fault:
            logger("cbi_monitor.heartbeat").warning(
                "no sign of life could be left", path=str(self.path), why=str(fault)
            )
