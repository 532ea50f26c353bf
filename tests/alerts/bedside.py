"""A bed laid out by hand: entries as written, the standing as told. For tests of single conditions."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from cbi_monitor.alerts.conditions import judge as judge_plainly
from cbi_monitor.alerts.readings import Judgement
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.ledger.account import (
    Behind,
    Drainage,
    Line,
    MayHold,
    Proof,
    Row,
    Sight,
    Standing,
    UrineWindow,
)
from cbi_monitor.ledger.facts import SessionFacts
from cbi_monitor.model.canonical import order_key
from cbi_monitor.model.events import Event, SessionOpened
from cbi_monitor.model.volumes import Range, TimeRange
from cbi_monitor.settings.files import load_scale, load_thresholds, load_ward
from cbi_monitor.wording.alerts import AlertWords

WARD = load_ward()
SCALE = load_scale()
TH = load_thresholds()
T0 = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)


def t(minutes: float) -> datetime:
    return T0 + timedelta(minutes=minutes)


def look(minutes: float, how: str = "steady", by: str = "km") -> Sight:
    return Sight(at=t(minutes), by=by, how=how, event=f"look-{minutes}")


def row(start: float, end: float, net: int = 15, behind: float = 0.0, **more: Any) -> Row:
    plain: dict[str, Any] = {
        "start": t(start), "end": t(end), "state": "closed", "irrigant_in_ml": 150, "washed_in_ml": 0,
        "drained_ml": 150 + net, "washed_back_ml": 0, "leaked_ml": 0, "otherwise_ml": 0, "net_ml": net,
        "net_low_ml": net - 80.0, "net_high_ml": net + 80.0, "net_u_ml": 35.0, "running_ml": 0, "running_low_ml": 0.0,
        "running_high_ml": 0.0, "running_since": T0, "behind_ml": behind, "behind_u_ml": 35.0, "may_hold": None,
        "other_in_ml": 0, "other_out_ml": 0, "fluid_balance_ml": net, "ml_per_kg_per_h": None, "start_bags": {},
        "end_bags": {}, "end_drainage_ml": None,
    }  # fmt: skip
    return Row(**{**plain, **more})


def standing(now: float, **more: Any) -> Standing:
    plain: dict[str, Any] = {
        "now": t(now), "last_close": t(0), "behind": Behind(0.0, 35.0, t(0), t(0)),
        "may_hold": MayHold(Range(0, 20, 100), Range(0, 20, 200), t(0), ""), "seen": None, "steady": None,
        "proof": Proof(t(0), "start", 100.0), "limit_ml": 300.0, "limit_from": "ward", "block_reaches_limit": None,
        "inflow_on": True, "inflow_off_since": None, "inflow_off_reason": "", "inflow": Range(540, 600, 660),
        "inflow_basis": "set", "outflow": None, "expected_urine": Range(40, 78, 150), "expected_urine_basis": "usual",
        "lines": (), "drainage": Drainage(None, None, None, None, None, None, False), "catheter_in": True,
        "open_row": False, "unanswered": 0, "next_change": None,
    }  # fmt: skip
    return Standing(**{**plain, **more})


def line(
    name: str = "A",
    *,
    dry: float | None = None,
    level: float | None = 1000.0,
    last_open: bool = True,
    **more: Any,
) -> Line:
    forecast = None if dry is None else TimeRange(t(dry - 5), t(dry), t(dry + 5))
    plain: dict[str, Any] = {
        "name": name, "fluid": "saline_0_9", "label_ml": 3000.0, "hung_at": t(0), "running": True, "level_ml": level,
        "level_at": t(0), "level_now": None, "dry": forecast, "last_open": last_open,
    }  # fmt: skip
    return Line(**{**plain, **more})


class Laid:
    """What a condition reads of a ledger, laid out by hand. ``standing`` may be told anew with ``stand``."""

    def __init__(
        self,
        *events: Event,
        rows: Sequence[Row] = (),
        urine: UrineWindow | None = None,
        findings: Sequence[Any] = (),
        **told: Any,
    ) -> None:
        self.ward, self.scale = WARD, SCALE
        self.events = sorted((opened(), *events), key=order_key)
        self.rows = list(rows)
        self.findings = list(findings)
        self.told = told
        self._urine = urine or UrineWindow(None, None, None, None, None, "too_short")
        self.facts = SessionFacts()
        for event in self.events:
            self.facts = self.facts.after(event)

    def of(self, kind: type[Event]) -> list[Event]:
        return [event for event in self.events if type(event) is kind]

    def at(self, now: datetime) -> Standing:
        return replace(standing(0, **self.told), now=now)

    def urine(self, _hours: float) -> UrineWindow:
        return self._urine


WORDS = AlertWords(ZoneInfo(WARD.zone), SCALE)
LEFT_OVER = re.compile(r"[{}$]|unknown|  | [.,;]|\bNone\b")


def judge(ledger: Any, thresholds: Thresholds, now: datetime) -> Judgement:
    """Judged as ever; and whatever a test makes a condition say must be sayable, with every figure in its place."""
    judgement = judge_plainly(ledger, thresholds, now)
    for reading in judgement.readings:
        text = WORDS.text(reading, now)
        if reading.priority is not None:
            assert not LEFT_OVER.search(text), text
        assert WORDS.title(reading.condition)
    for task in judgement.tasks:
        assert WORDS.task(task)
    return judgement


_count = [0]


def ev(kind: type[Event], minutes: float, /, **fields: Any) -> Any:
    """One entry of the session ``s``."""
    _count[0] += 1
    return kind(session="s", at=t(minutes), id=f"e{_count[0]}", **{"by": "km", **fields})


def opened(minutes: float = 0, **fields: Any) -> SessionOpened:
    return SessionOpened(session="s", at=t(minutes), id="open", patient="P-1", weight_kg=78.0, **fields)
