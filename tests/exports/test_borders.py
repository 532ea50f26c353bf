"""Shift, hour and day borders by the ward's clock.

Europe/London changes on 29 March and on 25 October 2026 (IANA tz data).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from cbi_monitor.exports.borders import day_borders, hour_borders, shift_at, shifts_between
from cbi_monitor.exports.clock import WardClock
from tests.exports.sessions import WARD


def test_the_shipped_ward_is_the_one_these_dates_are_for() -> None:
    assert WARD.zone == "Europe/London"
    assert [(shift.starts.hour, shift.starts.minute) for shift in WARD.shifts] == [(7, 0), (19, 0)]


@pytest.mark.parametrize(
    ("inside", "length"),
    [
        (datetime(2026, 3, 29, 0, tzinfo=UTC), 11),
        (datetime(2026, 10, 25, 0, tzinfo=UTC), 13),
        (datetime(2026, 6, 1, 0, tzinfo=UTC), 12),
    ],
)
def test_the_night_of_the_clock_change_has_its_own_length(inside: datetime, length: int) -> None:
    night = shift_at(WARD, inside)
    assert night.end - night.start == timedelta(hours=length)
    assert len(hour_borders(WARD, night.start, night.end)) == length + 1


@pytest.mark.parametrize(("day", "rows"), [((2026, 3, 28), 23), ((2026, 10, 24), 25), ((2026, 6, 1), 24)])
def test_a_ward_day_has_23_24_or_25_hours(day: tuple[int, int, int], rows: int) -> None:
    start = shift_at(WARD, datetime(*day, 12, tzinfo=UTC)).start
    end = shift_at(WARD, datetime(*day, 12, tzinfo=UTC) + timedelta(days=1)).start
    assert len(hour_borders(WARD, start, end)) == rows + 1


def test_shifts_follow_each_other_without_gap() -> None:
    spans = shifts_between(WARD, datetime(2026, 10, 23, tzinfo=UTC), datetime(2026, 10, 28, tzinfo=UTC))
    assert all(a.end == b.start for a, b in pairwise(spans))


def test_a_border_belongs_to_the_shift_that_starts_there() -> None:
    assert shift_at(WARD, datetime(2026, 3, 2, 7, tzinfo=UTC)).start == datetime(2026, 3, 2, 7, tzinfo=UTC)


def test_day_borders_are_where_the_first_shift_starts() -> None:
    found = day_borders(WARD, datetime(2026, 3, 2, 9, tzinfo=UTC), datetime(2026, 3, 4, 9, tzinfo=UTC))
    assert [border.hour for border in found] == [9, 7, 7, 9]


def test_the_hour_that_comes_twice_says_which() -> None:
    clock = WardClock("Europe/London")
    first, second = datetime(2026, 10, 25, 0, 30, tzinfo=UTC), datetime(2026, 10, 25, 1, 30, tzinfo=UTC)
    assert clock.hm_said(first) == "01:30 (BST)"
    assert clock.hm_said(second) == "01:30 (GMT)"
    assert clock.stamp(first) != clock.stamp(second)
    assert clock.hm_said(second + timedelta(hours=1)) == "02:30"
