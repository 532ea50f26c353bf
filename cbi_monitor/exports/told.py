"""One entry of the chart in words, for the papers and the events table."""

# ruff: noqa: ARG001, ARG005 - all tellers share one signature, whether they need the clock or not

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.figures import ml, plain
from cbi_monitor.model import events as e
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.wording import say


def word(value: str) -> str:
    """The ward's word for a value of a fixed list."""
    return say(f"told-word-{value.replace('_', '-')}")


def kind_words(event: e.Event) -> str:
    """What kind of entry it is."""
    return say(f"told-kind-{event.event.replace('_', '-')}")


class Teller:
    """Tells entries in words, with the ward's clock and its effluent scale."""

    def __init__(self, clock: WardClock, scale: EffluentScale, ward: WardRules) -> None:
        self.clock = clock
        self.scale = scale
        self.ward = ward

    def tell(self, event: e.Event) -> str:
        """What was charted, without time, kind and author. Parts that were not charted are not mentioned."""
        teller = _TELLERS.get(type(event))
        parts = teller(self, event) if teller else []
        return "; ".join(part for part in parts if part)

    def grade(self, key: str) -> str:
        """The scale's word; a grade that the scale does not have is given as charted."""
        known = self.scale.grade(key)
        return known.word if known else say("told-grade-unknown", key=key)

    def fluid(self, key: str) -> str:
        """The ward's words for a fluid; one that the ward file does not have is given as charted."""
        known = self.ward.fluids.get(key)
        return known.words if known else key

    def time(self, at: datetime, beside: datetime) -> str:
        """A time as text, with its date where it is far from ``beside``."""
        return self.clock.near(at, beside)


def _part(name: str, value: object, /, **facts: Any) -> str:
    if value is None or value is False or value == ():
        return ""
    return say(f"told-{name}", **facts)


def _volume(event: e.Event, name: str, mass: str = "") -> str:
    amount = getattr(event, name, None)
    about = bool(getattr(event, "about", None))
    if amount is not None:
        return say("told-about-ml" if about else "told-ml", ml=ml(amount))
    weighed = getattr(event, mass, None) if mass else None
    if weighed is not None:
        return say("told-weighed", grams=plain(weighed))
    return say("told-not-measured")


def _details(t: Teller, v: Any) -> list[str]:
    parts = []
    for name in ("patient", "bed", "operation", "from_place", "indication", "theatre_fluid"):
        value = getattr(v, name)
        parts.append(_part(f"detail-{name.replace('_', '-')}", value, value=value))
    if v.weight_kg is not None:
        parts.append(say("told-weight", kg=plain(v.weight_kg)))
        parts.append(_part("weight-from", v.weight_from, how=word(v.weight_from) if v.weight_from else ""))
    parts.append(_part("age", v.age_years, years=plain(v.age_years or 0)))
    parts.append(_part("allergies", v.allergies, what=", ".join(v.allergies or ())))
    for name in ("sex", "kidney"):
        value = getattr(v, name)
        if value:
            parts.append(say(f"told-detail-{name}", value=word(value)))
    for name in ("operation_ended", "block_until"):
        at = getattr(v, name)
        if at:
            parts.append(say(f"told-detail-{name.replace('_', '-')}", value=t.time(at, v.at)))
    parts.append(_part("detail-fluid", v.fluid, value=t.fluid(v.fluid or "")))
    parts.append(_part("heart-failure", v.heart_failure))
    if v.can_say_pain is False:
        parts.append(say("told-cannot-say-pain"))
    if isinstance(v.blood_thinners, str):
        parts.append(say("told-blood-thinners", what=v.blood_thinners))
    elif v.blood_thinners:
        parts.append(say("told-blood-thinners-some"))
    parts.append(_part("theatre-deficit", v.theatre_deficit_ml, ml=ml(v.theatre_deficit_ml or 0)))
    parts.append(_part("other-outlets", v.other_urine_outlets, what=", ".join(v.other_urine_outlets or ())))
    for name in ("hb", "na", "creatinine"):
        value = getattr(v, f"baseline_{name}")
        parts.append(_part(f"baseline-{name}", value, value=plain(value or 0)))
    return parts


def _ordered(t: Teller, v: e.Ordered) -> list[str]:
    parts = [say("told-ordered-by", whom=v.by_whom, how=word(v.how))]
    parts += [order_terms(t, v)]
    parts.append(_part("read-back", v.read_back))
    return parts


def order_terms(t: Teller, v: e.Ordered) -> str:
    """What an order says, without who gave it."""
    parts = []
    if v.target_grade:
        parts.append(say("told-target", grade=t.grade(v.target_grade)))
    if v.rate_low_ml_per_h is not None and v.rate_high_ml_per_h is not None:
        parts.append(say("told-rate-between", low=ml(v.rate_low_ml_per_h), high=ml(v.rate_high_ml_per_h)))
    elif v.rate_high_ml_per_h is not None:
        parts.append(say("told-rate-to", high=ml(v.rate_high_ml_per_h)))
    elif v.rate_low_ml_per_h is not None:
        parts.append(say("told-rate-from", low=ml(v.rate_low_ml_per_h)))
    parts.append(_part("order-fluid", v.fluid, fluid=t.fluid(v.fluid or "")))
    parts.append(_part("limit", v.bladder_limit_ml, ml=ml(v.bladder_limit_ml or 0)))
    if v.washout:
        parts.append(say("told-order-washout", who=word(v.washout)))
    if v.expected_urine:
        parts.append(say("told-expected-urine", urine=word(v.expected_urine)))
    if v.traction_until:
        parts.append(say("told-traction-until", at=t.time(v.traction_until, v.at)))
    parts.append(_part("call-if", v.call_if, what=", ".join(v.call_if or ())))
    if v.until:
        parts.append(say("told-until", at=t.time(v.until, v.at)))
    return "; ".join(part for part in parts if part)


def catheter_words(v: e.CatheterPlaced) -> str:
    """The catheter: ways, gauge, tip, material, balloon."""
    parts = [say("told-catheter", ways=v.ways, french=plain(v.french), tip=word(v.tip), material=v.material)]
    parts.append(_part("balloon", v.balloon_ml, ml=ml(v.balloon_ml or 0)))
    return "; ".join(part for part in parts if part)


def _catheter(t: Teller, v: e.CatheterPlaced) -> list[str]:
    filled = _part("filled-with", v.balloon_filled_with, what=v.balloon_filled_with)
    return [catheter_words(v), filled, _part("residual", v.residual_ml, ml=ml(v.residual_ml or 0))]


def _catheter_out(t: Teller, v: e.CatheterRemoved) -> list[str]:
    parts = [word(v.reason), _part("balloon-out", v.balloon_ml_out, ml=ml(v.balloon_ml_out or 0))]
    if v.tip_whole is not None:
        parts.append(say("told-tip-whole" if v.tip_whole else "told-tip-not-whole"))
    return parts


def _bag_hung(t: Teller, v: e.BagHung) -> list[str]:
    parts = [say("told-bag", line=v.line, ml=ml(v.label_ml), fluid=t.fluid(v.fluid))]
    if v.measured_ml is not None:
        parts.append(say("told-measured", ml=ml(v.measured_ml)))
    if v.measured_g is not None:
        parts.append(say("told-weighed", grams=plain(v.measured_g)))
    parts.append(_part("clamped", v.clamped))
    parts.append(_part("primed", v.primed_ml, ml=ml(v.primed_ml or 0)))
    parts.append(_part("batch", v.batch, batch=v.batch))
    parts.append(_part("expiry", v.expiry, expiry=v.expiry))
    parts.append(_part("traced", v.line_traced))
    parts.append(_part("second-check", v.second_check_by, by=v.second_check_by))
    return parts


def _bag_level(t: Teller, v: Any) -> list[str]:
    parts = [say("told-line", line=v.line), say("told-left", what=_volume(v, "left_ml", "left_g"))]
    if isinstance(v, e.BagDown):
        parts.append(_part("found-empty", v.found_empty))
    elif v.of == "new":
        parts.append(say("told-new-bag"))
    return parts


def _line(t: Teller, v: Any) -> list[str]:
    return [say("told-line", line=v.line)] if v.line else []


def _inflow_set(t: Teller, v: e.InflowSet) -> list[str]:
    parts = _line(t, v)
    if v.ml_per_h is not None:
        parts.append(say("told-ml-per-h", ml=ml(v.ml_per_h)))
    elif v.drops_per_min is not None and v.drops_per_ml is not None:
        # mL/h = drops/min × 60 / drops/mL (published drip-rate exercise)
        made = v.drops_per_min * 60 / v.drops_per_ml
        parts.append(say("told-drops", drops=plain(v.drops_per_min), per=plain(v.drops_per_ml), ml=ml(made)))
    elif v.setting:
        parts.append(word(v.setting))
    return parts


def _inflow_change(t: Teller, v: Any) -> list[str]:
    return [*(_line(t, v) or [say("told-all-lines")]), word(v.reason) if v.reason else ""]


def _run_in(t: Teller, v: e.IrrigantRunIn) -> list[str]:
    since = say("told-since", at=t.time(v.since, v.at)) if v.since else ""
    return [*_line(t, v), _volume(v, "volume"), since]


def _placed(t: Teller, v: e.DrainageBagPlaced) -> list[str]:
    parts = [say("told-capacity", ml=ml(v.capacity_ml))]
    parts.append(_part("contents", v.contents_ml, ml=ml(v.contents_ml or 0)))
    parts.append(_part("old-contents", v.old_contents_ml, ml=ml(v.old_contents_ml or 0)))
    parts.append(_part("old-weighed", v.old_mass_g, grams=plain(v.old_mass_g or 0)))
    return parts


def _drainage(t: Teller, v: Any) -> list[str]:
    if isinstance(v, e.DrainageRead):
        return [_volume(v, "contents_ml", "mass_g"), _part("found-full", v.found_full)]
    left = _part("left-in", v.left_ml, ml=ml(v.left_ml or 0))
    return [_volume(v, "volume", "mass_g"), left, _part("found-full", v.found_full)]


def _seen(t: Teller, v: e.OutflowSeen) -> list[str]:
    if not v.running:
        return [say("told-not-running")] + ([word(v.how)] if v.how and v.how != "none" else [])
    return [say("told-running-how", how=word(v.how)) if v.how else say("told-running")]


def _clots(v: Any) -> str:
    return say("told-clots", clots=word(f"clots_{v.clots}")) if v.clots else ""


def _graded(t: Teller, v: e.EffluentGraded) -> list[str]:
    return [t.grade(v.grade), _clots(v)]


def _washout(t: Teller, v: e.Washout) -> list[str]:
    parts = []
    if v.pushes is not None and v.syringe_ml is not None:
        parts.append(say("told-pushes", pushes=str(v.pushes), ml=ml(v.syringe_ml)))
    else:
        parts.append(say("told-in", what=_volume(v, "instilled_ml")))
    if v.returned_ml is not None:
        back = say("told-ml", ml=ml(v.returned_ml))
        parts.append(say("told-back-into", what=back, where=word(v.returned_to)) if v.returned_to
                     else say("told-back", what=back))  # fmt: skip
    elif v.returned_to:
        parts.append(say("told-back-unmeasured", where=word(v.returned_to)))
    parts.append(_clots(v))
    parts.append(_part("clots-ml", v.clots_ml, ml=ml(v.clots_ml or 0)))
    if v.resistance:
        parts.append(word(v.resistance))
    if v.draining_after:
        parts.append(say("told-outflow-after", how=word(v.draining_after)))
    parts.append(_part("bladder-emptied", v.bladder_emptied))
    parts.append(_part("done-by", v.done_by, who=v.done_by))
    return parts


def _scan(t: Teller, v: e.BladderScanned) -> list[str]:
    return [say("told-ml", ml=ml(v.volume_ml)), _part("after-void", v.after_void), _part("repeat", v.repeat)]


def _leak(t: Teller, v: e.Leaked) -> list[str]:
    return [_volume(v, "volume", "mass_g"), word(v.extent) if v.extent else ""]


def _void(t: Teller, v: e.Voided) -> list[str]:
    effort = _part("effort", v.effort, effort=v.effort)
    return [_volume(v, "volume"), t.grade(v.grade) if v.grade else "", _clots(v), effort]


def _by_route(t: Teller, v: Any) -> list[str]:
    return [v.route, _volume(v, "volume")]


_SIGNS = ("spasm", "restless", "pulling", "sweaty_pale", "confused", "nausea", "breathless", "shoulder_tip_pain",
          "numb_block")  # fmt: skip


def _symptoms(t: Teller, v: e.Symptoms) -> list[str]:
    parts = []
    if v.pain == "cannot_say":
        parts.append(say("told-pain-cannot-say"))
    elif v.pain is not None:
        parts.append(say("told-pain", pain=str(v.pain)))
    for name in _SIGNS:
        value = getattr(v, name)
        if value is not None:
            parts.append(say(f"told-{'sign' if value else 'no-sign'}", sign=word(name)))
    if v.urge:
        parts.append(say("told-urge", where=word(v.urge)))
    if v.abdomen:
        parts.append(say("told-abdomen", how=word(f"abdomen_{v.abdomen}")))
    return [*parts, v.note or ""]


def is_troubling(v: e.Symptoms, from_pain: int) -> bool:
    """Whether it charts pain from ``from_pain`` on or not sayable, a sign, an urge, a full or hard abdomen, a note."""
    return (
        v.pain == "cannot_say"
        or (isinstance(v.pain, int) and v.pain >= from_pain)
        or any(getattr(v, name) for name in _SIGNS)
        or v.urge is not None
        or v.abdomen in ("full", "hard")
        or v.note is not None
    )


def unit_words(unit: str) -> str:
    """A unit as it is written on paper; UCUM codes are for programs."""
    return {"Cel": "°C", "mm[Hg]": "mmHg", "umol/L": "µmol/L"}.get(unit, unit)


def _value(t: Teller, v: Any) -> list[str]:
    return [say("told-value", name=v.name, value=plain(v.value), unit=unit_words(v.unit))]


def _called(t: Teller, v: e.Called) -> list[str]:
    parts = [say("told-called", whom=v.whom, how=v.how, about=v.about), say("told-told", what=v.told)]
    parts.append(_part("no-answer", v.no_answer))
    parts.append(_part("answer", v.answer, what=v.answer))
    parts.append(_part("order-taken", v.order_taken, what=v.order_taken))
    parts.append(_part("read-back", v.read_back))
    if v.arrived_at:
        parts.append(say("told-arrived", at=t.time(v.arrived_at, v.at)))
    return parts


def _away(t: Teller, v: e.Away) -> list[str]:
    back = say("told-back-by", at=t.time(v.back_by, v.at)) if v.back_by else ""
    return [v.where, say("told-inflow-running" if v.inflow == "running" else "told-inflow-off"), back]


def _handed_over(t: Teller, v: e.HandedOver) -> list[str]:
    back = say("told-read-back" if v.read_back else "told-not-read-back")
    parts = [say("told-handed-over", giving=v.from_, taking=v.to), back]
    if v.next_due:
        parts.append(say("told-next-due", at=t.time(v.next_due, v.at)))
    parts.append(_part("open-questions", v.open_questions, what="; ".join(v.open_questions or ())))
    return parts


def _answered(t: Teller, v: e.Answered) -> list[str]:
    volume = say("told-ml", ml=ml(v.volume_ml)) if v.volume_ml is not None else ""
    return [word(f"answer_{v.answer}"), volume, v.reason]


def _corrected(t: Teller, v: e.Corrected) -> list[str]:
    return [fields_words(t, v), say("told-reason", reason=v.reason)]


def fields_words(t: Teller, v: e.Corrected) -> str:
    """The corrected fields with their new values."""
    parts = []
    for name, value in v.fields.items():
        if value is None:
            parts.append(say("told-field-removed", field=_field_name(name)))
        else:
            parts.append(say("told-field", field=_field_name(name), value=_field_value(t, name, value, v.at)))
    return ", ".join(parts)


def _field_name(name: str) -> str:
    return say("told-field-at") if name == "at" else name.replace("_", " ")


def _field_value(t: Teller, name: str, value: Any, beside: datetime) -> str:
    if name in ("at", "since") and isinstance(value, str):
        return t.time(datetime.fromisoformat(value), beside)
    if isinstance(value, bool):
        return say("report-yes" if value else "report-no")
    if isinstance(value, (int, float)):
        return plain(value) if name not in _ML_FIELDS and not name.endswith("_ml") else ml(value)
    if isinstance(value, list):
        return ", ".join(str(inner) for inner in value)
    return str(value)


def _tubing(t: Teller, v: e.TubingChecked) -> list[str]:
    fixed = "" if v.fixed is None else say("told-fixed" if v.fixed else "told-not-fixed")
    return [", ".join(v.found), fixed]


_ML_FIELDS = ("volume",)

_TELLERS: dict[type[e.Event], Callable[[Teller, Any], list[str]]] = {
    e.SessionOpened: _details,
    e.SessionDetails: _details,
    e.Ordered: _ordered,
    e.CatheterPlaced: _catheter,
    e.CatheterRemoved: _catheter_out,
    e.BalloonChanged: lambda t, v: [say("told-ml", ml=ml(v.balloon_ml))],
    e.TractionOn: lambda t, v: [say("told-until", at=t.time(v.until, v.at))] if v.until else [],
    e.BagHung: _bag_hung,
    e.BagRead: _bag_level,
    e.BagDown: _bag_level,
    e.LineOpened: _line,
    e.LineClamped: _line,
    e.InflowSet: _inflow_set,
    e.InflowStopped: _inflow_change,
    e.InflowStarted: _inflow_change,
    e.IrrigantRunIn: _run_in,
    e.IrrigantLost: lambda t, v: [*_line(t, v), _volume(v, "volume")],
    e.DrainageBagPlaced: _placed,
    e.DrainageRead: _drainage,
    e.DrainageEmptied: _drainage,
    e.OutflowSeen: _seen,
    e.EffluentGraded: _graded,
    e.Washout: _washout,
    e.BladderScanned: _scan,
    e.Leaked: _leak,
    e.Voided: _void,
    e.UrineOtherwise: _by_route,
    e.Symptoms: _symptoms,
    e.TubingChecked: _tubing,
    e.VitalSign: _value,
    e.LabResult: _value,
    e.FluidTaken: _by_route,
    e.FluidLost: _by_route,
    e.Away: _away,
    e.Transferred: lambda t, v: [say("told-transferred", ward=v.to_ward, by=v.accepted_by)],
    e.Called: _called,
    e.CountRestarted: lambda t, v: [word(v.reason), _part("bladder", v.bladder_ml, ml=ml(v.bladder_ml or 0))],
    e.Answered: _answered,
    e.AlertAnswered: lambda t, v: [word(v.kind), v.action or ""],
    e.AlertShown: lambda t, v: [v.text],
    e.AlertCleared: lambda t, v: [v.text],
    e.ThresholdsInForce: lambda t, v: [say("told-thresholds", hash=v.hash[:12], version=v.version)],
    e.WatchStarted: lambda t, v: [say("told-version", version=v.version)],
    e.Note: lambda t, v: [v.text],
    e.Corrected: _corrected,
    e.StruckOut: lambda t, v: [say("told-reason", reason=v.reason)],
    e.HandedOver: _handed_over,
    e.SessionClosed: lambda t, v: [v.reason],
}  # fmt: skip
