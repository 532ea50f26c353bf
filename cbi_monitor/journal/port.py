"""What the rest of the house may ask of a journal, whichever database keeps it."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal, Protocol

from cbi_monitor.model.events import Event

AHEAD = timedelta(minutes=2)
"""A live entry that happened further ahead of the clock than this is refused."""

Place = tuple[str, int]
"""A file and a line in it, counted from 1."""

FaultKind = Literal[
    "full", "busy", "read_only", "corrupt", "newer", "not_a_journal", "missing", "closed", "disk"
]
"""``full``: no room on the disk. ``busy``: another program held the journal too long. ``read_only``: no leave to write.
``corrupt``: what lies there is damaged. ``newer``: written by a newer program. ``not_a_journal``: another database or
file. ``missing``: there is none. ``closed``: asked after closing. ``disk``: anything else that the disk or database
says."""


@dataclass(frozen=True, slots=True)
class Saved:
    """On disk. ``ids`` are the entries that came in now, ``already`` those that stood there with the same content.

    ``seq`` is the number of the last entry of the journal after this.
    """

    seq: int
    ids: tuple[str, ...]
    already: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stored:
    """An entry as the journal holds it. ``seq`` counts from 1 in order of arrival, without gaps."""

    seq: int
    event: Event


@dataclass(frozen=True, slots=True)
class Break:
    """One thing that is wrong with a journal; ``seq`` is the entry, 0 where it is the journal as a whole."""

    seq: int
    kind: str
    text: str


@dataclass(frozen=True, slots=True)
class Verdict:
    """What verifying found.

    ``head`` is the hash of each workstation's last entry: written down elsewhere, it proves later that nothing before
    it was changed or taken away.
    """

    entries: int
    sessions: int
    head: Mapping[str, str]
    breaks: tuple[Break, ...]

    @property
    def whole(self) -> bool:
        """Nothing is wrong."""
        return not self.breaks


class Fault(Exception):
    """The disk or the database failed. What was being saved is not known to be saved: "NOT SAVED. Write it on paper.".

    ``reference`` is shown on the screen and stands in the log beside the cause; ``detail`` is the database's own word.
    """

    def __init__(self, kind: FaultKind, detail: str = "", *, place: str = "") -> None:
        self.kind: FaultKind = kind
        self.reference = secrets.token_hex(3).upper()
        self.detail = detail
        self.place = place
        super().__init__(f"{kind} ({self.reference}): {detail}" if detail else f"{kind} ({self.reference})")

    def __str__(self) -> str:
        from cbi_monitor.wording import say

        key = f"fault-journal-{self.kind.replace('_', '-')}"
        return say(key, place=self.place or "-", detail=self.detail or "-", reference=self.reference)


class Journal(Protocol):
    """An append-only record of entries. Every method raises Fault where the disk or the database fails."""

    def append(
        self,
        events: Sequence[Event],
        *,
        live_at: datetime | None = None,
        places: Mapping[str, Place] | None = None,
    ) -> Saved:
        """Take these entries, all or none; returns only when they are on disk.

        ``live_at`` is the time now, for entries made at the bed; None for entries that have a clock of their own (a
        file). ``places`` says by id where an entry came from, for the refusals. An entry that stands there already with
        the same content is passed over.

        Raises Refused, with every reason at once and nothing written: no id, an id that another entry has, a second
        ``session_opened``, a target that is not there, a correction after which the entry would be refused, a line on
        which no bag was hung, an entry more than two minutes ahead of ``live_at``.
        """
        ...

    def read_after(self, seq: int = 0) -> list[Stored]:
        """The entries that came in after that number, in order of arrival."""
        ...

    def sessions(self) -> list[str]:
        """Every session, in order of its first entry's arrival."""
        ...

    def events(self, session: str) -> list[Event]:
        """The entries of one session in the total order; none where there is no such session."""
        ...

    def get(self, entry: str) -> Event | None:
        """The entry of that id, or None."""
        ...

    def verify(self) -> Verdict:
        """Recompute everything that was stored and say what does not agree."""
        ...

    def close(self) -> None:
        """Let go of the database. May be called twice."""
        ...
