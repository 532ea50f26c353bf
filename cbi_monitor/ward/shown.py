"""What stood on the screen becomes part of the record: each alert that came up, changed its priority or cleared."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, tzinfo

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import Figures
from cbi_monitor.model.events import AlertCleared, AlertShown, Event
from cbi_monitor.model.findings import Fact
from cbi_monitor.ward.entries import entry
from cbi_monitor.ward.telling import Words
from cbi_monitor.ward.watch import Watch

Number = float | int | str | bool | None


def changes_to_show(watch: Watch, words: Words, now: datetime) -> list[Event]:
    """The ``alert_shown`` and ``alert_cleared`` by which the journal differs from what stands now.

    An alert that the journal shows and that stands no longer, or is not known any more (other thresholds), is cleared.
    """
    said: list[Event] = []
    standing = {state.id: state for state in watch.states if state.stands}
    for state in standing.values():
        before = watch.shown.get(state.id)
        if before is None or before.priority != state.priority:
            said.append(_event(AlertShown, state, state.figures, words, now))
    states = {state.id: state for state in watch.states}
    for alert, before in watch.shown.items():
        if alert in standing:
            continue
        gone = states.get(alert)
        if gone is not None:
            said.append(_event(AlertCleared, gone, gone.cleared_figures or gone.figures, words, now))
        else:
            said.append(
                entry(
                    AlertCleared,
                    watch.session,
                    now,
                    None,
                    alert=alert,
                    condition=before.condition,
                    subject=before.subject,
                    priority=before.priority,
                    numbers=before.numbers,
                    text=before.text,
                )
            )
    return said


def _event(
    kind: type[AlertShown] | type[AlertCleared], state: AlertState, figures: Figures, words: Words, now: datetime
) -> Event:
    return entry(
        kind,
        state.session,
        now,
        None,
        alert=state.id,
        condition=state.condition,
        subject=state.subject,
        priority=state.priority,
        numbers=numbers_of(state, figures, words.zone),
        text=words.alert(state),
    )


def numbers_of(state: AlertState, figures: Figures, zone: tzinfo) -> dict[str, Number]:
    """The figures behind an alert: behind by and may hold (mL), and the evidence of its condition."""
    hold = figures.may_hold
    numbers: dict[str, Number] = {
        "behind_by_ml": _whole(figures.behind_ml),
        "may_hold_low_ml": None if hold is None else _whole(hold.low),
        "may_hold_ml": None if hold is None else _whole(hold.mid),
        "may_hold_high_ml": None if hold is None else _whole(hold.high),
        "raised_at": state.raised_at.astimezone(zone).isoformat(),
        "spoken_by": state.spoken_by,
    }
    facts: Mapping[str, Fact] = state.reading.facts
    for name, value in facts.items():
        if isinstance(value, datetime):
            numbers.setdefault(name, value.astimezone(zone).isoformat())
        elif isinstance(value, float):
            numbers.setdefault(name, round(value, 2))
        else:
            numbers.setdefault(name, value)
    return numbers


def _whole(amount: float | None) -> int | None:
    return None if amount is None else round(amount)
