"""What is judged at one instant: readings of conditions, tasks, and when the next judgement can differ. Values only.

Four words, one sentence each:

- *pending*: something is seen that will raise an alert at a known later time if nothing is charted before.
- *raised*: the condition holds and asks for an act; it stands on the lane until it clears.
- *answered*: somebody said that she is going or has seen it; the alert keeps quiet for a while and clears no sooner.
- *cleared*: an observation shows that the condition no longer holds, by a limit lower than the one that raised it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from cbi_monitor.model.findings import Fact
from cbi_monitor.model.volumes import Range

Priority = Literal["high", "medium", "low"]
TaskKind = Literal["look", "check", "line_dry", "drainage_full", "traction", "back"]

RANK: Mapping[Priority | None, int] = {None: 0, "low": 1, "medium": 2, "high": 3}
"""How priorities compare (IEC 60601-1-8: high, medium, low); None is no alert."""

_BY_RANK: tuple[Priority | None, ...] = (None, "low", "medium", "high")


def worse(a: Priority | None, b: Priority | None) -> Priority | None:
    """The higher of two priorities."""
    return a if RANK[a] >= RANK[b] else b


def milder(a: Priority | None, b: Priority | None) -> Priority | None:
    """The lower of two priorities."""
    return a if RANK[a] <= RANK[b] else b


def priority_of_rank(rank: int) -> Priority | None:
    """The priority of a rank, 0 (none) to 3 (high)."""
    return _BY_RANK[rank]


@dataclass(frozen=True, slots=True)
class SetForPatient:
    """A limit set for this one patient by an order: by whom, when."""

    by_whom: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Reading:
    """What one condition says of one subject at one instant.

    ``priority``: what the evidence raises now; None: not enough to raise.
    ``keeps``: the highest priority that an alert already standing keeps, by the lower clearing limit. A condition of
    which there is no reading has cleared.
    ``says`` and ``first_act`` are keys of ``wording``, ``facts`` the figures they need (mL, mL/h, instants).
    ``as_of``: when the evidence was seen; ``since``: when it began. ``changes_at``: the earliest later instant at which
    this reading would differ without a new entry. ``once``: seen once, it does not come back.
    """

    condition: str
    subject: str
    priority: Priority | None
    says: str
    first_act: str
    facts: Mapping[str, Fact] = field(default_factory=dict)
    keeps: Priority | None = None
    as_of: datetime | None = None
    since: datetime | None = None
    changes_at: datetime | None = None
    set_for_patient: SetForPatient | None = None
    once: bool = False


@dataclass(frozen=True, slots=True)
class Task:
    """A mark on the bed's lane; no alert while in time.

    ``due`` (``early`` to ``late`` where it is a forecast), ``overdue_at``: when it becomes an alert (None: never).
    ``anchor``: the observation from which it counts; a task is the same task while its anchor is.
    ``possible_since``: for a look, when a full block could have reached the limit, where that lies before ``due``.
    """

    kind: TaskKind
    subject: str
    due: datetime
    anchor: datetime
    early: datetime | None = None
    late: datetime | None = None
    overdue_at: datetime | None = None
    possible_since: datetime | None = None
    facts: Mapping[str, Fact] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Figures:
    """The two numbers of a bed as they stood at a judgement: behind by, and may hold (mL), as of the last close."""

    behind_ml: float | None = None
    behind_u_ml: float | None = None
    behind_since: datetime | None = None
    may_hold: Range | None = None
    as_of: datetime | None = None
    limit_ml: float | None = None


@dataclass(frozen=True, slots=True)
class Judgement:
    """All readings and tasks of a bed at ``now``; ``next_change``: the earliest later instant that differs."""

    now: datetime
    readings: tuple[Reading, ...]
    tasks: tuple[Task, ...]
    next_change: datetime | None
    figures: Figures = field(default_factory=Figures)
    closed: bool = False
