"""Conditions of outflow. Numbers are the shipped thresholds: common practice, no source."""

from __future__ import annotations

from datetime import timedelta

import pytest
from bedside import TH, Laid, ev, judge, look, row, t

from cbi_monitor.alerts.readings import Judgement, Reading
from cbi_monitor.alerts.replay import replay
from cbi_monitor.ledger.account import Behind, Drainage, Sight
from cbi_monitor.model.canonical import with_derived_ids
from cbi_monitor.model.events import (
    BagHung,
    BladderScanned,
    DrainageClamped,
    Event,
    Leaked,
    Ordered,
    OutflowSeen,
    Symptoms,
    Washout,
)


def at(laid: Laid, minutes: float) -> Judgement:
    return judge(laid, TH, t(minutes))  # type: ignore[arg-type]


def of(judgement: Judgement, condition: str) -> Reading | None:
    found = [reading for reading in judgement.readings if reading.condition == condition]
    assert len(found) <= 1
    return found[0] if found else None


def behind(ml: float, u: float = 35.0, since: float = 0, as_of: float = 60) -> Behind:
    return Behind(ml, u, t(since), t(as_of))


@pytest.mark.parametrize(
    ("ml", "u", "priority"),
    [
        (119, 35, None),
        (120, 35, "medium"),
        (120, 45, None),
        (250, 35, "high"),
        (250, 90, None),
        (249, 35, "medium"),
    ],
)
def test_retention_by_amount_and_by_its_doubt(ml: float, u: float, priority: str | None) -> None:
    reading = of(at(Laid(behind=behind(ml, u), rows=[row(0, 60, -ml, ml)]), 60), "retention")
    assert (reading.priority if reading else None) == priority


@pytest.mark.parametrize(
    "sign",
    [
        {"pain": 4},
        {"spasm": True},
        {"restless": True},
        {"abdomen": "full"},
        {"abdomen": "hard"},
        {"pulling": True},
    ],
)
def test_retention_is_high_with_a_sign_for_as_long_as_the_sign_counts(sign: dict[str, object]) -> None:
    laid = Laid(ev(Symptoms, 50, **sign), behind=behind(130), rows=[row(0, 60, -130, 130)])
    reading = of(at(laid, 60), "retention")
    assert reading is not None
    assert (reading.priority, reading.changes_at) == ("high", t(50 + 120))
    later = of(at(laid, 170), "retention")
    assert later is not None
    assert later.priority == "medium"


def test_outflow_that_is_not_steady_is_a_sign() -> None:
    reading = of(
        at(Laid(behind=behind(130), seen=look(55, "slow"), rows=[row(0, 60, -130, 130)]), 60), "retention"
    )
    assert reading is not None
    assert reading.priority == "high"


def test_a_later_entry_takes_a_sign_back() -> None:
    laid = Laid(
        ev(Symptoms, 50, pain=6), ev(Symptoms, 58, pain=1), behind=behind(130), rows=[row(0, 60, -130, 130)]
    )
    reading = of(at(laid, 60), "retention")
    assert reading is not None
    assert reading.priority == "medium"


def test_retention_clears_only_below_the_lower_limit_and_with_a_steady_look_since() -> None:
    rows = [row(0, 60, -280, 280), row(60, 75, 220, 60)]
    before = look(40)
    kept = of(at(Laid(behind=behind(60, as_of=75), rows=rows, seen=before, steady=before), 75), "retention")
    assert kept is not None
    assert (kept.priority, kept.keeps) == (None, "medium"), "caught up, but nobody saw it drip"
    with_it = look(72)
    assert (
        of(at(Laid(behind=behind(60, as_of=75), rows=rows, seen=with_it, steady=with_it), 75), "retention")
        is None
    )
    still = of(
        at(
            Laid(
                behind=behind(90, as_of=75),
                rows=[rows[0], row(60, 75, 190, 90)],
                seen=with_it,
                steady=with_it,
            ),
            75,
        ),
        "retention",
    )
    assert still is not None
    assert still.keeps == "medium", "a look alone clears nothing"


def test_an_unknown_balance_clears_nothing_and_raises_nothing() -> None:
    reading = of(at(Laid(behind=None), 60), "retention")
    assert reading is not None
    assert (reading.priority, reading.keeps) == (None, "high")


def test_a_limit_ordered_for_the_patient_is_marked_with_name_and_time() -> None:
    order = ev(Ordered, 5, by_whom="Dr N", how="written", bladder_limit_ml=200)
    laid = Laid(order, behind=behind(210), rows=[row(0, 60, -210, 210)], limit_ml=200.0, limit_from="order")
    reading = of(at(laid, 60), "retention")
    assert reading is not None
    assert reading.set_for_patient is not None
    assert (reading.priority, reading.set_for_patient.by_whom, reading.set_for_patient.at) == (
        "high",
        "Dr N",
        t(5),
    )
    plain = of(at(Laid(behind=behind(210), rows=[row(0, 60, -210, 210)]), 60), "retention")
    assert plain is not None
    assert (plain.priority, plain.set_for_patient) == ("medium", None)


def test_seen_not_running_with_the_inflow_open_is_high_at_once_and_says_stop() -> None:
    none = Sight(at=t(30), by="km", how="none", event="l")
    reading = of(at(Laid(seen=none), 30), "no_outflow")
    assert reading is not None
    assert (reading.priority, reading.first_act) == ("high", "first-act-stop-inflow")
    off = of(at(Laid(seen=none, inflow_on=False, inflow_off_since=t(29)), 30), "no_outflow")
    assert off is not None
    assert (off.priority, off.first_act) == ("medium", "first-act-keep-off")


def test_not_running_since_the_first_look_that_saw_it() -> None:
    none = Sight(at=t(30), by="km", how="none", event="l")
    looks = [
        ev(OutflowSeen, 10, running=True, how="steady"),
        ev(OutflowSeen, 20, running=False),
        ev(OutflowSeen, 30, running=False),
    ]
    reading = of(at(Laid(*looks, seen=none), 30), "no_outflow")
    assert reading is not None
    assert reading.since == t(20)


@pytest.mark.parametrize(
    ("how", "keeps"), [("slow", "medium"), ("drops_only", "medium"), ("running", "medium"), ("steady", None)]
)
def test_only_a_steady_look_clears_not_running(how: str, keeps: str | None) -> None:
    seen = look(40, how)
    reading = of(at(Laid(seen=seen, steady=seen if how == "steady" else None), 40), "no_outflow")
    assert (reading.keeps if reading else None) == keeps
    assert reading is None or reading.priority is None


def test_a_row_that_drained_too_little_is_a_suspicion_and_never_says_stop_first() -> None:
    reading = of(at(Laid(rows=[row(0, 15, -150, 150)], behind=behind(150, as_of=15)), 15), "no_outflow")
    assert reading is not None
    assert (reading.priority, reading.first_act) == ("medium", "first-act-go-now")
    assert reading.facts["in_ml"] == 150
    assert reading.facts["out_ml"] == 0


def test_a_short_row_says_nothing_when_it_is_too_short_too_doubtful_or_seen_running() -> None:
    assert of(at(Laid(rows=[row(0, 14, -150, 150)]), 15), "no_outflow") is None
    doubtful = row(0, 15, -150, 150, net_u_ml=80.0, net_high_ml=10.0)
    reading = of(at(Laid(rows=[doubtful]), 15), "no_outflow")
    assert reading is not None
    assert reading.priority is None
    seen = look(10)
    assert of(at(Laid(rows=[row(0, 15, -150, 150)], seen=seen, steady=seen), 15), "no_outflow") is None


def test_a_steady_look_never_clears_what_the_volumes_say() -> None:
    seen = look(20)
    short = row(0, 15, -150, 150)
    for rows, as_of in (([short], 15), ([short, row(15, 30, 20, 130)], 30)):
        laid = Laid(rows=rows, seen=seen, steady=seen, behind=behind(150, as_of=as_of))
        reading = of(at(laid, 31), "no_outflow")
        assert reading is not None
        assert (reading.priority, reading.keeps) == (None, "high")
    caught_up = Laid(rows=[short, row(15, 30, 90, 60)], seen=seen, steady=seen, behind=behind(60, as_of=30))
    assert of(at(caught_up, 31), "no_outflow") is None


def test_on_a_real_chart_it_stands_through_a_steady_look_until_the_volumes_have_caught_up() -> None:
    """A short row raises it; a steady look 10 minutes later changes nothing; the next volumes do."""
    from tests.ledger.charts import SCALE, START, WARD, check, entry, opening

    events = [*opening(), *check(60, 700, A=2400), *check(90, 760, A=2100, how="slow")]
    events.append(entry("outflow_seen", 100, running=True, how="steady"))
    later = check(120, 1400, A=1800)

    def stands(chart: list[Event], minute: float) -> bool:
        until = START + timedelta(minutes=minute)
        alerts = replay(with_derived_ids(chart), WARD, SCALE, TH, until=until).alerts
        return any(alert.condition == "no_outflow" and alert.stands for alert in alerts)

    assert stands(events, 91)
    assert stands(events, 115)
    assert not stands([*events, *later], 121)


def test_drainage_clamped_while_the_inflow_is_open_is_high_at_once() -> None:
    clamped = Drainage(None, None, None, None, None, None, clamped=True)
    hung = ev(BagHung, 1, line="A", label_ml=3000, fluid="saline_0_9")
    reading = of(at(Laid(hung, ev(DrainageClamped, 10), drainage=clamped), 10), "drainage_clamped_running")
    assert reading is not None
    assert reading.priority == "high"
    off = Laid(hung, ev(DrainageClamped, 10), drainage=clamped, inflow_on=False)
    assert of(at(off, 10), "drainage_clamped_running") is None


def test_by_passing_is_medium_twice_is_high_and_it_clears_by_a_later_steady_look_and_time() -> None:
    first, second = ev(Leaked, 10, extent="pad"), ev(Leaked, 100, extent="sheet")
    once = of(at(Laid(first, seen=look(9), steady=look(9)), 12), "leakage")
    assert once is not None
    assert once.priority == "medium"
    twice = of(at(Laid(first, second, seen=look(9), steady=look(9)), 100), "leakage")
    assert twice is not None
    assert (twice.priority, twice.first_act) == ("high", "first-act-treat-as-blocked")
    same_visit = of(at(Laid(first, second, seen=look(105), steady=look(105)), 106), "leakage")
    assert same_visit is not None
    assert same_visit.priority == "high", "a look in the same visit does not contradict the leak"
    later = of(at(Laid(first, second, seen=look(115), steady=look(115)), 116), "leakage")
    assert later is not None
    assert (later.priority, later.changes_at) == ("medium", t(160))
    assert of(at(Laid(first, second, seen=look(115), steady=look(115)), 160), "leakage") is None


def test_by_passing_with_less_coming_out_is_high() -> None:
    reading = of(at(Laid(ev(Leaked, 10, extent="pad"), seen=look(12, "slow")), 12), "leakage")
    assert reading is not None
    assert reading.priority == "high"


@pytest.mark.parametrize(
    ("ml", "inflow_on", "priority", "keeps"),
    [(149, True, None, "medium"), (150, True, "medium", "medium"), (150, False, None, "medium"),
     (300, False, "high", "high"),     (260, True, "medium", "high"), (99, True, None, None)],
)  # fmt: skip
def test_a_scan(ml: float, inflow_on: bool, priority: str | None, keeps: str | None) -> None:
    reading = of(at(Laid(ev(BladderScanned, 10, volume_ml=ml), inflow_on=inflow_on), 20), "bladder_scan")
    assert (
        (priority, keeps) == (None, None)
        if reading is None
        else (reading.priority, reading.keeps) == (priority, keeps)
    )


def test_a_scan_is_set_aside_by_a_washout_that_emptied_the_bladder() -> None:
    scan = ev(BladderScanned, 10, volume_ml=400)
    wash = ev(Washout, 20, instilled_ml=50, bladder_emptied=True)
    assert of(at(Laid(scan, wash), 20), "bladder_scan") is None


def test_washouts_close_together() -> None:
    def washes(*when: float, failed: int = 0) -> Laid:
        return Laid(
            *(
                ev(Washout, m, instilled_ml=50, draining_after="none" if n < failed else "steady")
                for n, m in enumerate(when)
            )
        )

    assert of(at(washes(10), 10), "repeated_washouts") is None
    two = of(at(washes(10, 200), 200), "repeated_washouts")
    assert two is not None
    assert (two.priority, two.changes_at) == ("medium", t(10 + 240))
    assert of(at(washes(10, 200), 250), "repeated_washouts") is None
    three = of(at(washes(10, 200, 360), 360), "repeated_washouts")
    assert three is not None
    assert (three.priority, three.first_act) == ("high", "first-act-call-urology")
    failed = of(at(washes(10, 340, failed=2), 341), "repeated_washouts")
    assert failed is not None
    assert failed.priority == "high"
