"""Figures and times in words."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from cbi_monitor.model.volumes import Range, TimeRange
from cbi_monitor.screens import says

ZONE = ZoneInfo("Europe/London")
NOW = datetime(2026, 7, 1, 13, 2, tzinfo=UTC)


def test_clock_times_are_the_wards() -> None:
    assert says.clock(NOW, ZONE) == "14:02"  # British summer time
    assert says.clock(NOW - timedelta(hours=20), ZONE, NOW) == "Tue 18:02"
    assert says.ticking(NOW, ZONE) == "Wed 14:02:00"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(0, "just now"), (59, "just now"), (60, "1 min ago"), (3000, "50 min ago"), (3600, "1 h ago"),
     (3900, "1 h 05 min ago"), (46000, "12 h ago"), (200_000, "2 days ago")],
)  # fmt: skip
def test_ages(seconds, words) -> None:
    assert says.ago(NOW - timedelta(seconds=seconds), NOW) == words


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [(200, 480, "200 to 480"), (203, 478, "200 to 480"), (0, 3, "0 to 10"), (1234, 1236, "1,230 to 1,240")],
)
def test_a_range_is_widened_to_tens_never_narrowed(low, high, words) -> None:
    assert says.span_ml(low, high) == words


def test_a_bladder_never_holds_less_than_nothing() -> None:
    assert says.hold_ml(Range(-80, 10, 130)) == "0 to 130"


@pytest.mark.parametrize(
    ("amount", "words"), [(40, "+40"), (0, "0"), (-110, "−110"), (-0.3, "0"), (1540, "+1,540")]
)
def test_net_keeps_its_sign(amount, words) -> None:
    assert says.signed(amount) == words


def test_a_forecast_tells_both_ends() -> None:
    when = TimeRange(NOW, NOW + timedelta(minutes=19), NOW + timedelta(minutes=40))
    assert says.time_range(when, ZONE, NOW) == "14:02 to 14:42"
    assert says.time_range(TimeRange(NOW, NOW, None), ZONE, NOW) == "14:02 or later"
