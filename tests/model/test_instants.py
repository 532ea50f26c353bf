from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from cbi_monitor.model.instants import NaiveTime, format_instant, parse_instant, speakable, utc


@pytest.mark.parametrize(
    ("text", "hour_utc"),
    [("2026-03-29T00:30:00+00:00", 0), ("2026-03-29T02:30:00+01:00", 1), ("2026-03-29T07:00Z", 7)],
)
def test_an_instant_is_read_with_its_offset(text: str, hour_utc: int):
    assert utc(parse_instant(text)).hour == hour_utc


@pytest.mark.parametrize("text", ["", "soon", "2026-02-30T07:00:00+00:00", "07:00", "2026-03-01T25:00:00Z"])
def test_what_is_no_time_is_refused_with_how_to_write_it(text: str):
    with pytest.raises(ValueError, match="write it like 2026-03-01T07:00:00"):
        parse_instant(text)


@pytest.mark.parametrize(
    ("text", "like"),
    [
        ("2026-03-01T07:00:00", "2026-03-01T07:00:00+00:00"),
        ("2026-03-01T00:00", "2026-03-01T00:00+00:00"),
        ("2026-03-01", "2026-03-01T07:00:00+00:00"),
    ],
)
def test_a_time_without_an_offset_is_refused_with_a_time_that_would_be_read(text: str, like: str):
    with pytest.raises(NaiveTime) as caught:
        parse_instant(text)
    assert caught.value.like == like
    parse_instant(like)


def test_only_years_that_can_be_reckoned_with_are_speakable():
    assert speakable(datetime(2213, 1, 1, tzinfo=UTC))
    assert not speakable(datetime.min.replace(tzinfo=UTC))
    assert not speakable(datetime.max.replace(tzinfo=UTC))


def test_the_offset_is_kept():
    at = parse_instant("2026-03-01T07:00:00+05:45")
    assert at.utcoffset() == timedelta(hours=5, minutes=45)
    assert format_instant(at) == "2026-03-01T07:00:00+05:45"


def test_a_naive_time_is_no_instant():
    with pytest.raises(ValueError, match="offset"):
        utc(datetime(2026, 3, 1))  # noqa: DTZ001 - that is what is refused
