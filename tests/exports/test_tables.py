"""The neutral tables: sums, states, entries with their corrections."""

from __future__ import annotations

import pytest

from cbi_monitor.exports.chart import chart_entries
from cbi_monitor.exports.frames import frame
from cbi_monitor.exports.shift_types import Told
from cbi_monitor.exports.told import Teller
from cbi_monitor.model import events as e
from cbi_monitor.model.canonical import with_derived_ids
from tests.exports.sessions import (
    DEMOS,
    at,
    check,
    demo,
    demo_report,
    demo_shifts,
    entry,
    opening,
    quiet,
    report_of,
)


@pytest.mark.parametrize("name", DEMOS)
def test_hours_add_up_to_the_shift(name: str) -> None:
    """Shares are differences of rounded running sums, so they add up exactly (pandas sums them here)."""
    for number in range(len(demo_shifts(name))):
        made = demo_report(name, number)
        hours = frame(made.tables["hours"], "Europe/London")
        total = made.told.sum()
        if total is None or total.net_ml is None:
            continue
        assert hours["net_urine_ml"].sum() == total.net_ml
        assert hours["in_ml"].sum() - (total.irrigant_in_ml or 0) == total.washed_in_ml
        assert hours["out_ml"].sum() - hours["in_ml"].sum() == total.net_ml


def test_the_night_on_which_the_clock_goes_back_has_thirteen_hours() -> None:
    made = demo_report("clock_goes_back", 1)
    assert len(made.tables["hours"].rows) == 13


def test_a_frame_has_types_and_keeps_unknown_unknown() -> None:
    events = [
        *quiet(),
        entry(e.DrainageRead, 5, not_measured=True, id="x"),
        entry(e.BagRead, 5, line="A", left_ml=500.0, id="y"),
    ]
    made = report_of(events, at(0), at(12))
    rounds = frame(made.tables["rounds"], "Europe/London")
    assert str(rounds["net_urine_ml"].dtype) == "Int64"
    assert str(rounds["end"].dtype) == "datetime64[us, Europe/London]"
    assert rounds["net_urine_ml"].isna().iloc[-1]
    assert rounds.attrs["units"]["net_urine_ml"] == "mL"


def test_an_open_row_says_why() -> None:
    events = [*quiet(), entry(e.BagRead, 5, line="A", left_ml=500.0, id="y")]
    table = report_of(events, at(0), at(12)).tables["rounds"]
    last = dict(zip([column.name for column in table.columns], table.rows[-1], strict=True))
    assert last["state"] == "open"
    assert last["net_urine_ml"] is None
    assert last["irrigant_in_ml"] == 500
    assert last["remarks"]


def test_corrections_and_strike_outs_stand_beside_what_was_first_written() -> None:
    events = with_derived_ids([*opening(), *check(1, 2500, 5800), *check(2, 2000, 1160)])
    wrong = next(x for x in events if isinstance(x, e.DrainageRead))
    mended = entry(
        e.Corrected,
        1.2,
        target=wrong.id,
        fields={"contents_ml": 580},
        reason="a nought too many",
        id="c1",
        by="J.O.",
    )
    other = entry(e.Corrected, 1.3, target=wrong.id, fields={"contents_ml": 58}, reason="slip", id="c2")
    taken_back = entry(e.StruckOut, 1.4, target="c2", reason="was right before", id="s1")
    gone = entry(e.StruckOut, 2.1, target=events[-1].id, reason="other bed", id="s2")
    entries = chart_entries([*events, mended, other, taken_back, gone])
    by_id = {x.event.id: x for x in entries}
    assert by_id[wrong.id].state == "corrected"
    assert [c.id for c in by_id[wrong.id].standing_corrections] == ["c1"]
    assert by_id[events[-1].id].state == "struck_out"
    made = report_of([*events, mended, other, taken_back, gone], at(0), at(12))
    table = made.tables["events"]
    lines = {line["id"]: line for line in table.records()}
    assert "5,800" in str(lines[wrong.id]["what"])
    assert "580 (a nought too many; J.O.," in str(lines[wrong.id]["changes"])
    assert "struck out" in str(lines[wrong.id]["changes"])
    assert lines[events[-1].id]["entry_state"] == "struck out"
    assert len(table.rows) == len(events)


@pytest.mark.parametrize("name", DEMOS)
def test_every_entry_of_a_demo_session_is_told_in_words(name: str) -> None:
    told: Told = demo_report(name, 0).told
    teller: Teller = told.teller
    for event in demo(name):
        teller.tell(event)
