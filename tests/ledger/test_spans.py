"""Hours, shifts and days: against pandas on the same rows spread over minutes; days of 23 and 25 hours."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pandas as pd
import pytest

from tests.ledger.charts import START, WARD, account, check, entry, opening


def history():
    events = [*opening(), entry("inflow_set", 0, ml_per_h=600)]
    level, contents = 3000.0, 0.0
    for n, minute in enumerate((37, 95, 158, 201, 266), start=1):
        level -= 90.0 + 31 * n
        contents += 130.0 + 37 * n
        events += check(minute, contents, A=level)
    return events


def test_hour_totals_against_pandas_on_rows_spread_over_minutes():
    ledger = account(history())
    minutes = pd.date_range(START, periods=266, freq="min")
    spread = pd.DataFrame(0.0, index=minutes, columns=["in", "out"])
    for row in ledger.rows:
        part = (minutes >= row.start) & (minutes < row.end)
        spread.loc[part, "in"] = row.irrigant_in_ml / part.sum()
        spread.loc[part, "out"] = row.drained_ml / part.sum()
    hourly = spread.resample("h").sum()
    borders = [START + timedelta(hours=n) for n in range(5)]
    for row, (_, expected) in zip(ledger.spans(borders), hourly.iterrows(), strict=False):
        assert row.irrigant_in_ml == pytest.approx(expected["in"], abs=1)
        assert row.drained_ml == pytest.approx(expected["out"], abs=1)
        assert row.prorated


def test_shares_add_up_exactly_and_are_never_surer_than_their_rows():
    ledger = account(history())
    borders = [START + timedelta(minutes=n) for n in range(0, 267, 19)]
    parts = [row for row in ledger.spans(borders) if row.net_ml is not None]
    end = parts[-1].end
    whole = ledger.spans([START, end])[0]
    assert sum(row.net_ml for row in parts) == whole.net_ml
    assert sum(row.irrigant_in_ml for row in parts) == whole.irrigant_in_ml
    for part in parts:
        touched = [row for row in ledger.rows if row.start < part.end and row.end > part.start]
        assert all(part.net_u_ml >= row.net_u_ml - 1e-9 for row in touched) or len(touched) > 1


def test_a_share_is_spread_over_the_time_the_inflow_ran():
    ledger = account([
        *opening(), entry("inflow_set", 0, ml_per_h=600), entry("inflow_stopped", 60, reason="trial"),
        *check(240, 700, A=2400),
    ])  # fmt: skip
    first, second = ledger.spans([START, START + timedelta(hours=1), START + timedelta(hours=4)])
    assert (first.irrigant_in_ml, second.irrigant_in_ml) == (600, 0)


@pytest.mark.parametrize(("month", "day", "length"), [(3, 29, 23), (10, 25, 25), (5, 2, 24)])
def test_a_ward_day_has_23_24_or_25_hours(month, day, length):
    """Clock changes of Europe/London in 2026 (IANA tz data)."""
    from cbi_monitor.exports.borders import hour_borders

    zone = ZoneInfo("Europe/London")
    start = datetime(2026, month, day, tzinfo=zone).astimezone(UTC)
    end = datetime(2026, month, day + 1, tzinfo=zone).astimezone(UTC)
    assert len(hour_borders(WARD, start, end)) - 1 == length


def test_a_span_over_the_end_of_the_chart_says_until_when():
    ledger = account(history())
    row = ledger.spans([START, START + timedelta(hours=12)])[0]
    assert row.state == "open"
    assert row.end == START + timedelta(minutes=266)
    assert "counted_until" in [remark.kind for remark in row.remarks]


def test_borders_must_ascend():
    with pytest.raises(ValueError, match="ascend"):
        account(history()).spans([START, START])
