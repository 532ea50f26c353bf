"""Worked balances from outside the project; each names its source."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.ledger.charts import START, account, entry


def direct(run_in: float, emptied: float):
    return account([
        entry("session_opened", 0, patient="r"), entry("irrigant_run_in", 60, volume=run_in),
        entry("drainage_emptied", 60, volume=emptied),
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("run_in", "emptied", "net"),
    [
        (3000, 3800, 800),  # public nursing forum, "Measuring I&O with CBI", worked example
        (3000, 2800, -200),  # the same; kept negative
        (1000, 1500, 500),  # public nursing explainer on irrigation and output
        (250, 925, 675),  # published exercise, 50 mL/h from 07 to 12 h entered as 250 mL; answer calculated
        (4000, 3700, -300),  # calculated; never clipped to 0
    ],
)
def test_net_is_drained_minus_irrigant(run_in, emptied, net):
    row = direct(run_in, emptied).rows[-1]
    assert (row.net_ml, row.running_ml) == (net, net)


def test_a_set_rate_is_no_volume():
    """Published exercise: 50 mL/h for 5 h; only the charted 250 mL count."""
    ledger = account([
        entry("session_opened", 0, patient="r"), entry("inflow_set", 0, ml_per_h=50),
        entry("drainage_emptied", 300, volume=925),
    ])  # fmt: skip
    assert ledger.rows[-1].irrigant_in_ml == 0


def test_expected_outflow_is_irrigant_plus_least_urine():
    """Published nursing procedure: irrigant 100 mL/h, at least 30 mL/h of urine: below 130 mL/h tell the physician."""
    row = direct(100, 129).rows[-1]
    assert row.net_ml < 30
    assert direct(100, 130).rows[-1].net_ml == 30


def test_twelve_hours_with_bags_washouts_and_a_rest():
    """Calculated: four 3,000 mL bags, 600 left; washouts 3 × 50 in, 140 back;
    12,950 drained: 1,540 mL, 128 mL/h.
    """
    bags = [
        entry("bag_hung", minute, line="A", label_ml=3000, fluid="saline_0_9")
        for minute in (0, 190, 380, 560)
    ]
    ledger = account([
        entry("session_opened", 0, patient="r", weight_kg=70), *bags,
        entry("washout", 300, pushes=3, syringe_ml=50, returned_ml=140, returned_to="dish"),
        entry("bag_read", 720, line="A", left_ml=600), entry("drainage_emptied", 720, volume=12950),
    ])  # fmt: skip
    row = ledger.spans([START, START + timedelta(hours=12)])[0]
    assert (row.irrigant_in_ml, row.washed_in_ml, row.washed_back_ml, row.drained_ml) == (
        11400,
        150,
        140,
        12950,
    )
    assert row.net_ml == ledger.rows[-1].running_ml == 1540
    assert round(row.net_ml / 12) == 128


def test_a_day_with_everything_else_that_enters_and_leaves():
    """Calculated: 70 kg, oral 1,450, IV 1,920, irrigant 13,600, drained 15,850,
    drain 80, vomit 150: urine 2,250, balance +890.
    """
    ledger = account([
        entry("session_opened", 0, patient="r", weight_kg=70), entry("fluid_taken", 300, route="oral", volume=1450),
        entry("fluid_taken", 400, route="IV", volume=1920), entry("fluid_lost", 500, route="wound drain", volume=80),
        entry("fluid_lost", 600, route="vomit", volume=150), entry("irrigant_run_in", 1440, volume=13600),
        entry("drainage_emptied", 1440, volume=15850),
    ])  # fmt: skip
    row = ledger.rows[-1]
    assert row.net_ml == 2250
    assert row.ml_per_kg_per_h.mid == pytest.approx(1.34, abs=0.005)
    assert row.other_out_ml + row.net_ml == 2480
    assert row.fluid_balance_ml == 890


def test_a_bag_across_handover_is_shared_by_its_level():
    """Calculated: 3,000 hung 18:00, 1,800 left at 19:00: the old shift has 1,200, the new one starts with 1,800."""
    ledger = account([
        entry("session_opened", 0, patient="r"), entry("bag_hung", 0, line="A", label_ml=3000, fluid="saline_0_9"),
        entry("bag_read", 60, line="A", left_ml=1800), entry("bag_read", 120, line="A", left_ml=1000),
    ])  # fmt: skip
    old, new = ledger.rows
    assert old.irrigant_in_ml == 1200
    assert new.start_bags == {"A": 1800}


def test_a_washout_not_all_back_is_expected_in_the_drainage():
    """Calculated: 150 in, 110 back: −40, expected later in the drainage."""
    ledger = account([
        entry("session_opened", 0, patient="r"),
        entry("washout", 60, instilled_ml=150, returned_ml=110, returned_to="dish"),
    ])  # fmt: skip
    assert ledger.rows[-1].net_ml == -40


@pytest.mark.parametrize(("drops_per_ml", "drops_per_min"), [(10, 83), (15, 125), (20, 167)])
def test_drip_rates(drops_per_ml, drops_per_min):
    """Calculated: drops/min = mL/h × drops/mL / 60; 500 mL/h is 83, 125, 167 drops/min at 10, 15, 20 drops/mL."""
    ledger = account([
        entry("session_opened", 0, patient="r"), entry("bag_hung", 0, line="A", label_ml=3000, fluid="saline_0_9"),
        entry("inflow_set", 0, drops_per_min=drops_per_min, drops_per_ml=drops_per_ml),
    ])  # fmt: skip
    assert ledger.at(START).inflow.mid == pytest.approx(500, abs=2.5)


def test_published_drip_rate_exercise():
    """Published exercise: 1,000 mL over 9 h at 15 drops/mL is 28 drops/min."""
    ledger = account([
        entry("session_opened", 0, patient="r"), entry("bag_hung", 0, line="A", label_ml=1000, fluid="saline_0_9"),
        entry("inflow_set", 0, drops_per_min=28, drops_per_ml=15),
    ])  # fmt: skip
    assert 1000 / ledger.at(START).inflow.mid == pytest.approx(9, abs=0.1)


@pytest.mark.parametrize(("rate", "minutes"), [(200, 92), (500, 43), (1000, 23), (2000, 12)])
def test_time_for_a_full_block_to_put_400_ml_in_the_bladder(rate, minutes):
    """Calculated: a full block with 60 mL/h of urine puts 400 mL in the bladder in 92, 43, 23, 12 min."""
    from tests.ledger.charts import SCALE, WARD, Ledger, with_derived_ids

    exact = WARD.model_copy(update={
        "rates": WARD.rates.model_copy(update={"set_relative": 0.0}),
        "urine": WARD.urine.model_copy(update={"log_sd": 1e-9}),
        "bladder": WARD.bladder.model_copy(update={"residue_ml": 0.0, "residue_high_ml": 0.0, "limit_ml": 400.0}),
    })  # fmt: skip
    ledger = Ledger("s", exact, SCALE)
    ledger.fold_all(with_derived_ids([
        entry("session_opened", 0, patient="r", weight_kg=60), entry("drainage_bag_placed", 0, capacity_ml=4000),
        entry("bag_hung", 0, line="A", label_ml=3000, fluid="saline_0_9"), entry("inflow_set", 0, ml_per_h=rate),
    ]))  # fmt: skip
    reached = ledger.at(START).block_reaches_limit
    assert (reached - START).total_seconds() / 60 == pytest.approx(minutes, abs=0.5)


@pytest.mark.parametrize(("hours", "limit", "ml"), [(6, 0.5, 240), (12, 0.5, 480), (24, 0.3, 576)])
def test_kdigo_volumes(hours, limit, ml):
    """KDIGO 2012 urine stages; for 80 kg calculated as 240 mL in 6 h, 480 in 12 h, 576 in 24 h."""
    ledger = account([
        entry("session_opened", 0, patient="r", weight_kg=80), entry("drainage_emptied", 60 * hours, volume=ml),
    ])  # fmt: skip
    assert ledger.rows[-1].ml_per_kg_per_h.mid == pytest.approx(limit)


@pytest.mark.parametrize(("french", "mm"), [(12, 4.0), (18, 6.0), (22, 7.33), (24, 8.0)])
def test_french_gauge(french, mm):
    """ISO 20696:2018, 5.5.2: French gauge = 3 × outer diameter in mm, tolerance ±0.33 mm."""
    placed = entry("catheter_placed", 0, french=french, ways=3, tip="straight", material="silicone")
    assert placed.diameter_mm == pytest.approx(mm, abs=0.01)
