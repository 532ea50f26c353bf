"""The board's order, as a charge nurse wants it: who needs someone first."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from cbi_monitor.ward.need import Need, need_of

NOON = datetime(2026, 3, 1, 12, 0, tzinfo=UTC)


@dataclass(frozen=True)
class Standing:
    condition: str
    priority: str
    raised_at: datetime = NOON


def need(*alerts: Any, due: int | None = 30, label: str = "1") -> Need:
    return need_of(alerts, None if due is None else NOON + timedelta(minutes=due), label)


def test_the_order_from_the_bed_that_does_not_drain_to_the_rest() -> None:
    in_order = [
        need(Standing("no_outflow", "high")),
        need(Standing("bag_dry", "high", NOON - timedelta(hours=6))),
        need(Standing("retention", "medium")),
        need(Standing("bleeding_on", "medium")),
        need(Standing("look_due", "medium")),
        need(Standing("check_due", "low")),
        need(Standing("bag_running_out", "medium")),
        need(Standing("drainage_filling", "medium")),
        need(due=-5),
        need(due=10),
        need(due=None),
    ]
    assert in_order == sorted(in_order)
    assert len({key[:3] for key in in_order}) == len(in_order)


def test_a_bag_never_outranks_dark_red() -> None:
    dark = need(Standing("bleeding_on", "high"), due=55)
    assert dark < need(Standing("bag_running_out", "medium"), due=-30)
    assert dark < need(due=-30)


def test_the_worst_alert_of_a_bed_places_it() -> None:
    both = need(Standing("check_due", "low"), Standing("distress", "high"))
    assert both[:2] == need(Standing("distress", "high"))[:2]


def test_of_two_alike_the_one_that_waits_longer_comes_first() -> None:
    older = need(Standing("no_outflow", "high", NOON - timedelta(minutes=20)), label="9")
    assert older < need(Standing("no_outflow", "high"), label="1")


def test_an_alert_of_no_group_leaves_the_bed_where_its_next_check_puts_it() -> None:
    assert need(Standing("low_urine", "medium"), due=20) == need(due=20)
