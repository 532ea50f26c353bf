"""Properties of folding: order of arrival, prefix and rest, conservation, shifting, corrections."""

from __future__ import annotations

import random
from datetime import timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.canonical import payload_of, with_derived_ids
from cbi_monitor.model.events import BY_NAME
from tests.ledger.charts import SCALE, WARD, account, check, entry, opening

MINUTES = st.integers(min_value=1, max_value=600)
ML = st.integers(min_value=0, max_value=4500)


@st.composite
def charts(draw):
    """An opening and then anything at any time, sensible or not, five entries at one minute included."""
    events = opening()
    for _ in range(draw(st.integers(0, 22))):
        minute = draw(st.sampled_from([30, 60, 61, 90, 120]) | MINUTES)
        line = draw(st.sampled_from("AB"))
        ml = draw(ML)
        events.append(
            draw(
                st.sampled_from([
                    entry("bag_read", minute, line=line, left_ml=ml),
                    entry("bag_hung", minute, line=line, label_ml=3000, fluid="saline_0_9"),
                    entry("bag_down", minute, line=line, left_ml=ml),
                    entry("drainage_read", minute, contents_ml=ml),
                    entry("drainage_emptied", minute, volume=ml),
                    entry("drainage_emptied", minute, not_measured=True),
                    entry("drainage_bag_placed", minute, capacity_ml=2000),
                    entry("washout", minute, instilled_ml=50, returned_ml=40, returned_to="dish"),
                    entry("washout", minute, instilled_ml=50, bladder_emptied=True),
                    entry("leaked", minute, volume=30),
                    entry("voided", minute, volume=ml),
                    entry("irrigant_run_in", minute, volume=ml),
                    entry("inflow_set", minute, ml_per_h=float(ml)),
                    entry("inflow_stopped", minute, reason="trial"),
                    entry("inflow_started", minute),
                    entry("line_clamped", minute, line=line),
                    entry("outflow_seen", minute, running=True, how="steady"),
                    entry("bladder_scanned", minute, volume_ml=float(ml % 700)),
                    entry("count_restarted", minute, reason="other", bladder_ml=100),
                    entry("symptoms", minute, pain=6),
                    entry("ordered", minute, by_whom="Dr", how="written", expected_urine="low"),
                    entry("catheter_removed", minute, reason="changed"),
                ])
            )
        )  # fmt: skip
    return with_derived_ids(events)


def told(ledger: Ledger):
    now = ledger.last_at + timedelta(minutes=7)
    return list(ledger.rows), list(ledger.findings), ledger.at(now), ledger.facts, ledger.urine(6)


SLOW = settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow])


@SLOW
@given(charts(), st.randoms(use_true_random=False))
def test_order_of_arrival_does_not_matter(events, rng: random.Random):
    shuffled = list(events)
    rng.shuffle(shuffled)
    one_by_one = Ledger("s", WARD, SCALE)
    for event in shuffled:
        one_by_one.fold(event)
    assert told(one_by_one) == told(account(events))


@SLOW
@given(charts(), st.integers(0, 30))
def test_folding_all_equals_folding_a_prefix_and_the_rest(events, cut):
    ledger = Ledger("s", WARD, SCALE)
    ledger.fold_all(events[:cut])
    fork = ledger.fork()
    ledger.fold_all(events[cut:])
    assert told(ledger) == told(account(events))
    if events[:cut]:
        assert told(fork) == told(account(events[:cut]))


@SLOW
@given(charts())
def test_rows_follow_each_other_and_running_is_the_sum(events):
    ledger = account(events)
    running, since = 0, None
    for before, row in zip([None, *ledger.rows], ledger.rows, strict=False):
        assert row.end > row.start
        assert before is None or before.end == row.start
        if row.state == "closed":
            out = row.drained_ml + row.washed_back_ml + row.leaked_ml + row.otherwise_ml
            assert row.net_ml == out - row.irrigant_in_ml - row.washed_in_ml
            if row.running_since is not None:
                running = row.net_ml if row.running_since != since else running + row.net_ml
                since = row.running_since
                assert row.running_ml == running
    assert all(row.state != "open" for row in ledger.rows[:-1])


@SLOW
@given(charts())
def test_shifting_all_times_shifts_only_times(events):
    shift = timedelta(days=36_500, hours=5)
    moved = []
    for event in events:
        payload = {**payload_of(event), "at": (event.at + shift).isoformat()}
        moved.append(BY_NAME[event.event].model_validate(payload))
    here, there = account(events), account(moved)
    strip = [
        (
            r.state,
            r.irrigant_in_ml,
            r.drained_ml,
            r.net_ml,
            r.net_low_ml,
            r.running_ml,
            r.behind_ml,
            r.may_hold,
        )
        for r in here.rows
    ]
    assert strip == [
        (
            r.state,
            r.irrigant_in_ml,
            r.drained_ml,
            r.net_ml,
            r.net_low_ml,
            r.running_ml,
            r.behind_ml,
            r.may_hold,
        )
        for r in there.rows
    ]
    assert [row.end + shift for row in here.rows] == [row.end for row in there.rows]


@SLOW
@given(charts(), st.data())
def test_correct_then_strike_out_the_correction_is_nothing(events, data):
    ledger = account(events)
    before = told(ledger)
    target = data.draw(st.sampled_from(events[1:]))
    corrected = entry("corrected", 601, id="c1", target=target.id, reason="x",
                      fields={"at": (target.at + timedelta(minutes=3)).isoformat()}).model_copy()  # fmt: skip
    ledger.fold(corrected)
    ledger.fold(entry("struck_out", 602, id="c2", target="c1", reason="x"))
    assert told(ledger) == before


def test_a_struck_out_entry_counts_no_more_but_stays_on_the_chart():
    events = with_derived_ids(
        [*opening(), *check(60, 700, A=2400), *check(120, 1400, A=1000), *check(180, 2100, A=1200)]
    )
    wrong = next(event for event in events if getattr(event, "left_ml", None) == 1000)
    ledger = account([*events, entry("struck_out", 190, id="x", target=wrong.id, reason="misread")])
    assert [row.irrigant_in_ml for row in ledger.rows] == [600, 1200]
    assert ledger.entry(wrong.id).event is None
    assert ledger.entry(wrong.id).struck_out.reason == "misread"


def test_a_correction_may_arrive_before_its_entry():
    events = with_derived_ids([*opening(), *check(60, 700, A=2400)])
    reading = next(event for event in events if event.event == "bag_read")
    fix = entry("corrected", 70, id="fix", target=reading.id, fields={"left_ml": 2300}, reason="misread")
    ledger = Ledger("s", WARD, SCALE)
    for event in [fix, *reversed(events)]:
        ledger.fold(event)
    assert ledger.rows[0].irrigant_in_ml == 700


def test_a_late_entry_resumes_from_a_checkpoint():
    events = opening()
    for n in range(1, 200):
        events += check(10.0 * n + 10, 20.0 * (n % 100), A=max(0.0, 3000 - 10.0 * n))
    events = with_derived_ids(events)
    ledger = account(events)
    late = entry("outflow_seen", 1005, running=True, how="slow", id="late")
    ledger.fold(late)
    assert told(ledger) == told(account([*events, late]))


def test_a_correction_may_spell_the_volume_either_way():
    events = with_derived_ids([*opening(), entry("voided", 30, volume=100), *check(60, 700, A=2400)])
    voided = next(event for event in events if event.event == "voided")
    fix = entry("corrected", 70, id="fix", target=voided.id, fields={"volume_ml": 120}, reason="misread")
    assert account([*events, fix]).rows[-1].otherwise_ml == 120
