"""The type of the threshold file: every condition, no defaults, limits that clear below those that raise."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from cbi_monitor.alerts.thresholds import Condition, Thresholds
from cbi_monitor.settings import load_thresholds

CONDITIONS = [
    "retention", "no_outflow", "look_due", "check_due", "distress", "leakage", "bladder_scan", "repeated_washouts",
    "comes_and_goes", "colour_deepening", "bleeding_on", "clots", "bag_running_out", "bag_dry", "drainage_filling",
    "inflow_off", "low_urine", "high_urine", "unrecorded_volume", "absorption", "blood_loss", "wrong_fluid",
    "drainage_clamped_running", "catheter_out", "catheter_mismatch", "traction_overdue", "away_overdue",
]  # fmt: skip


def _tables() -> list[tuple[str, type[Condition]]]:
    return [(name, type(getattr(load_thresholds(), name))) for name in Thresholds.model_fields]


def test_every_condition_has_its_table() -> None:
    assert [name for name, _ in _tables()] == [*CONDITIONS, "life"]


@pytest.mark.parametrize(("name", "table"), _tables(), ids=lambda one: one if isinstance(one, str) else "")
def test_no_defaults_and_nothing_changes(name: str, table: type[Condition]) -> None:
    assert all(field.is_required() for field in table.model_fields.values())
    with pytest.raises(ValidationError):
        setattr(getattr(load_thresholds(), name), next(iter(table.model_fields)), 1)


def _differ(name: str, pair: tuple[str, str, str]) -> bool:
    table = getattr(load_thresholds(), name)
    return bool(getattr(table, pair[0]) != getattr(table, pair[2]))


PAIRS = [(name, *pair) for name, table in _tables() for pair in table.in_order if _differ(name, pair)]


@pytest.mark.parametrize(("name", "small", "sign", "large"), PAIRS, ids=[f"{p[0]}.{p[1]}" for p in PAIRS])
def test_pairs_keep_their_order(name: str, small: str, sign: str, large: str) -> None:
    table = getattr(load_thresholds(), name)
    values = table.model_dump()
    values[small], values[large] = values[large], values[small]
    with pytest.raises(ValidationError, match="but must be"):
        type(table).model_validate(values)
    values[small] = values[large] = table.model_dump()[large]
    others = [
        pair
        for pair in table.in_order
        if pair != (small, sign, large) and {small, large} & {pair[0], pair[2]}
    ]
    if sign == "<":
        with pytest.raises(ValidationError, match="must be below"):
            type(table).model_validate(values)
    elif not others:
        type(table).model_validate(values)


@pytest.mark.parametrize(("every", "grace"), [(10, 5), (15, 5), (16, 10), (30, 10), (60, 15)])
def test_grace_goes_by_the_plan(every: float, grace: float) -> None:
    assert load_thresholds().check_due.grace_minutes(every) == grace
