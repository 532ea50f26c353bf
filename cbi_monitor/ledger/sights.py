"""Looks at the drip: which prove outflow, and which end a block."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta

from cbi_monitor.model import events as ev
from cbi_monitor.model.events import Event

Histories = Mapping[type[Event], Sequence[Event]]

NEAR = timedelta(minutes=10)


def discomfort(event: ev.Symptoms, pain_from: int) -> bool:
    """Whether symptoms speak against an empty bladder: pain, spasm, restless, pulling, abdomen up."""
    pain = event.pain
    return bool(
        (isinstance(pain, int) and pain >= pain_from)
        or event.spasm
        or event.restless
        or event.pulling
        or event.abdomen in ("full", "hard")
    )


def is_steady(event: Event) -> bool:
    """A look, or the end of a washout, that saw it run steadily."""
    if isinstance(event, ev.OutflowSeen):
        return event.running and event.how == "steady"
    return isinstance(event, ev.Washout) and event.draining_after == "steady"


def is_comfortable_steady(event: Event, histories: Histories, pain_from: int) -> bool:
    """A steady look at a comfortable patient: nothing charted within 10 minutes of it speaks against it."""
    if not is_steady(event):
        return False
    for symptoms in reversed(histories.get(ev.Symptoms, ())):
        assert isinstance(symptoms, ev.Symptoms)
        if symptoms.at < event.at - NEAR:
            break
        same = symptoms.check is not None and symptoms.check == event.check
        if same or abs(symptoms.at - event.at) <= NEAR:
            return not discomfort(symptoms, pain_from)
    return True


def relieves(event: Event, histories: Histories) -> bool:
    """A steady look after one that saw it not running: a block has been cleared, and old urine drains first."""
    if not is_steady(event):
        return False
    looks = histories.get(ev.OutflowSeen, ())
    if isinstance(event, ev.Washout):
        return True
    last = looks[-1] if looks else None
    return isinstance(last, ev.OutflowSeen) and not last.running
