"""A ward's own test of its thresholds: session files, and the alerts that they must and must not raise.

The file is TOML::

    [[session]]
    file = "night.jsonl"            # beside this file
    expect = [
      { condition = "retention", priority = "high", from = 2026-03-01T22:00:00+00:00, to = 2026-03-01T22:30:00+00:00 },
    ]
    never = [ { condition = "low_urine" } ]

``expect``: an alert of this condition (and subject) was raised, or raised again, to this priority or worse, within the
span. ``never``: none such was. Times need their offset; without them the whole session counts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Annotated, Literal

from pydantic import AwareDatetime, BaseModel, ConfigDict, Field, ValidationError

from cbi_monitor.alerts.conditions import ALL_CONDITIONS
from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import RANK, Priority
from cbi_monitor.alerts.replay import replay
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.settings.faults import guess
from cbi_monitor.settings.layout import layout_of, nearest
from cbi_monitor.settings.syntax import parse
from cbi_monitor.ward.settings_in_force import InForce
from cbi_monitor.wording import say


class _Piece(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)


class Expected(_Piece):
    """One alert that must, or must never, be raised within a span."""

    condition: str
    priority: Literal["high", "medium", "low"] | None = None
    subject: str | None = None
    from_: Annotated[AwareDatetime | None, Field(alias="from")] = None
    to: AwareDatetime | None = None


class SessionTest(_Piece):
    """One session file with what is expected of it. ``as``: as known at the time (default), or as charted today."""

    file: str
    session: str | None = None
    as_: Annotated[Literal["known", "charted"], Field(alias="as")] = "known"
    until: AwareDatetime | None = None
    expect: list[Expected] = []
    never: list[Expected] = []


class Expectations(_Piece):
    """The whole file."""

    session: Annotated[list[SessionTest], Field(min_length=1)]


@dataclass(frozen=True, slots=True)
class Difference:
    """What did not come out as expected; ``line`` is that of the expectation in its file."""

    where: str
    line: int
    text: str

    def __str__(self) -> str:
        return f"{self.where}:{self.line}: {self.text}"


@dataclass(frozen=True, slots=True)
class Outcome:
    """One file of expectations: how many were looked at, and which did not hold."""

    checked: int
    differences: tuple[Difference, ...]


def read_expectations(path: Path) -> tuple[Expectations, str]:
    """The file and its text. Raises Refused with every fault by line and column."""
    where = str(path)
    try:
        text = path.read_text("utf-8")
    except OSError as cause:
        why = cause.strerror or str(cause)
        raise Refused((_refusal(where, 0, 0, "", say("expect-unreadable", why=why)),)) from None
    except UnicodeDecodeError:
        raise Refused((_refusal(where, 0, 0, "", say("expect-not-utf8")),)) from None
    syntax = parse(text, where)
    if syntax.refusals or syntax.values is None:
        raise Refused(syntax.refusals)
    try:
        read = Expectations.model_validate(syntax.values)
    except ValidationError as wrong:
        places = layout_of(text)
        found = []
        for fault in wrong.errors():
            steps = tuple(fault["loc"])
            place = nearest(places, steps)
            name = ".".join(str(step + 1) if isinstance(step, int) else step for step in steps)
            found.append(_refusal(where, place.line, place.column, name, fault["msg"]))
        raise Refused(tuple(found)) from None
    unknown = list(_unknown_conditions(read, text, where))
    if unknown:
        raise Refused(tuple(unknown))
    return read, text


def _refusal(where: str, line: int, column: int, field: str, what: str) -> Refusal:
    return Refusal(where, line, column, field, what, say("expect-write"))


def _unknown_conditions(read: Expectations, text: str, where: str) -> Iterator[Refusal]:
    places = layout_of(text)
    for number, test in enumerate(read.session):
        for key in ("expect", "never"):
            for nth, expected in enumerate(getattr(test, key)):
                if expected.condition not in ALL_CONDITIONS:
                    place = nearest(places, ("session", number, key, nth, "condition"))
                    near = guess(expected.condition, ALL_CONDITIONS) or ", ".join(ALL_CONDITIONS)
                    what = say("expect-unknown-condition", name=expected.condition)
                    yield Refusal(
                        where, place.line, place.column, "condition", what, say("expect-known", names=near)
                    )


def check(path: Path, rules: InForce) -> Outcome:
    """Replay every session of the file and compare. Raises Refused where the file or a session file can't be read."""
    read, text = read_expectations(path)
    places = layout_of(text)
    differences: list[Difference] = []
    checked = 0
    for number, test in enumerate(read.session):
        events = read_session_file(path.parent / test.file)
        told = replay(
            events, rules.ward, rules.scale, rules.thresholds, test.as_ == "known", test.until, test.session
        )
        for key in ("expect", "never"):
            for nth, expected in enumerate(getattr(test, key)):
                checked += 1
                raised = _raised(told.alerts, expected)
                if bool(raised) == (key == "expect"):
                    continue
                line = nearest(places, ("session", number, key, nth)).line
                said = _said(key, test.file, expected, told.alerts, raised, rules)
                differences.append(Difference(str(path), line, said))
    return Outcome(checked, tuple(differences))


Raising = tuple[datetime, Priority]


def _raised(alerts: Sequence[AlertState], expected: Expected) -> list[Raising]:
    found: list[Raising] = []
    for state in alerts:
        if state.condition != expected.condition or expected.subject not in (None, state.subject):
            continue
        for raised in state.raises:
            late_enough = expected.from_ is None or raised.at >= expected.from_
            early_enough = expected.to is None or raised.at <= expected.to
            if late_enough and early_enough and RANK[raised.priority] >= RANK[expected.priority]:
                found.append((raised.at, raised.priority))
    return found


def _said(
    key: str,
    file: str,
    expected: Expected,
    alerts: Sequence[AlertState],
    raised: Sequence[Raising],
    rules: InForce,
) -> str:
    shown = [raised for state in alerts if state.condition == expected.condition for raised in state.raises]
    all_of_it = [(one.at, one.priority) for one in shown] if key == "expect" else list(raised)
    times = ", ".join(f"{at.astimezone(rules.zone):%Y-%m-%d %H:%M} {priority}" for at, priority in all_of_it)
    wanted = expected.condition + (f" ({expected.priority})" if expected.priority else "")
    return say(f"expect-{key}-failed", file=file, wanted=wanted, times=times or say("expect-not-at-all"))
