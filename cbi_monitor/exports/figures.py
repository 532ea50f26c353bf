"""Figures as text: grouped thousands, a real minus sign, ranges in words, and "not known" instead of nothing."""

from __future__ import annotations

from cbi_monitor.model.volumes import whole
from cbi_monitor.wording import say

MINUS = "\u2212"


def ml(amount: float | None) -> str:
    """Whole millilitres without the unit: ``1,540``, ``−40``; "not known" for None."""
    if amount is None:
        return say("report-not-known")
    number = whole(amount)
    return f"{number:,}".replace("-", MINUS)


def signed(amount: float | None) -> str:
    """With its sign: ``+540``, ``−40``, ``0``."""
    if amount is None:
        return say("report-not-known")
    number = whole(amount)
    return f"+{number:,}" if number > 0 else ml(number)


def plain(value: float) -> str:
    """A charted number as it was written: ``7.5``, ``138``."""
    text = str(int(value)) if float(value).is_integer() else f"{value:g}"
    return text.replace("-", MINUS)


def rate(value: float) -> str:
    """mL/kg/h with two places; a real minus sign."""
    return f"{value:.2f}".replace("-", MINUS)


def between(low: float | None, high: float | None) -> str:
    """The ends of a range; "at least …" where there is no high end, empty where there is none at all."""
    if low is None and high is None:
        return ""
    if high is None:
        return say("report-at-least", low=ml(low))
    if low is None:
        return say("report-at-most", high=ml(high))
    return say("report-range", low=ml(low), high=ml(high))


def range_ml(low: float, high: float) -> str:
    """``200 to 480 mL``."""
    return say("report-ml", ml=between(low, high))
