"""The nurse at the simulated bed: a valid chart, the same for the same seed, and answers when called."""

import time
from dataclasses import replace
from datetime import timedelta

import pytest
from pydantic import TypeAdapter

from cbi_monitor.model.canonical import canonical_bytes, payload_of
from cbi_monitor.model.events import BY_NAME as KINDS
from cbi_monitor.practice import Habits, Scene, Sitting, Trouble
from cbi_monitor.practice.scenes import (
    BY_NAME,
    careful_reader,
    forgotten_bag,
    forgotten_emptying,
    real_night,
    weighed,
    whole_bags,
)


def kinds(events, name):
    return [event for event in events if event.event == name]


@pytest.mark.parametrize("name", BY_NAME)
def test_every_entry_is_one_the_contract_accepts(name: str) -> None:
    """Written out and read back, each entry is the same entry; ids never repeat."""
    events = Sitting(BY_NAME[name](3), 3).whole()
    for event in events:
        assert TypeAdapter(KINDS[event.event]).validate_python(payload_of(event)) == event
        assert event.recorded is not None
        assert event.recorded >= event.at
    assert len({event.id for event in events}) == len(events)
    assert events[0].event == "session_opened"


@pytest.mark.parametrize("name", BY_NAME)
def test_same_seed_same_chart(name: str) -> None:
    first, again, other = (Sitting(BY_NAME[name](seed), seed).whole() for seed in (5, 5, 6))
    assert [canonical_bytes(one) for one in first] == [canonical_bytes(one) for one in again]
    assert [canonical_bytes(one) for one in first] != [canonical_bytes(one) for one in other]


def test_asking_bit_by_bit_gives_the_same_chart() -> None:
    whole = Sitting(real_night(4, blocked=True), 4).whole()
    sitting = Sitting(real_night(4, blocked=True), 4)
    bits, now = [], sitting.start
    while now <= sitting.start + timedelta(hours=25):
        bits += sitting.until(now)
        now += timedelta(minutes=7)
    assert [one.id for one in bits] == [one.id for one in whole]
    stepped = list(Sitting(real_night(4, blocked=True), 4))
    assert [one.id for one in stepped] == [one.id for one in whole]


def test_entries_become_known_in_order() -> None:
    events = Sitting(real_night(2), 2).whole()
    known = [max(one.at, one.recorded) for one in events]
    assert known == sorted(known)


def test_a_careful_reader_is_off_by_what_her_instruments_say() -> None:
    """Charted in and out against the truth: without a block the balance is near what truly was made."""
    for seed in range(5):
        sitting = Sitting(careful_reader(seed, every=60, over_label=0.0), seed)
        events = sitting.whole()
        emptied = sum(one.volume for one in kinds(events, "drainage_emptied"))
        true = sitting.bladder.drained - sitting.bladder.contents
        assert emptied == pytest.approx(true, abs=4 * (0.015 * true / 24**0.5 + 40))


def test_labels_are_charted_and_bags_hold_more() -> None:
    sitting = Sitting(careful_reader(1, every=60, over_label=0.042), 1)
    hung = kinds(sitting.whole(), "bag_hung")
    assert len(hung) >= 4
    assert {one.label_ml for one in hung} == {3000}
    assert all(full > 3000 for full in sitting.bladder.full.values())
    assert sitting.bladder.run_in > 1.02 * 14_000 * 0.9


def test_a_silent_bed_charts_volumes_only() -> None:
    names = {one.event for one in Sitting(careful_reader(1), 1).whole()}
    assert not names & {"outflow_seen", "symptoms", "effluent_graded"}
    assert {"bag_read", "drainage_emptied", "bag_hung", "bag_down"} <= names


def test_a_look_asked_for_is_answered_in_time() -> None:
    sitting = Sitting(careful_reader(8, every=60, blocked=True, looks=True), 8)
    began = sitting.start + timedelta(hours=sitting.scene.troubles[0].at_h, minutes=5)
    sitting.until(began)
    sitting.look_asked(began)
    seen = kinds(sitting.until(began + timedelta(minutes=6)), "outflow_seen")
    assert seen
    assert not seen[0].running
    assert began - timedelta(minutes=1) <= seen[0].at <= began + timedelta(minutes=5)


def test_an_alert_brings_the_nurse_who_finds_stops_washes_and_restarts() -> None:
    scene = careful_reader(9, every=60, blocked=True)
    sitting = Sitting(scene, 9)
    called = sitting.start + timedelta(hours=scene.troubles[0].at_h, minutes=12)
    sitting.until(called)
    assert sitting.bladder.blocked
    sitting.alert_raised(called)
    after = sitting.until(called + timedelta(hours=1.5))
    order = [
        one.event
        for one in after
        if one.event in {"outflow_seen", "inflow_stopped", "washout", "inflow_started"}
    ]
    assert order[:3] == ["outflow_seen", "inflow_stopped", "washout"]
    assert "inflow_started" in order
    assert sitting.found[0][1] > 100
    assert not sitting.bladder.blocked
    assert sitting.bladder_ml(called + timedelta(hours=1.5)) < 60
    assert sitting.blocks[0].ended is not None


def test_forgotten_volumes_are_in_the_truth_and_not_on_the_chart() -> None:
    told = Sitting(real_night(3), 3)
    forgot = Sitting(forgotten_emptying(3), 3)
    usual, short = told.whole(), forgot.whole()
    assert len(forgot.forgotten) == 1
    assert forgot.forgotten[0].ml > 1500
    assert len(kinds(short, "drainage_emptied")) == len(kinds(usual, "drainage_emptied")) - 1
    bag = Sitting(forgotten_bag(3), 3)
    assert len(kinds(bag.whole(), "bag_hung")) < len(kinds(usual, "bag_hung"))
    assert bag.forgotten[0].ml < -2500


def test_weighed_and_whole_bag_wards_chart_their_own_way() -> None:
    scale = Sitting(weighed(1), 1).whole()
    assert all(one.left_g is not None for one in kinds(scale, "bag_read"))
    assert all(one.mass_g is not None for one in kinds(scale, "drainage_read"))
    bags = Sitting(whole_bags(1), 1).whole()
    assert not kinds(bags, "bag_read")
    assert {one.line for one in kinds(bags, "bag_hung")} == {"A", "B"}


def test_only_one_of_two_lines_runs_at_a_time() -> None:
    sitting = Sitting(whole_bags(2), 2)
    sitting.whole()
    assert sum(sitting.bladder.open.values()) == 1


def test_shift_change_is_handed_over_with_read_back() -> None:
    scene = Scene(hours=13, staff=((0, "K.M."), (12, "T.O.")))
    events = Sitting(scene, 1).whole()
    (handed,) = kinds(events, "handed_over")
    assert (handed.from_, handed.to, handed.read_back) == ("K.M.", "T.O.", True)
    assert events[-1].by == "T.O."


def test_a_late_entry_is_known_late() -> None:
    scene = Scene(hours=8, habits=Habits(late_part=1.0, late_minutes=(40, 50)))
    reads = kinds(Sitting(scene, 1).whole(), "bag_read")
    assert all(one.recorded - one.at >= timedelta(minutes=39) for one in reads)


def test_the_patient_who_hurts_rings() -> None:
    scene = Scene(hours=12, troubles=(Trouble(3.1),), rates=((0, 1000),), habits=Habits(missed=1.0))
    silent = Sitting(scene, 1)
    silent.whole()
    rings = Sitting(replace(scene, body=replace(scene.body, rings=True)), 1)
    rings.whole()
    assert not silent.found
    assert len(rings.found) == 1


def test_a_day_of_quarter_hours_takes_little_time() -> None:
    """Benchmarks run thousands of beds: some 20 ms each on a desk PC, far under a quarter of a second on any."""
    started = time.perf_counter()
    Sitting(careful_reader(1, every=15), 1).whole()
    assert time.perf_counter() - started < 0.25
