"""What the ledger tells: rows, findings, and how a bed stands at an instant. Values only; volumes in mL, rates in mL/h.

Unknown is None, never zero.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Literal

from cbi_monitor.model.findings import Remark
from cbi_monitor.model.volumes import Range, TimeRange

RowState = Literal["closed", "open", "questioned"]


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the balance: from one visit at which every vessel in use is known to the next.

    Side amounts are whole mL and differences of rounded cumulative amounts, so rows add up exactly.
    ``net_ml = drained + washed_back + leaked + otherwise − irrigant_in − washed_in``. ``net_u_ml`` is the standard
    uncertainty inside the root; ``net_low_ml`` and ``net_high_ml`` include common errors and overfill.
    ``net_high_ml`` is None where a washed or leaked volume was not measured ("at least").
    """

    start: datetime
    end: datetime
    state: RowState
    irrigant_in_ml: int | None
    washed_in_ml: int | None
    drained_ml: int | None
    washed_back_ml: int | None
    leaked_ml: int | None
    otherwise_ml: int | None
    net_ml: int | None
    net_low_ml: float | None
    net_high_ml: float | None
    net_u_ml: float | None
    running_ml: int | None
    running_low_ml: float | None
    running_high_ml: float | None
    running_since: datetime | None
    behind_ml: float | None
    behind_u_ml: float | None
    may_hold: Range | None
    other_in_ml: int
    other_out_ml: int
    fluid_balance_ml: int | None
    ml_per_kg_per_h: Range | None
    start_bags: Mapping[str, float | None]
    end_bags: Mapping[str, float | None]
    end_drainage_ml: float | None
    prorated: bool = False
    at_least: bool = False
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Behind:
    """The drop of ``out − in`` from its highest point: this much stayed, leaked, was absorbed or not written down."""

    ml: float
    u_ml: float
    since: datetime
    as_of: datetime


@dataclass(frozen=True, slots=True)
class MayHold:
    """What the bladder may hold. ``at_close`` is the range at the last close, ``now`` with its high end grown since.

    ``cannot_tell`` names why no figure is given: ``blind`` (last close too old), ``too_much`` (above what a bladder
    holds: something is not written down), ``nothing_known`` (no close yet).
    """

    at_close: Range | None
    now: Range | None
    as_of: datetime | None
    cannot_tell: Literal["", "blind", "too_much", "nothing_known"]


@dataclass(frozen=True, slots=True)
class Sight:
    """A look at the drip: when, by whom, how it ran. ``comfortable`` is what was charted with it."""

    at: datetime
    by: str | None
    how: Literal["steady", "slow", "drops_only", "none", "running"]
    event: str


@dataclass(frozen=True, slots=True)
class Proof:
    """The latest proof of outflow: up to ``at`` fluid came out as it should. Never a word that it still does."""

    at: datetime
    kind: Literal["look", "volume", "start"]
    high_ml: float


@dataclass(frozen=True, slots=True)
class Line:
    """One irrigant line as it stands."""

    name: str
    fluid: str
    label_ml: float
    hung_at: datetime
    running: bool
    level_ml: float | None
    level_at: datetime | None
    level_now: Range | None
    dry: TimeRange | None
    last_open: bool


@dataclass(frozen=True, slots=True)
class Drainage:
    """The drainage bag as it stands."""

    capacity_ml: float | None
    contents_ml: float | None
    read_at: datetime | None
    contents_now: Range | None
    two_thirds: TimeRange | None
    full: TimeRange | None
    clamped: bool


@dataclass(frozen=True, slots=True)
class UrineWindow:
    """Urine made over the shortest run of closed rows that ends at the last close and lasts at least ``hours``.

    ``rate`` in mL/h, ``per_kg`` in mL/kg/h (None without a weight). ``not_known`` names why there is none.
    """

    start: datetime | None
    end: datetime | None
    made_ml: Range | None
    rate: Range | None
    per_kg: Range | None
    not_known: Literal["", "too_short", "see_behind", "open_row", "unmeasured", "diverted"]


@dataclass(frozen=True, slots=True)
class Standing:
    """How a bed stands at ``now``: everything that a screen or a condition reads off the ledger."""

    now: datetime
    last_close: datetime | None
    behind: Behind | None
    may_hold: MayHold
    seen: Sight | None
    steady: Sight | None
    proof: Proof | None
    limit_ml: float | None
    limit_from: Literal["ward", "order", "must_be_typed"]
    block_reaches_limit: datetime | None
    inflow_on: bool
    inflow_off_since: datetime | None
    inflow_off_reason: str
    inflow: Range
    inflow_basis: Literal["bags", "set", "charted", "not_known", "off"]
    outflow: Range | None
    expected_urine: Range
    expected_urine_basis: str
    lines: tuple[Line, ...]
    drainage: Drainage
    catheter_in: bool
    open_row: bool
    unanswered: int
    next_change: datetime | None
    facts: Mapping[str, float] = field(default_factory=dict)
