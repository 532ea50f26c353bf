"""Rows: closed, open, questioned; two lines; whole bags; direct charts; stops; answers."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.ledger.charts import START, account, check, entry, opening


def kinds(ledger) -> list[str]:
    return [found.kind for found in ledger.findings]


def ids_of(events):
    from cbi_monitor.model.canonical import with_derived_ids

    return with_derived_ids(events)


def test_a_row_closes_from_visit_to_visit():
    ledger = account([*opening(), *check(60, 700, A=2400), *check(120, 1400, A=1800)])
    assert [(r.state, r.irrigant_in_ml, r.drained_ml, r.net_ml, r.running_ml) for r in ledger.rows] == [
        ("closed", 600, 700, 100, 100),
        ("closed", 600, 700, 100, 200),
    ]
    assert ledger.rows[-1].end_bags == {"A": 1800}
    assert ledger.rows[-1].end_drainage_ml == 1400


def test_a_side_not_read_leaves_the_row_open_and_says_which():
    ledger = account([*opening(), *check(60, 700, A=2400), entry("drainage_read", 120, contents_ml=1400)])
    row = ledger.rows[-1]
    assert row.state == "open"
    assert (row.irrigant_in_ml, row.drained_ml, row.net_ml, row.running_ml) == (None, 700, None, None)
    assert [remark.kind for remark in row.remarks] == ["open_bag_not_read"]


def test_the_other_side_alone_is_told_too():
    ledger = account([*opening(), entry("bag_read", 60, line="A", left_ml=2400)])
    row = ledger.rows[-1]
    assert (row.state, row.irrigant_in_ml, row.drained_ml) == ("open", 600, None)


def test_readings_within_a_visit_are_carried_to_its_last_by_their_own_rate():
    """600 mL/h for 5 minutes is 50 mL; its doubt is the carried amount over √3."""
    together = account([*opening(), *check(60, 700, A=2400), *check(120, 1400, A=1800)])
    apart = account([
        *opening(), *check(60, 700, A=2400), entry("bag_read", 120, line="A", left_ml=1800),
        entry("drainage_read", 125, contents_ml=1400),
    ])  # fmt: skip
    row = apart.rows[-1]
    assert row.end == START + timedelta(minutes=125)
    assert row.irrigant_in_ml == 650
    assert row.net_u_ml**2 == pytest.approx(together.rows[-1].net_u_ml ** 2 + 50**2 / 3)


def test_a_level_read_twice_in_a_visit_counts_once_the_later():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("bag_read", 120, line="A", left_ml=1000),
        *check(121, 1400, A=1800),
    ])  # fmt: skip
    assert [row.irrigant_in_ml for row in ledger.rows] == [600, 600]
    assert "level_rose" not in kinds(ledger)


def test_a_check_longer_than_a_visit_is_split_with_a_finding():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("bag_read", 120, line="A", left_ml=1800, check="long"),
        entry("drainage_read", 131, contents_ml=1500, check="long"),
    ])  # fmt: skip
    assert "check_split" in kinds(ledger)
    assert ledger.rows[-1].state == "open"


def test_a_standing_bag_is_known_at_its_last_level():
    ledger = account([
        *opening(), entry("bag_hung", 0, line="B", label_ml=3000, fluid="saline_0_9", clamped=True),
        *check(60, 700, A=2400), *check(120, 1400, A=1800),
    ])  # fmt: skip
    assert [row.state for row in ledger.rows] == ["closed", "closed"]
    assert ledger.rows[-1].end_bags == {"A": 1800, "B": 3000}


def test_a_standing_bag_that_fell_is_a_finding_and_counts():
    ledger = account([
        *opening(), entry("bag_hung", 0, line="B", label_ml=3000, fluid="saline_0_9", clamped=True),
        *check(60, 700, A=2400, B=3000), *check(120, 1900, A=1800, B=2500),
    ])  # fmt: skip
    assert "ran_while_clamped" in kinds(ledger)
    assert ledger.rows[-1].irrigant_in_ml == 1100


def test_cross_flow_is_a_remark_not_a_question():
    ledger = account([
        *opening(), entry("bag_hung", 0, line="B", label_ml=3000, fluid="saline_0_9"),
        *check(60, 700, A=2400, B=2900), *check(120, 1400, A=1200, B=3300),
    ])  # fmt: skip
    row = ledger.rows[-1]
    assert row.state == "closed"
    assert row.irrigant_in_ml == 800
    assert [remark.kind for remark in row.remarks] == ["cross_flow"]


def test_a_bag_change_within_a_row_counts_both_bags():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("bag_down", 90, line="A", left_ml=100),
        entry("bag_hung", 90, line="A", label_ml=3000, fluid="saline_0_9"), *check(120, 3300, A=2800),
    ])  # fmt: skip
    assert ledger.rows[-1].irrigant_in_ml == 2300 + 200


def test_level_that_rises_without_a_new_bag_is_questioned_and_running_restarts():
    ledger = account(
        [*opening(), *check(60, 700, A=2400), *check(120, 1400, A=2900), *check(180, 2100, A=2300)]
    )
    _, second, third = ledger.rows
    assert kinds(ledger) == ["level_rose"]
    assert (second.state, second.irrigant_in_ml, second.drained_ml) == ("questioned", None, 700)
    assert (second.net_ml, second.running_ml) == (None, None)
    assert (third.state, third.net_ml, third.running_ml) == ("closed", 100, 100)
    assert third.running_since == second.end


def test_answering_with_the_volume_not_recorded_closes_the_row():
    events = ids_of([*opening(), *check(60, 700, A=2400), *check(120, 2400, A=2900)])
    reading = next(event for event in events if getattr(event, "left_ml", None) == 2900)
    answer = entry("answered", 130, finding=f"level_rose:{reading.id}", answer="not_recorded", volume_ml=3000,
                   reason="bag hung at 08:40")  # fmt: skip
    ledger = account([*events, answer])
    row = ledger.rows[-1]
    assert (row.state, row.irrigant_in_ml, row.net_ml) == ("closed", 2500, 1700 - 2500)
    assert [
        (found.kind, found.asks, found.answer) for found in ledger.findings if found.kind == "level_rose"
    ] == [("level_rose", False, "not_recorded")]


def test_answering_that_the_reading_is_wrong_leaves_it_out():
    events = ids_of(
        [*opening(), *check(60, 700, A=2400), *check(120, 1400, A=2900), *check(180, 2100, A=1200)]
    )
    reading = next(event for event in events if getattr(event, "left_ml", None) == 2900)
    ledger = account(
        [*events, entry("answered", 190, finding=f"level_rose:{reading.id}", answer="wrong", reason="x")]
    )
    assert [(row.state, row.irrigant_in_ml) for row in ledger.rows] == [("closed", 600), ("closed", 1200)]


def test_contents_that_fall_without_an_emptying_never_explain_fluid_away():
    ledger = account([*opening(), *check(60, 700, A=2400), *check(120, 200, A=1800)])
    row = ledger.rows[-1]
    assert kinds(ledger) == ["contents_fell"]
    assert (row.state, row.drained_ml, row.irrigant_in_ml) == ("questioned", None, 600)
    assert row.may_hold.high >= 600  # all that ran in may have stayed


def test_a_drainage_bag_swapped_without_its_old_contents_asks():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("drainage_bag_placed", 90, capacity_ml=2000),
        *check(120, 300, A=1800),
    ])  # fmt: skip
    assert kinds(ledger) == ["old_contents_not_known"]
    assert ledger.rows[-1].drained_ml is None


def test_a_drainage_bag_swapped_with_its_old_contents_adds_up():
    ledger = account([
        *opening(), *check(60, 700, A=2400),
        entry("drainage_bag_placed", 90, capacity_ml=2000, old_contents_ml=1050), *check(120, 350, A=1800),
    ])  # fmt: skip
    assert ledger.rows[-1].drained_ml == 700


def test_an_emptying_is_a_level_before_and_after():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("drainage_emptied", 90, volume=950, left_ml=100),
        *check(120, 450, A=1800),
    ])  # fmt: skip
    assert ledger.rows[-1].drained_ml == (950 + 100 - 700) + (450 - 100)


def test_unmeasured_leak_makes_the_net_one_sided():
    ledger = account(
        [*opening(), *check(60, 700, A=2400), entry("leaked", 90, extent="sheet"), *check(120, 1400, A=1800)]
    )
    row = ledger.rows[-1]
    assert (row.net_ml, row.net_high_ml, row.at_least) == (100, None, True)
    assert row.net_low_ml is not None


def test_emptied_and_not_measured_is_unknown_never_zero():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("drainage_emptied", 90, not_measured=True),
        *check(120, 300, A=1800),
    ])  # fmt: skip
    assert (ledger.rows[-1].state, ledger.rows[-1].drained_ml) == ("questioned", None)


def test_a_bag_hung_on_an_occupied_line_takes_the_old_one_down_as_dry():
    ledger = account([
        *opening(), entry("bag_hung", 240, line="A", label_ml=3000, fluid="saline_0_9"),
        entry("drainage_emptied", 240, volume=3300),
    ])  # fmt: skip
    row = ledger.rows[-1]
    assert (row.irrigant_in_ml, row.drained_ml, row.net_ml) == (3000, 3300, 300)
    assert "taken_down_as_dry" in [remark.kind for remark in row.remarks]


def test_whole_bags_on_two_lines_estimate_the_other_bag():
    ledger = account([
        *opening(), entry("bag_hung", 0, line="B", label_ml=3000, fluid="saline_0_9"),
        entry("inflow_set", 0, line="A", ml_per_h=500), entry("inflow_set", 0, line="B", ml_per_h=250),
        entry("bag_hung", 360, line="A", label_ml=3000, fluid="saline_0_9"),
        entry("drainage_emptied", 360, volume=4900),
    ])  # fmt: skip
    row = ledger.rows[-1]
    assert "estimated" in [remark.kind for remark in row.remarks]
    assert row.irrigant_in_ml == 3000 + 250 * 6
    assert row.net_u_ml > 100


def test_while_all_lines_are_stopped_nothing_runs_in():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("inflow_stopped", 60, reason="trial"),
        entry("drainage_read", 120, contents_ml=760), entry("drainage_read", 180, contents_ml=830),
    ])  # fmt: skip
    assert [(row.state, row.irrigant_in_ml, row.net_ml) for row in ledger.rows[1:]] == [
        ("closed", 0, 60),
        ("closed", 0, 70),
    ]
    standing = ledger.at(START + timedelta(minutes=181))
    assert not standing.inflow_on
    assert standing.inflow_off_since == START + timedelta(minutes=60)
    assert standing.inflow_off_reason == "trial"


def test_a_count_restart_begins_running_totals_anew():
    ledger = account([
        *opening(), *check(60, 700, A=2400), entry("count_restarted", 60, reason="other"), *check(120, 1400, A=1800),
    ])  # fmt: skip
    assert (ledger.rows[0].running_ml, ledger.rows[1].running_ml) == (100, 100)
    assert ledger.rows[1].running_since == START + timedelta(minutes=60)


def test_weighed_bags_use_density_and_tare():
    from tests.ledger.charts import WARD

    tare = WARD.sizes.irrigant_tare_g["3000"]
    density = WARD.fluids["saline_0_9"].density
    ledger = account([
        *opening(), entry("bag_read", 60, line="A", left_g=tare + 2400 * density),
        entry("drainage_read", 60, contents_ml=700),
    ])  # fmt: skip
    assert ledger.rows[-1].irrigant_in_ml == 600


def test_a_volume_run_in_while_a_bag_hangs_is_a_finding_and_not_added():
    ledger = account([*opening(), entry("irrigant_run_in", 30, volume=500), *check(60, 700, A=2400)])
    assert kinds(ledger) == ["run_in_while_bag_hangs"]
    assert ledger.rows[-1].irrigant_in_ml == 600


def test_absurd_volumes_count_and_are_findings():
    ledger = account([*opening(), *check(60, 700, A=2400), entry("drainage_emptied", 120, volume=28000),
                      entry("bag_read", 120, line="A", left_ml=1800)])  # fmt: skip
    assert "unlikely_emptying" in kinds(ledger)
    assert ledger.rows[-1].drained_ml == 27300
