"""What stood on the screen becomes part of the record: each alert that came up, changed its priority or cleared."""

from __future__ import annotations

from datetime import datetime

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import Figures
from cbi_monitor.model.events import AlertCleared, AlertShown, Event
from cbi_monitor.ward.entries import entry
from cbi_monitor.ward.telling import Words
from cbi_monitor.ward.watch import Watch
from cbi_monitor.wording.alerts import numbers_of


def changes_to_show(watch: Watch, words: Words, now: datetime) -> list[Event]:
    """The ``alert_shown`` and ``alert_cleared`` by which the journal differs from what stands now.

    An alert that the journal shows and that stands no longer, or is not known any more (other thresholds), is cleared.
    """
    said: list[Event] = []
    standing = {state.id: state for state in watch.states if state.stands}
    for state in standing.values():
        before = watch.shown.get(state.id)
        if before is None or before.priority != state.priority:
            said.append(shown_event(AlertShown, state, state.figures, words, now))
    for alert, before in watch.shown.items():
        if alert in standing:
            continue
        gone = watch.record(alert)
        if gone is not None:
            said.append(shown_event(AlertCleared, gone, gone.cleared_figures or gone.figures, words, now))
        else:
            shown = {
                name: getattr(before, name)
                for name in ("alert", "condition", "subject", "priority", "numbers", "text")
            }
            said.append(entry(AlertCleared, watch.session, now, None, **shown))
    return said


def shown_event(
    kind: type[AlertShown | AlertCleared], state: AlertState, figures: Figures, words: Words, now: datetime
) -> Event:
    """The record of an alert as it stood on the screen at ``now``."""
    return entry(
        kind,
        state.session,
        now,
        None,
        alert=state.id,
        condition=state.condition,
        subject=state.subject,
        priority=state.priority,
        numbers={**numbers_of(state.reading, figures), "spoken_by": state.spoken_by},
        text=words.alert(state, now),
    )
