"""One row of the balance as other programs read it: field names, units and rounding as promised to them."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from cbi_monitor.ledger.account import Row
from cbi_monitor.ward.telling import Words


def row_fields(row: Row, words: Words) -> dict[str, Any]:
    """Times with the ward's offset, whole mL, unknown as None, doubt as the ends of a range.

    ``ml_per_kg_per_h`` has its own ends beside it. ``at_least``: a washed or leaked volume was not measured.
    """
    hold, per_kg = row.may_hold, row.ml_per_kg_per_h

    def at(instant: datetime | None) -> str | None:
        return None if instant is None else instant.astimezone(words.zone).isoformat()

    return {
        "start": at(row.start),
        "end": at(row.end),
        "state": row.state,
        "irrigant_in_ml": row.irrigant_in_ml,
        "washed_in_ml": row.washed_in_ml,
        "drained_ml": row.drained_ml,
        "washed_back_ml": row.washed_back_ml,
        "leaked_ml": row.leaked_ml,
        "otherwise_ml": row.otherwise_ml,
        "net_urine_ml": row.net_ml,
        "net_urine_low_ml": whole_or_none(row.net_low_ml),
        "net_urine_high_ml": whole_or_none(row.net_high_ml),
        "running_net_urine_ml": row.running_ml,
        "running_low_ml": whole_or_none(row.running_low_ml),
        "running_high_ml": whole_or_none(row.running_high_ml),
        "running_since": at(row.running_since),
        "behind_by_ml": whole_or_none(row.behind_ml),
        "behind_by_sd_ml": whole_or_none(row.behind_u_ml),
        "may_hold_low_ml": whole_or_none(hold.low if hold else None),
        "may_hold_ml": whole_or_none(hold.mid if hold else None),
        "may_hold_high_ml": whole_or_none(hold.high if hold else None),
        "other_in_ml": row.other_in_ml,
        "other_out_ml": row.other_out_ml,
        "fluid_balance_ml": row.fluid_balance_ml,
        "ml_per_kg_per_h": _rate(per_kg.mid if per_kg else None),
        "ml_per_kg_per_h_low": _rate(per_kg.low if per_kg else None),
        "ml_per_kg_per_h_high": _rate(per_kg.high if per_kg else None),
        "start_bags": _levels(row.start_bags),
        "end_bags": _levels(row.end_bags),
        "end_drainage_ml": whole_or_none(row.end_drainage_ml),
        "prorated": row.prorated,
        "at_least": row.at_least,
        "remarks": [
            {"kind": remark.kind, "text": words.remark(remark), "events": list(remark.events)}
            for remark in row.remarks
        ],
    }


def whole_or_none(amount: float | None) -> int | None:
    """Whole mL, half to even; unknown stays unknown."""
    return None if amount is None else round(amount)


def _rate(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _levels(levels: Mapping[str, float | None]) -> dict[str, int | None]:
    return {line: whole_or_none(level) for line, level in sorted(levels.items())}
