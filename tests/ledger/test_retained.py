"""Behind by, may hold, proof, the time for a full block, urine windows, rates and forecasts."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.ledger.charts import START, WARD, account, check, entry, opening


def minute(n: float):
    return START + timedelta(minutes=n)


def test_behind_comes_home_to_zero_when_all_runs_on():
    ledger = account([*opening(), *check(60, 700, A=2400), *check(120, 1400, A=1800)])
    assert ledger.at(minute(120)).behind.ml == 0


def test_behind_is_the_drop_from_the_highest_point():
    ledger = account([*opening(), *check(60, 700, A=2400), *check(75, 720, A=2250), *check(90, 740, A=2100)])
    behind = ledger.at(minute(90)).behind
    assert behind.ml == 130 + 130
    assert behind.since == minute(60)


def test_a_negative_row_alone_is_kept_and_counted_behind():
    ledger = account([*opening(), *check(60, 700, A=2400), *check(120, 1000, A=1800)])
    assert ledger.rows[-1].net_ml == -300
    assert ledger.rows[-1].behind_ml == 300


def test_may_hold_holds_the_behind_and_widens_until_the_next_look():
    ledger = account([*opening(), *check(60, 700, A=2400), *check(90, 700, A=2100)])
    then, later = ledger.at(minute(90)), ledger.at(minute(105))
    assert then.may_hold.at_close.low < 300 < then.may_hold.at_close.high
    assert later.may_hold.now.high > then.may_hold.now.high
    assert later.may_hold.now.low == then.may_hold.now.low


def test_an_old_close_is_blind():
    ledger = account([*opening(), *check(60, 700, A=2400)])
    hold = ledger.at(minute(60 + WARD.bladder.blind_minutes + 1)).may_hold
    assert (hold.cannot_tell, hold.now) == ("blind", None)


def test_a_full_block_reaches_the_limit_sooner_at_a_higher_rate():
    slow = account([*opening(), entry("inflow_set", 0, ml_per_h=200), *check(60, 280, A=2800)])
    fast = account([*opening(), entry("inflow_set", 0, ml_per_h=1000), *check(60, 1080, A=2000)])
    assert fast.at(minute(60)).block_reaches_limit < slow.at(minute(60)).block_reaches_limit


def test_a_steady_look_moves_the_harmless_time_but_a_slow_one_proves_nothing():
    base = [*opening(), *check(60, 700, A=2400)]
    steady = account([*base, entry("outflow_seen", 75, running=True, how="steady")]).at(minute(76))
    slow = account([*base, entry("outflow_seen", 75, running=True, how="slow")]).at(minute(76))
    assert steady.block_reaches_limit - slow.block_reaches_limit == timedelta(minutes=15)
    assert steady.proof.at == minute(75)
    assert slow.seen.how == "slow"
    assert slow.steady.at == minute(60)


def test_a_look_never_lowers_what_the_volumes_say():
    base = [*opening(), *check(60, 700, A=2400), *check(90, 700, A=2100)]
    looked = account([*base, entry("outflow_seen", 95, running=True, how="steady")]).at(minute(95))
    assert looked.behind.ml == 300
    assert looked.may_hold.at_close.high >= 300


def test_a_steady_look_at_a_patient_in_pain_is_no_proof():
    base = [
        *opening(),
        *check(60, 700, A=2400),
        entry("outflow_seen", 75, running=True, how="steady", check="x"),
    ]
    ledger = account([*base, entry("symptoms", 75, pain=5, check="x")])
    assert ledger.at(minute(76)).proof.at != minute(75)


def test_a_washout_that_emptied_the_bladder_begins_the_estimate_anew():
    ledger = account([
        *opening(), *check(60, 700, A=2400), *check(90, 700, A=2100),
        entry("washout", 90, instilled_ml=200, returned_ml=500, returned_to="dish", bladder_emptied=True),
        *check(120, 1050, A=1800),
    ])  # fmt: skip
    assert ledger.at(minute(120)).behind.ml == 0


def test_a_scan_may_raise_what_the_bladder_may_hold():
    base = [*opening(), *check(60, 700, A=2400)]
    plain = account(base).at(minute(61)).may_hold.at_close
    scanned = account([*base, entry("bladder_scanned", 61, volume_ml=350)]).at(minute(61)).may_hold.at_close
    assert scanned.mid > plain.mid
    assert scanned.high >= 350


def test_a_scan_lowers_only_where_clot_cannot_hide():
    base = [*opening(), *check(60, 700, A=2400), *check(90, 700, A=2100)]
    scan = entry("bladder_scanned", 91, volume_ml=60)
    pale = account([*base, entry("effluent_graded", 90, grade="pale_pink", clots="none"), scan]).at(
        minute(91)
    )
    clotted = account([*base, entry("effluent_graded", 90, grade="pale_pink", clots="small"), scan]).at(
        minute(91)
    )
    assert (
        pale.may_hold.at_close.mid
        < clotted.may_hold.at_close.mid
        == account(base).at(minute(91)).may_hold.at_close.mid
    )


def test_too_much_for_a_bladder_is_something_not_written_down():
    ledger = account([*opening(), *check(60, 700, A=2400), *check(180, 800, A=1200)])
    assert ledger.at(minute(180)).may_hold.cannot_tell == "too_much"
    assert [found.kind for found in ledger.findings] == ["volume_missing"]


def test_no_limit_for_a_child_until_it_is_typed():
    child = account(opening(weight_kg=20, age_years=7)).at(minute(1))
    assert (child.limit_ml, child.limit_from) == (None, "must_be_typed")
    ordered = entry("ordered", 1, by_whom="Dr", how="written", bladder_limit_ml=90)
    assert account([*opening(weight_kg=20, age_years=7), ordered]).at(minute(2)).limit_ml == 90


def test_rate_from_the_bags_then_from_what_was_set():
    ledger = account([*opening(), entry("inflow_set", 0, ml_per_h=500), *check(60, 700, A=2400)])
    assert ledger.at(minute(60)).inflow_basis == "bags"
    assert ledger.at(minute(60)).inflow.mid == pytest.approx(600)
    reset = account([*opening(), *check(60, 700, A=2400), entry("inflow_set", 61, ml_per_h=300)]).at(
        minute(62)
    )
    assert (reset.inflow_basis, reset.inflow.mid) == ("set", 300)


def test_three_litres_last_six_hours_at_500_and_three_at_1000():
    """Calculated: 3,000 mL lasts 6 h at 500 mL/h, 3 h at 1,000."""
    for rate, hours in ((500, 6), (1000, 3)):
        standing = account([*opening(), entry("inflow_set", 0, ml_per_h=rate)]).at(minute(1))
        assert standing.lines[0].dry.likely == START + timedelta(hours=hours)


def test_the_drainage_bag_fills_by_inflow_and_urine():
    standing = account([*opening(), entry("inflow_set", 0, ml_per_h=500)]).at(minute(1))
    assert standing.drainage.full.likely == START + timedelta(hours=4000 / 578)


def test_urine_needs_six_hours_and_adds_up():
    events = [*opening(), entry("inflow_set", 0, ml_per_h=300)]
    for hour in range(1, 8):
        events += check(60 * hour, 380 * hour, A=3000 - 300 * hour)
    ledger = account(events)
    window = ledger.urine(6)
    assert window.not_known == ""
    assert window.end - window.start == timedelta(hours=6)
    assert window.made_ml.low < 480
    assert window.rate.mid <= 80
    assert account(events[:12]).urine(6).not_known == "too_short"


def test_urine_is_not_known_while_fluid_stays_behind():
    events = [*opening(), entry("inflow_set", 0, ml_per_h=300)]
    for hour in range(1, 8):
        events += check(60 * hour, 380 * min(hour, 6), A=3000 - 300 * hour)
    assert account(events).urine(6).not_known == "see_behind"


def test_irrigant_run_in_at_an_unknown_time_reduces_behind_by_its_largest():
    ledger = account([
        entry("session_opened", 0, patient="r"), entry("irrigant_run_in", 60, volume=3000),
        entry("drainage_emptied", 120, volume=2500),
    ])  # fmt: skip
    assert ledger.rows[0].net_ml == -3000
    assert ledger.rows[0].behind_ml == 0


def test_a_bag_that_hung_clamped_runs_from_when_it_was_opened():
    ledger = account([
        *opening(), entry("bag_hung", 0, line="B", label_ml=3000, fluid="saline_0_9", clamped=True),
        entry("inflow_set", 0, ml_per_h=500), entry("line_opened", 300, line="B"),
        entry("line_clamped", 300, line="A"), entry("inflow_set", 300, line="B", ml_per_h=500),
    ])  # fmt: skip
    line = next(line for line in ledger.at(minute(420)).lines if line.name == "B")
    assert line.level_now.mid == pytest.approx(2000)
    assert line.dry.likely == minute(300 + 360)
