"""What a condition is, in words, with the numbers in force."""

from __future__ import annotations

from cbi_monitor.alerts.conditions import ALL_CONDITIONS
from cbi_monitor.alerts.speaks_for import SPEAKS_ONWARD
from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.findings import Fact


def explain(condition: str, thresholds: Thresholds) -> tuple[str, dict[str, Fact]]:
    """The key of the sentence in ``wording`` and every number of the condition as it is in force.

    Lists of words come as one text. Raises ValueError where there is no such condition.
    """
    if condition not in ALL_CONDITIONS:
        raise ValueError(f"{condition}: no such condition; write one of {', '.join(ALL_CONDITIONS)}")
    facts: dict[str, Fact] = {}
    for name, value in getattr(thresholds, condition):
        facts[name] = ", ".join(str(item) for item in value) if isinstance(value, tuple) else value
    return f"explain-{condition.replace('_', '-')}", facts


def explain_life(thresholds: Thresholds) -> tuple[str, dict[str, Fact]]:
    """What answers do, in words."""
    return "explain-life", dict(thresholds.life)


def speakers(condition: str) -> tuple[str, ...]:
    """Which conditions speak for this one while they stand."""
    return tuple(name for name, silent in SPEAKS_ONWARD.items() if condition in silent)
