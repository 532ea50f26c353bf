"""Findings (the data disagree or are unlikely) and refusals (what cannot be read): values, never exceptions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

Fact = float | int | str | bool | datetime | None


@dataclass(frozen=True, slots=True)
class Finding:
    """Something in the chart that disagrees or is unlikely.

    ``id`` is stable over recomputation (``kind:id of the entry``) and is what ``answered`` names. ``facts`` holds the
    numbers that its sentence in ``wording`` needs, volumes in mL. ``asks``: it waits for an answer.
    """

    id: str
    kind: str
    at: datetime
    events: tuple[str, ...]
    facts: Mapping[str, Fact] = field(default_factory=dict)
    asks: bool = False
    answer: str | None = None
    source: str | None = None


@dataclass(frozen=True, slots=True)
class Remark:
    """A side note on a row: nothing to answer. ``kind`` has its sentence in ``wording``."""

    kind: str
    events: tuple[str, ...] = ()
    facts: Mapping[str, Fact] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an entry, a line or a file was not taken: where, what, and what to write instead.

    ``line`` and ``column`` count from 1; 0 where there is none (a whole file, a form on the screen).
    """

    where: str
    line: int
    column: int
    field: str
    what: str
    write: str

    def __str__(self) -> str:
        place = self.where
        if self.line:
            place += f":{self.line}"
            if self.column:
                place += f":{self.column}"
        name = f" {self.field}:" if self.field else ""
        end = f"; {self.write}" if self.write else ""
        return f"{place}:{name} {self.what}{end}"


class Refused(Exception):
    """Carries all refusals of one file or entry at once; nothing of it was taken."""

    def __init__(self, refusals: tuple[Refusal, ...]) -> None:
        super().__init__("\n".join(str(refusal) for refusal in refusals))
        self.refusals = refusals
