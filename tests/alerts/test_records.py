"""Alerts as records for other programs, and as a nurse reads them."""

from __future__ import annotations

from datetime import timedelta
from zoneinfo import ZoneInfo

import pytest
from bedside import SCALE, TH, WARD, WORDS, t
from test_replay import check, small

from cbi_monitor.alerts.readings import Reading, SetForPatient, Task
from cbi_monitor.alerts.replay import replay
from cbi_monitor.model.events import AlertAnswered
from cbi_monitor.wording.alerts import AlertWords, numbers_of, record_json, task_json


def block() -> list[object]:
    return [*small(*check(15, 2850, 160), *check(30, 2550, 160, "slow"), *check(45, 2400, 640))]


def test_an_alert_as_json_has_the_agreed_fields() -> None:
    told = replay(block(), WARD, SCALE, TH)  # type: ignore[arg-type]
    state = next(a for a in told.alerts if a.condition == "retention")
    answer = AlertAnswered(
        session="s", at=t(31), id="a1", by="km", alert=state.id, kind="going", action="went"
    )
    told = replay([*block(), answer], WARD, SCALE, TH)  # type: ignore[list-item]
    state = next(a for a in told.alerts if a.condition == "retention")
    record = record_json(state, "night.jsonl", WORDS)
    assert {
        "file", "session", "id", "condition", "subject", "priority", "raised_at", "cleared_at", "answered",
        "behind_by_ml", "may_hold_ml", "may_hold_low_ml", "may_hold_high_ml", "says", "do_first", "spoken_by",
    } <= record.keys()  # fmt: skip
    assert (record["file"], record["session"], record["priority"]) == ("night.jsonl", "s", "high")
    assert record["behind_by_ml"] == 300
    assert isinstance(record["may_hold_ml"], int)
    assert record["raised_at"] == "2026-03-01T08:30:00+00:00"
    assert [(a["by"], a["kind"], a["action"]) for a in record["answered"]] == [("km", "going", "went")]
    assert str(record["spoken_by"]).startswith("no_outflow/"), "so little came out that it speaks first"
    speaker = next(a for a in told.alerts if a.condition == "no_outflow")
    assert record_json(speaker, "night.jsonl", WORDS)["spoken_by"] is None
    assert str(record["says"]).startswith("300 mL")
    assert str(record["do_first"]).startswith("Go to the bed now.")


def test_times_carry_the_wards_offset() -> None:
    told = replay(block(), WARD, SCALE, TH)  # type: ignore[arg-type]
    state = next(a for a in told.alerts if a.condition == "retention")
    nepal = AlertWords(ZoneInfo("Asia/Kathmandu"), SCALE)
    assert record_json(state, "f", nepal)["raised_at"] == "2026-03-01T14:15:00+05:45"
    assert "since 14:00" in nepal.says(state.raises[0].reading), "the balance stood highest at 08:15 UTC"


def test_a_task_as_json_is_marked() -> None:
    told = replay(block(), WARD, SCALE, TH, until=t(70))  # type: ignore[arg-type]
    record = task_json(told.tasks[0], "s", "f", ZoneInfo("UTC"))
    assert record["task"] is True
    assert {"kind", "due", "done_at"} <= record.keys()


def test_what_stays_on_the_lane_of_a_cleared_high() -> None:
    told = replay(block(), WARD, SCALE, TH)  # type: ignore[arg-type]
    state = next(a for a in told.alerts if a.condition == "retention")
    assert WORDS.cleared(state) == "was 300 behind, caught up 08:45"
    told = replay(block(), WARD, SCALE, TH, until=t(40))  # type: ignore[arg-type]
    standing = next(a for a in told.alerts if a.condition == "retention")
    with pytest.raises(ValueError, match="stands"):
        WORDS.cleared(standing)


def test_an_estimate_is_shown_to_the_ten_and_kept_exact() -> None:
    facts = {"behind_ml": 283.4, "behind_u_ml": 41.0, "since": t(0), "as_of": t(30)}
    reading = Reading(
        "retention", "bladder", "high", "alert-retention-says-no-volume", "first-act-go-now", facts
    )
    assert WORDS.says(reading).startswith("280 mL (± 80) more in than out since 08:00")
    told = replay(block(), WARD, SCALE, TH)  # type: ignore[arg-type]
    numbers = numbers_of(reading, told.alerts[0].figures)
    assert numbers["behind_ml"] == 283.4
    assert numbers["since"] == "2026-03-01T08:00:00+00:00"


def test_a_limit_of_the_patients_own_is_marked_with_name_and_time() -> None:
    facts = {"scan_ml": 210.0, "at": t(10)}
    own = SetForPatient("Dr N", t(5))
    reading = Reading(
        "bladder_scan",
        "bladder",
        "high",
        "alert-bladder-scan-says",
        "first-act-go-now",
        facts,
        set_for_patient=own,
    )
    assert WORDS.says(reading).endswith("Limit set for this patient by Dr N, 08:05.")


def test_a_time_of_another_day_carries_its_date() -> None:
    assert WORDS.clock(t(0), near=t(60)) == "08:00"
    assert WORDS.clock(t(0), near=t(0) + timedelta(days=1)) == "1 Mar 08:00"


def test_a_look_later_than_the_sum_tells_both_times() -> None:
    task = Task("look", "drip", t(15), t(0), possible_since=t(12))
    assert WORDS.task(task) == "look at the drip by 08:15; the limit may be reached since 08:12"
