"""The body and the plumbing: conserved to the mL, and behaving as its scene says."""

from math import exp, log

import pytest

from cbi_monitor.practice import Bladder, Body, Drainage, Scene, Sitting, Trouble
from cbi_monitor.practice.scene import Bags
from cbi_monitor.practice.scenes import BY_NAME

STEADY = Body(urine_log_sd=0.0)


def bed(hours: float = 1.0, rate: float = 1000.0, **parts) -> Bladder:
    bladder = Bladder(Scene(**{"body": STEADY, **parts}), seed=1)
    bladder.hang("A")
    bladder.set_rate(rate)
    bladder.run_to(int(hours * 3600))
    return bladder


@pytest.mark.parametrize("name", BY_NAME)
@pytest.mark.parametrize("seed", [1, 2])
def test_every_millilitre_is_somewhere(name: str, seed: int) -> None:
    """In + washed in + urine + blood + what was there = out + washed back + leaked + absorbed + what is there."""
    sitting = Sitting(BY_NAME[name](seed), seed)
    sitting.whole()
    start = sitting.bladder.start
    for one in sitting.bladder.series:
        came = start + one.run_in_ml + one.washed_in_ml + one.urine_ml + one.blood_ml
        went = one.drained_ml + one.washed_back_ml + one.leaked_ml + one.absorbed_ml
        assert came - went == pytest.approx(one.bladder_ml, abs=1e-6)
    assert sitting.bladder.series[-1].run_in_ml > 5000


def test_a_free_bladder_keeps_only_its_residue() -> None:
    bladder = bed()
    assert bladder.bladder < 15 + 10
    assert bladder.outflow_now == pytest.approx(bladder.inflow_now + bladder.fresh_now + 1.6, abs=2)


def test_inflow_slows_as_the_bag_empties() -> None:
    """Falling head: the flow goes with the root of 70 cm plus up to 30 cm of fluid, so 0.84 of it at the end."""
    bladder = bed(hours=0.01, bags=Bags(over_label=0.0))
    first = bladder.inflow_now
    bladder.run_to(int(3.0 * 3600))
    assert first == pytest.approx(1000, rel=0.03)
    assert bladder.inflow_now / first == pytest.approx(0.84, abs=0.02)


def test_a_bag_runs_dry_and_then_only_urine_comes() -> None:
    bladder = bed(hours=5, bags=Bags(over_label=0.042))
    assert bladder.run_in == pytest.approx(3000 * 1.042, abs=1e-6)
    assert bladder.inflow_now == 0
    assert bladder.outflow_now == pytest.approx(78 + 1.6, abs=1)


@pytest.mark.parametrize(("rate", "minutes"), [(200, 92), (500, 43), (1000, 23), (2000, 12)])
def test_a_full_block_fills_400_ml_as_fast_as_reckoned(rate: float, minutes: float) -> None:
    """400 mL at 60 mL/h of urine: 92, 43, 23, 12 min (arithmetic on the figures given, as in the balance checks)."""
    body = Body(weight_kg=60.0, urine_log_sd=0.0, residue_ml=0.0, start_ml=0.0)
    bladder = bed(hours=0, rate=rate, body=body, troubles=(Trouble(0.0, over_minutes=0.0),))
    while bladder.bladder < 400:
        bladder.run_to(bladder.t + 30)
    assert bladder.t / 60 == pytest.approx(minutes, rel=0.05, abs=1.0)


def test_a_full_block_shuts_within_four_minutes() -> None:
    bladder = bed(hours=1.0 + 4.5 / 60, troubles=(Trouble(1.0),))
    assert bladder.blocked
    shut = bladder.truth()
    bladder.run_to(bladder.t + 600)
    assert bladder.drained == shut.drained_ml
    assert bladder.bladder - shut.bladder_ml == pytest.approx((1000 + 78) / 6, rel=0.10)


def test_a_partial_block_still_drips() -> None:
    bladder = bed(
        hours=2.0, rate=600, troubles=(Trouble(1.0, "partial", over_minutes=5, passes_ml_per_h=60),)
    )
    assert 0 < bladder.outflow_now < 200
    assert bladder.bladder > 400


def test_on_and_off_does_both() -> None:
    trouble = Trouble(1.0, "on_off", over_minutes=0, shut_minutes=15, open_minutes=15)
    bladder = bed(hours=3.0, rate=300, troubles=(trouble,), bags=Bags(label_ml=5000))
    states = {one.blocked for one in bladder.series if one.t > 3600}
    assert states == {True, False}


def test_a_drainage_bag_full_to_the_brim_blocks() -> None:
    bladder = bed(hours=3.0, drainage=Drainage(capacity_ml=2000, brim=1.05))
    assert bladder.contents == pytest.approx(2100)
    assert bladder.full_bag
    assert bladder.outflow_now == 0
    assert bladder.bladder > 300
    assert bladder.empty() == pytest.approx(2100)
    bladder.run_to(bladder.t + 900)
    assert bladder.bladder < 40


def test_a_full_bladder_leaks_beside_the_catheter() -> None:
    body = Body(urine_log_sd=0.0, leaks_from_ml=250)
    bladder = bed(hours=2.5, body=body, troubles=(Trouble(1.0),))
    assert bladder.leaked > 500
    assert bladder.bladder < 400


def test_no_urine_is_none_and_retained_urine_drains_at_once() -> None:
    assert bed(body=Body(urine_ml_per_kg_h=0.0)).urine == 0
    bladder = bed(hours=0.25, body=Body(start_ml=900.0, urine_log_sd=0.0))
    assert bladder.drained > 900
    assert bladder.bladder < 40


def test_absorbed_fluid_leaves_in_no_bag() -> None:
    body = Body(urine_log_sd=0.0, absorbs_ml_per_h=350, absorbs_from_h=1, absorbs_to_h=3)
    bladder = bed(hours=4, body=body, rate=500)
    assert bladder.absorbed == pytest.approx(700, abs=6)


def test_urine_is_a_slow_log_normal_walk() -> None:
    """Log-sd 0.35, memory 4 h: over many beds the spread is 0.35 and an hour later the correlation is exp(−1/4)."""
    now, later = [], []
    for seed in range(400):
        bladder = Bladder(Scene(), seed)
        bladder.run_to(3600)
        now.append(log(bladder.fresh_now / 78))
        bladder.run_to(7200)
        later.append(log(bladder.fresh_now / 78))
    sd = (sum(one * one for one in now) / len(now)) ** 0.5
    together = sum(a * b for a, b in zip(now, later, strict=True)) / sum(a * a for a in now)
    assert sd == pytest.approx(0.35, abs=0.04)
    assert together == pytest.approx(exp(-0.25), abs=0.08)


def test_looking_ahead_changes_nothing() -> None:
    asked, left_alone = bed(), bed()
    ahead = asked.peek(7200)
    asked.run_to(9000)
    left_alone.run_to(9000)
    assert asked.truth() == left_alone.truth()
    assert asked.peek(7200) == ahead
