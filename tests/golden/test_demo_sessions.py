"""The demo sessions are what their plot says, byte for byte, and so are their balance and their alerts.

``CBI_BLESS=1`` writes all of it anew. Before the ledger's figures are believed they are held against plain sums of the
same levels and volumes, and against the truth that the simulator knows.
"""

from __future__ import annotations

import json
import os
import sys
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from cbi_monitor.alerts.replay import replay
from cbi_monitor.cli.alerts import records
from cbi_monitor.cli.balance import rows_by
from cbi_monitor.cli.rows import row_fields
from cbi_monitor.journal.codec import read_session_file, session_bytes
from cbi_monitor.ledger.account import Row
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.events import Event
from cbi_monitor.practice.authored import STORIES, Story
from cbi_monitor.resources import folder
from cbi_monitor.settings import load_scale, load_thresholds, load_ward
from cbi_monitor.ward.telling import Words

sys.path.insert(0, str(Path(__file__).parent))

from plain_sums import totals_at

BLESS = bool(os.environ.get("CBI_BLESS"))
NAMES = [tell.__name__ for tell in STORIES]
TOLD = {tell.__name__: tell for tell in STORIES}


def story(name: str) -> Story:
    return TOLD[name]()


def same(name: str, suffix: str, now: bytes) -> None:
    """The file beside the demo sessions holds these bytes; blessing writes it."""
    path = folder("demo_sessions") / f"{name}{suffix}"
    if BLESS:
        path.write_bytes(now)
    assert path.read_bytes() == now, f"{path.name} is not what the plot tells; CBI_BLESS=1 writes it anew"


@pytest.mark.parametrize("name", NAMES)
def test_the_chart_is_what_the_plot_tells(name: str) -> None:
    events, _ = story(name).tell()
    same(name, ".jsonl", session_bytes(events))


@pytest.mark.parametrize("name", NAMES)
def test_two_lines_say_what_it_teaches(name: str) -> None:
    told = story(name)
    title = told.name.replace("_", " ").capitalize()
    same(name, ".md", f"# {title}\n\n{told.teaches}\n".encode())
    assert told.teaches.count("\n") == 1


@pytest.mark.parametrize("name", NAMES)
def test_it_lasts_half_a_day_to_three_days_and_reads_back(name: str) -> None:
    events = read_session_file(folder("demo_sessions") / f"{name}.jsonl")
    hours = (events[-1].at - events[0].at).total_seconds() / 3600
    assert 12 <= hours <= 72
    assert events[0].event == "session_opened"
    assert len({event.session for event in events}) == 1
    assert len({event.by for event in events}) >= 2
    assert any(event.event == "handed_over" for event in events)


def test_there_are_seven_beds() -> None:
    beds = {read_session_file(folder("demo_sessions") / f"{name}.jsonl")[0].bed for name in NAMES}
    assert beds == {"7A", "3B", "12", "5C", "1A", "9", "2D"}


def test_the_night_has_its_hour_twice() -> None:
    """Europe/London, 25 October 2026: at 01:00 UTC the clock goes from 02:00 back to 01:00 (IANA time zone data)."""
    events = read_session_file(folder("demo_sessions") / "clock_goes_back.jsonl")
    before = [one for one in events if one.at.utcoffset().total_seconds() == 3600]
    after = [one for one in events if one.at.utcoffset().total_seconds() == 0]
    assert max(one.at for one in before).isoformat() < "2026-10-25T02:00:00+01:00"
    assert min(one.at for one in after).isoformat() >= "2026-10-25T01:00:00+00:00"
    twice = {one.at.hour for one in before if one.at.day == 25} & {one.at.hour for one in after}
    assert twice == {1}


# --- the balance ------------------------------------------------------------------------------------------------

SIDES = ("irrigant_in_ml", "washed_in_ml", "drained_ml", "washed_back_ml")


@cache
def chart(name: str) -> tuple[Event, ...]:
    return tuple(read_session_file(folder("demo_sessions") / f"{name}.jsonl"))


@cache
def ledger(name: str) -> Ledger:
    found = Ledger(chart(name)[0].session, load_ward(), load_scale())
    found.fold_all(chart(name))
    return found


def closed(name: str) -> list[Row]:
    return [row for row in ledger(name).rows if row.state == "closed"]


def without_words(told: Any) -> Any:
    """The same without sentences: those are the ward's to change."""
    if isinstance(told, dict):
        words = ("text", "says", "do_first", "file")
        return {key: without_words(value) for key, value in told.items() if key not in words}
    if isinstance(told, list):
        return [without_words(one) for one in told]
    return told


@pytest.mark.parametrize("name", NAMES)
def test_balance_and_alerts_are_as_expected(name: str) -> None:
    """By check, by shift, and every alert as it would have been raised then, with the shipped ward and thresholds."""
    ward, scale = load_ward(), load_scale()
    words = Words(ZoneInfo(ward.zone), scale)
    told = replay(chart(name), ward, scale, load_thresholds())
    expected = {
        "balance_by_check": [row_fields(row, words) for row in rows_by(ledger(name), ward, "check")],
        "balance_by_shift": [row_fields(row, words) for row in rows_by(ledger(name), ward, "shift")],
        "alerts": records("", told, words, tasks=False),
    }
    text = json.dumps(without_words(expected), indent=1, ensure_ascii=False) + "\n"
    same(name, ".expected.json", text.encode())


@pytest.mark.parametrize("name", NAMES)
def test_each_row_equals_plain_sums(name: str) -> None:
    """Each side of each closed row is the difference of pencil sums at its ends, to a millilitre of rounding."""
    rows = closed(name)
    assert rows
    starts = totals_at(chart(name), load_ward(), [row.start for row in rows])
    ends = totals_at(chart(name), load_ward(), [row.end for row in rows])
    for row, before, after in zip(rows, starts, ends, strict=True):
        ledgers = (row.irrigant_in_ml, row.washed_in_ml, row.drained_ml, row.washed_back_ml)
        pencils = [b - a for a, b in zip(before, after, strict=True)]
        assert ledgers == pytest.approx(pencils, abs=1.01), f"{row.start} to {row.end}: {SIDES}"


@pytest.mark.parametrize("name", NAMES)
def test_the_truth_lies_within_the_stated_range(name: str) -> None:
    """What the simulator knows lies in at least nine of ten rows within the range, and at the end of the running sum.

    A range is held to hold the truth about 19 times in 20; a charted minute may be half a minute off.
    """
    _, sitting = story(name).tell()
    rows = closed(name)

    def net(at: Any) -> float:
        return sitting.bladder.peek((at - sitting.start).total_seconds()).net_ml

    inside = [row.net_low_ml - 15 <= net(row.end) - net(row.start) <= row.net_high_ml + 15 for row in rows]
    assert sum(inside) >= 0.9 * len(rows)
    last = rows[-1]
    assert last.running_since is not None
    true = net(last.end) - net(last.running_since)
    assert last.running_low_ml - 15 <= true <= last.running_high_ml + 15


# --- what each teaches ------------------------------------------------------------------------------------------


def alerts_of(name: str) -> list[Any]:
    return list(replay(chart(name), load_ward(), load_scale(), load_thresholds()).alerts)


def test_the_block_is_found_and_the_way_out_narrows_again() -> None:
    alerts = alerts_of("clot_block")
    assert any(one.condition == "no_outflow" and one.worst == "high" for one in alerts)
    standing = {one.condition for one in alerts if one.stands}
    assert standing & {"retention", "no_outflow"}
    assert ledger("clot_block").rows[-1].behind_ml > 120


def test_the_forgotten_emptying_is_asked_about() -> None:
    """The truth: one emptying of some 2.7 L was never written down; the tool asks, and calls nothing a block."""
    _, sitting = story("forgotten_emptying").tell()
    (forgotten,) = sitting.forgotten
    asked = [one for one in ledger("forgotten_emptying").findings if one.asks]
    assert asked
    assert timedelta(0) <= asked[0].at - forgotten.at <= timedelta(hours=2)
    assert not any(one.condition in {"retention", "no_outflow"} for one in alerts_of("forgotten_emptying"))


def test_low_urine_is_told_and_gross_drainage_would_hide_it() -> None:
    assert any(one.condition == "low_urine" for one in alerts_of("low_urine_hidden"))
    drained = sum(row.drained_ml or 0 for row in closed("low_urine_hidden"))
    assert drained > 14_000


def test_the_smooth_wean_raises_nothing_about_outflow() -> None:
    assert not any(
        one.condition in {"retention", "no_outflow", "distress"} for one in alerts_of("smooth_wean")
    )


def test_the_bleeding_is_high_at_the_end() -> None:
    standing = [one for one in alerts_of("heavy_bleeding") if one.stands]
    assert any(one.condition == "bleeding_on" and one.priority == "high" for one in standing)


def test_the_night_shift_has_thirteen_hours() -> None:
    rows = rows_by(ledger("clock_goes_back"), load_ward(), "shift")
    night = next(row for row in rows if row.start.isoformat() == "2026-10-24T18:00:00+00:00")
    assert night.end - night.start == timedelta(hours=13)
