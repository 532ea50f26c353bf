"""What a use case hands back. Nothing is ever shown as saved unless it is ``Saved``."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from cbi_monitor.ledger.account import Row, Standing
from cbi_monitor.model.findings import Finding, Refusal


@dataclass(frozen=True, slots=True)
class Saved:
    """On disk. ``seq`` is the journal's number of the last entry, ``ids`` are those of the entries, in order."""

    seq: int
    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rejected:
    """Cannot be read as an entry; nothing was written, the typed text stays. Each refusal names its field."""

    refusals: tuple[Refusal, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """The disk or the program failed: not saved.

    ``reference`` stands in the log beside the cause; ``text`` is what the screen shows ("NOT SAVED. Write it on
    paper.").
    """

    reference: str
    text: str


Outcome = Saved | Rejected | Fault


@dataclass(frozen=True, slots=True)
class WrongBed:
    """The levels fit another bed better. A question, never a refusal."""

    session: str
    label: str
    fields: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Preview:
    """How the chart would stand "if this is right". Nothing was written.

    ``row`` is the row that the entry would close or leave open (None: it makes none), ``questions`` the findings that
    the entry would newly raise, ``refusals`` what cannot be read, by field.
    """

    row: Row | None = None
    standing: Standing | None = None
    questions: tuple[Finding, ...] = ()
    refusals: tuple[Refusal, ...] = ()
    wrong_bed: WrongBed | None = None


@dataclass(frozen=True, slots=True)
class NotWatching:
    """For how long nobody's screen watched before this start. ``since`` None: never watched before.

    ``at_latest``: the program ended without saying so (power cut), ``since`` is the last sign of life.
    """

    since: datetime | None
    until: datetime
    at_latest: bool = False
    sessions: tuple[str, ...] = field(default=())

    @property
    def gap(self) -> timedelta | None:
        """How long; None when it never watched before."""
        return None if self.since is None else self.until - self.since
