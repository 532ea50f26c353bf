"""New ids: UUIDv7 (RFC 9562, 5.7), so that entries sort by the time they were made."""

from __future__ import annotations

import secrets
import threading
from datetime import datetime
from uuid import UUID

from cbi_monitor.model.instants import utc


class IdMaker:
    """Makes UUIDv7 that rise strictly within one program, also when the clock stands or is set back."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._last = 0

    def new(self, now: datetime) -> str:
        """A new id for an entry made at ``now``."""
        millisecond = int(utc(now).timestamp() * 1000) & 0xFFFF_FFFF_FFFF
        with self._lock:
            # 48 bits of time and 12 of counter are kept as one number: when the millisecond is the same, count on.
            stamp = max(millisecond << 12 | secrets.randbits(8), self._last + 1)
            self._last = stamp
        time_part, counter = stamp >> 12, stamp & 0xFFF
        value = (
            (time_part & 0xFFFF_FFFF_FFFF) << 80
            | 0x7 << 76
            | counter << 64
            | 0b10 << 62
            | secrets.randbits(62)
        )
        return str(UUID(int=value))


_maker = IdMaker()


def new_id(now: datetime) -> str:
    """A new UUIDv7 made at ``now``."""
    return _maker.new(now)
