"""Alerts and tasks in the ward's words: facts become text by the ward's clock and scale, sentences come by key."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime, tzinfo
from typing import Any

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import Figures, Reading, Task
from cbi_monitor.alerts.replay import Asked
from cbi_monitor.model.findings import Fact
from cbi_monitor.model.volumes import whole
from cbi_monitor.model.ward import EffluentScale
from cbi_monitor.wording.catalogue import say as say_now

Say = Callable[..., str]

ESTIMATES = frozenset(
    {
        "behind_ml",
        "doubt_ml",
        "may_ml",
        "may_low_ml",
        "may_high_ml",
        "short_ml",
        "ml",
        "rate",
        "rate_before",
        "rate_low",
        "rate_high",
    }
)
"""Figures that are never truer than to the ten: shown so, kept exact in the record."""


class AlertWords:
    """Says alerts by the ward's clock and effluent scale. ``say``: the catalogue to ask (default: the one in use)."""

    def __init__(self, zone: tzinfo, scale: EffluentScale, say: Say = say_now) -> None:
        self.zone = zone
        self.scale = scale
        self._say = say

    def facts(self, facts: Mapping[str, Fact], near: datetime | None = None) -> dict[str, Any]:
        """The figures of a sentence. Times on another local day than ``near`` carry their date."""
        shown = {name: self._fact(name, value, near) for name, value in facts.items()}
        for given, name in (("behind_u_ml", "doubt_ml"), ("u_ml", "doubt_ml")):
            u = facts.get(given)
            if isinstance(u, (int, float)) and not isinstance(u, bool):
                shown[name] = self._fact(name, 2.0 * u, near)
        return shown

    def clock(self, at: datetime, near: datetime | None = None) -> str:
        """The ward's clock: 14:05, or 28 Mar 14:05 on another day."""
        local = at.astimezone(self.zone)
        if near is not None and near.astimezone(self.zone).date() != local.date():
            return f"{local.day} {local:%b %H:%M}"
        return f"{local:%H:%M}"

    def _fact(self, name: str, value: Fact, near: datetime | None) -> Any:
        if value is None:
            return "unknown"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, datetime):
            return self.clock(value, near)
        if isinstance(value, (int, float)):
            if name in ESTIMATES:
                return whole(value / 10.0) * 10
            if name.startswith("per_kg") or name == "limit":
                return f"{value:.1f}" if value >= 0.95 else f"{value:.2f}"
            return whole(value) if abs(value) >= 10 or float(value).is_integer() else round(value, 2)
        if name.endswith("grade"):
            known = self.scale.grade(value)
            return known.word if known is not None else value
        return value

    # --- one reading --------------------------------------------------------------------------------------------

    def title(self, condition: str) -> str:
        """The short title on the board, without its priority."""
        return self._say(f"alert-{condition.replace('_', '-')}-title")

    def says(self, reading: Reading, near: datetime | None = None) -> str:
        """What was seen, as of when, how sure."""
        text = self._say(reading.says, **self.facts(reading.facts, near))
        own = reading.set_for_patient
        if own is not None:
            text += " " + self._say("alert-set-for-patient", by_whom=own.by_whom, at=self.clock(own.at, near))
        return _one_line(text)

    def first_act(self, reading: Reading) -> str:
        """The first act."""
        return _one_line(self._say(reading.first_act, **self.facts(reading.facts)))

    def text(self, reading: Reading, near: datetime | None = None) -> str:
        """An alert as it is shown: what was seen, and the first act."""
        return f"{self.says(reading, near)} {self.first_act(reading)}"

    def cleared(self, state: AlertState) -> str:
        """What stays on the lane of a cleared alert, "was 280 behind, caught up 14:02". ValueError where it stands."""
        if state.cleared_at is None:
            raise ValueError(f"alert {state.id} stands")
        at = self.clock(state.cleared_at)
        if state.condition == "retention":
            worst = max((raised.reading.facts.get("behind_ml") or 0 for raised in state.raises), key=_number)
            return self._say("alert-retention-cleared", behind_ml=whole(_number(worst) / 10.0) * 10, at=at)
        if state.condition == "no_outflow":
            return self._say("alert-no-outflow-cleared", at=at)
        return self._say("alert-cleared", title=self.title(state.condition), at=at)

    def task(self, task: Task) -> str:
        """A mark on the lane."""
        due = self.clock(task.due)
        if task.kind == "look" and task.possible_since is not None:
            return self._say("task-look-possible", due=due, possible_since=self.clock(task.possible_since))
        if task.kind == "check" and task.facts.get("volumes"):
            return self._say("task-check-volumes", due=due)
        return self._say(f"task-{task.kind.replace('_', '-')}", due=due, subject=task.subject)


def _number(value: Fact) -> float:
    return float(value) if isinstance(value, (int, float)) else 0.0


def _one_line(text: str) -> str:
    joined = " ".join(text.split()).replace(" ,", ",").replace(" ;", ";").replace(" .", ".")
    return joined[:-1] + "." if joined.endswith(";") else joined


def numbers_of(reading: Reading, figures: Figures) -> dict[str, float | int | str | bool | None]:
    """The evidence as plain values, for the record of what was shown; times as ISO 8601 text in UTC."""
    found: dict[str, float | int | str | bool | None] = {}
    for name, value in reading.facts.items():
        found[name] = value.isoformat() if isinstance(value, datetime) else value
    for name, value in _volumes(figures).items():
        found.setdefault(name, value)
    return found


def _volumes(figures: Figures) -> dict[str, int | None]:
    hold = figures.may_hold
    return {
        "behind_by_ml": None if figures.behind_ml is None else whole(figures.behind_ml),
        "may_hold_ml": None if hold is None else whole(hold.mid),
        "may_hold_low_ml": None if hold is None else whole(hold.low),
        "may_hold_high_ml": None if hold is None else whole(hold.high),
    }


def record_json(state: AlertState, file: str, words: AlertWords) -> dict[str, Any]:
    """One alert as the ``alerts`` command gives it. Times carry the ward's offset, figures are those at its raising."""
    zone = words.zone

    def at(instant: datetime | None) -> str | None:
        return None if instant is None else instant.astimezone(zone).isoformat()

    first = state.raises[0]
    return {
        "file": file,
        "session": state.session,
        "id": state.id,
        "condition": state.condition,
        "subject": state.subject,
        "priority": state.worst,
        "raised_at": at(state.raised_at),
        "cleared_at": at(state.cleared_at),
        "answered": [
            {"at": at(a.at), "by": a.by, "kind": a.kind, "action": a.action, "counts": a.counts}
            for a in state.answers
        ],
        **_volumes(first.figures),
        "says": words.says(first.reading, first.at),
        "do_first": words.first_act(first.reading),
        "spoken_by": state.spoken_by if state.spoke_at is None else None,
        "raised_again": [
            {"at": at(r.at), "priority": r.priority, "says": words.says(r.reading, r.at)}
            for r in state.raises[1:]
        ],
        "came_back": [at(moment) for moment in state.came_back],
    }


def task_json(task: Asked, session: str, file: str, zone: tzinfo) -> dict[str, Any]:
    """One task that came due, beside the alerts; ``task`` is true."""

    def at(instant: datetime | None) -> str | None:
        return None if instant is None else instant.astimezone(zone).isoformat()

    return {
        "file": file,
        "session": session,
        "task": True,
        "kind": task.kind,
        "subject": task.subject,
        "due": at(task.due),
        "overdue_at": at(task.overdue_at),
        "done_at": at(task.done_at),
    }
