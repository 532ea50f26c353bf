"""Figures and times as a nurse reads them: 24-h clock in the ward's zone, ages, ranges rounded to what doubt allows."""

from __future__ import annotations

import math
from datetime import datetime, tzinfo

from cbi_monitor.model.volumes import Range, TimeRange
from cbi_monitor.wording import say

MINUS = "−"


def clock(at: datetime, zone: tzinfo, now: datetime | None = None) -> str:
    """``13:12`` in the ward's zone; with the day before it where ``now`` is given and lies on another day."""
    local = at.astimezone(zone)
    text = f"{local:%H:%M}"
    if now is not None and local.date() != now.astimezone(zone).date():
        return say("screens-day-time", day=weekday(at, zone), time=text)
    return text


def weekday(at: datetime, zone: tzinfo) -> str:
    """The day of the week, short."""
    return say(f"screens-weekday-{at.astimezone(zone).isoweekday()}")


def ticking(at: datetime, zone: tzinfo) -> str:
    """The head line's clock, to the second."""
    return say("screens-day-time", day=weekday(at, zone), time=f"{at.astimezone(zone):%H:%M:%S}")


def span_minutes(seconds: float) -> str:
    """A span in whole minutes or hours and minutes."""
    minutes = max(0, int(seconds // 60))
    if minutes < 60:
        return say("screens-minutes", n=minutes)
    hours, rest = divmod(minutes, 60)
    if hours >= 48:
        return say("screens-days", n=hours // 24)
    if rest == 0 or hours >= 12:
        return say("screens-hours", n=hours)
    return say("screens-hours-minutes", h=hours, m=f"{rest:02d}")


def ago(at: datetime, now: datetime) -> str:
    """``50 min ago``; ``just now`` below a minute."""
    seconds = (now - at).total_seconds()
    if seconds < 60:
        return say("screens-just-now")
    return say("screens-ago", span=span_minutes(seconds))


def number(amount: float, places: int = 0) -> str:
    """A figure with thousands marked and a true minus sign."""
    text = f"{abs(amount):,.{places}f}"
    return f"{MINUS}{text}" if amount < 0 and text.strip("0.,") else text


def signed(amount: float) -> str:
    """A net figure: with its sign, 0 without."""
    rounded = round(amount)
    return number(rounded) if rounded <= 0 else f"+{number(rounded)}"


def tens(low: float, high: float) -> tuple[int, int]:
    """A range widened outwards to whole tens: no end is told more finely than its doubt deserves."""
    return math.floor(low / 10) * 10, math.ceil(high / 10) * 10


def span_ml(low: float, high: float) -> str:
    """``200 to 480``: the ends of a volume in doubt, widened to tens."""
    a, b = tens(low, high)
    return say("screens-range", low=number(a), high=number(b))


def hold_ml(hold: Range) -> str:
    """What the bladder may hold, never below nothing."""
    return span_ml(max(0.0, hold.low), max(0.0, hold.high))


def about_ten(amount: float) -> str:
    """A figure in doubt, to the nearest ten."""
    return number(round(amount / 10) * 10)


def time_range(when: TimeRange, zone: tzinfo, now: datetime) -> str:
    """``15:20 to 16:00``, or ``15:20 or later``."""
    early = clock(when.early, zone, now)
    if when.late is None:
        return say("screens-or-later", early=early)
    late = clock(when.late, zone, now)
    return early if early == late else say("screens-range", low=early, high=late)


def joined(*parts: str) -> str:
    """Parts that are there, with a middle dot between."""
    return " · ".join(part for part in parts if part)
