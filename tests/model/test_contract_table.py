"""Every kind of event, every field: the table of the session file, written out once more by hand."""

from __future__ import annotations

from typing import Any, get_args

import pytest
from pydantic import ValidationError

from cbi_monitor.model.events import BY_NAME, KINDS

# kind: (fields that must be there, fields that may be there). One of several ways to say a volume counts as "may".
DETAILS = (
    "bed weight_kg weight_from age_years sex operation operation_ended from_place indication allergies fluid kidney "
    "heart_failure can_say_pain blood_thinners block_until theatre_fluid theatre_deficit_ml other_urine_outlets "
    "baseline_hb baseline_na baseline_creatinine"
)
VOLUME = "volume not_measured about"
TABLE: dict[str, tuple[str, str]] = {
    "session_opened": ("patient", DETAILS),
    "session_details": ("", f"patient {DETAILS}"),
    "ordered": (
        "by_whom how",
        (
            "read_back target_grade rate_low_ml_per_h rate_high_ml_per_h bladder_limit_ml washout expected_urine "
            "traction_until call_if until fluid"
        ),
    ),
    "catheter_placed": ("french ways tip material", "balloon_ml balloon_filled_with residual_ml"),
    "catheter_removed": ("reason", "balloon_ml_out tip_whole"),
    "balloon_changed": ("balloon_ml", ""),
    "traction_on": ("", "until"),
    "traction_off": ("", ""),
    "bag_hung": (
        "line label_ml fluid",
        "measured_ml measured_g clamped primed_ml batch expiry line_traced second_check_by",
    ),
    "bag_read": ("line", "left_ml left_g of not_measured about"),
    "bag_down": ("line", "left_ml left_g found_empty not_measured about"),
    "line_opened": ("line", ""),
    "line_clamped": ("line", ""),
    "inflow_set": ("", "line ml_per_h drops_per_min drops_per_ml setting"),
    "inflow_stopped": ("", "line reason"),
    "inflow_started": ("", "line reason"),
    "irrigant_run_in": ("", f"{VOLUME} since line"),
    "irrigant_lost": ("", f"{VOLUME} line"),
    "drainage_bag_placed": ("capacity_ml", "contents_ml old_contents_ml old_mass_g"),
    "drainage_read": ("", "contents_ml mass_g found_full not_measured about"),
    "drainage_emptied": ("", f"{VOLUME} mass_g left_ml found_full"),
    "drainage_clamped": ("", ""),
    "drainage_opened": ("", ""),
    "outflow_seen": ("running", "how"),
    "effluent_graded": ("grade", "clots"),
    "washout": (
        "",
        (
            "instilled_ml pushes syringe_ml not_measured about returned_ml returned_to clots clots_ml resistance "
            "draining_after bladder_emptied done_by"
        ),
    ),
    "bladder_scanned": ("volume_ml", "after_void repeat"),
    "leaked": ("", f"{VOLUME} mass_g extent"),
    "voided": ("", f"{VOLUME} grade clots effort"),
    "urine_otherwise": ("route", VOLUME),
    "symptoms": (
        "",
        (
            "pain spasm urge abdomen restless pulling sweaty_pale confused nausea breathless shoulder_tip_pain "
            "numb_block note"
        ),
    ),
    "tubing_checked": ("found", "fixed"),
    "vital_sign": ("name value unit", ""),
    "lab_result": ("name value unit", ""),
    "fluid_taken": ("route", VOLUME),
    "fluid_lost": ("route", VOLUME),
    "away": ("where inflow", "back_by"),
    "back": ("", ""),
    "transferred": ("to_ward accepted_by", ""),
    "called": ("whom how about told", "answer order_taken read_back no_answer arrived_at"),
    "count_restarted": ("reason", "bladder_ml"),
    "answered": ("finding answer reason", "volume_ml"),
    "alert_answered": ("alert kind", "action"),
    "alert_shown": ("alert condition subject priority text", "numbers"),
    "alert_cleared": ("alert condition subject priority text", "numbers"),
    "thresholds_in_force": ("text hash version", ""),
    "watch_started": ("version", ""),
    "watch_stopped": ("", ""),
    "note": ("text", ""),
    "corrected": ("target fields reason", ""),
    "struck_out": ("target reason", ""),
    "handed_over": ("from to read_back", "next_due open_questions"),
    "session_closed": ("reason", ""),
}
COMMON = {"event", "session", "at", "recorded", "by", "id", "check", "for_whom", "source"}

# Words that may stand in a field, as the table gives them.
WORDS: dict[tuple[str, str], str] = {
    ("session_opened", "weight_from"): "scales stated guessed",
    ("session_opened", "kidney"): "usual chronic dialysis single",
    ("ordered", "how"): "written phone spoken",
    ("ordered", "washout"): "nurse doctor_only never",
    ("ordered", "expected_urine"): "usual low none diverted",
    ("catheter_placed", "tip"): "straight coude",
    ("catheter_removed", "reason"): "planned changed pulled_out fell_out blocked",
    ("bag_read", "of"): "new",
    ("inflow_set", "setting"): "off slow moderate fast wide_open",
    ("inflow_stopped", "reason"): "not_draining trial transport scan order other",
    ("inflow_started", "reason"): "not_draining trial transport scan order other",
    ("outflow_seen", "how"): "steady slow drops_only none",
    ("effluent_graded", "clots"): "none specks small large",
    ("washout", "returned_to"): "dish drainage_bag",
    ("washout", "resistance"): "easy stiff in_but_not_back",
    ("washout", "draining_after"): "steady slow none",
    ("leaked", "extent"): "spot pad sheet soaked",
    ("symptoms", "urge"): "bladder bowel",
    ("symptoms", "abdomen"): "soft full hard",
    ("away", "inflow"): "running off",
    ("count_restarted", "reason"): "return_from_theatre unmeasured_loss kept_on_paper catheter_changed other",
    ("answered", "answer"): "confirmed not_recorded wrong",
    ("alert_answered", "kind"): "going seen",
}

# Rank within one instant: session, details, orders; reads of what is there; what goes; what comes; (reads of the new
# bag); settings; everything else. A bag_read has two ranks: see test_canonical.
RANKS = {
    "session_opened": 0,
    "session_details": 1,
    "ordered": 2,
    "drainage_read": 3,
    "bag_down": 4,
    "drainage_emptied": 4,
    "bag_hung": 5,
    "drainage_bag_placed": 5,
    "line_opened": 7,
    "line_clamped": 7,
    "inflow_set": 7,
    "inflow_stopped": 7,
    "inflow_started": 7,
    "drainage_clamped": 7,
    "drainage_opened": 7,
}


def test_every_kind_of_the_table_and_no_other_can_be_written():
    assert sorted(BY_NAME) == sorted(TABLE)
    assert len(KINDS) == len(TABLE) == 53


@pytest.mark.parametrize("name", TABLE)
def test_a_kind_has_the_fields_of_the_table_and_no_other(name: str):
    must, may = (set(part.split()) for part in TABLE[name])
    fields = {told.alias or field: told for field, told in BY_NAME[name].model_fields.items()}
    assert fields.keys() - COMMON == must | may
    assert {field for field, told in fields.items() if told.is_required()} == must | {"session", "at"}


def _words_of(annotation: Any) -> set[str]:
    found: set[str] = set()
    for part in get_args(annotation):
        found |= {part} if isinstance(part, str) else _words_of(part)
    return found


@pytest.mark.parametrize(("name", "field"), WORDS)
def test_a_field_takes_the_words_of_the_table(name: str, field: str):
    assert _words_of(BY_NAME[name].model_fields[field].annotation) == set(WORDS[name, field].split())


@pytest.mark.parametrize("name", sorted(TABLE.keys() - {"bag_read"}))
def test_a_kind_has_its_rank(name: str):
    assert BY_NAME[name].rank == RANKS.get(name, 8)


BASE = {"session": "s", "at": "2026-03-01T07:00:00+00:00"}


def _is_read(name: str, **fields: Any) -> bool:
    try:
        BY_NAME[name].model_validate({"event": name, **BASE, **fields})
    except ValidationError:
        return False
    return True


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("bag_read", {"line": "A"}),
        ("bag_read", {"line": "A", "left_ml": 1, "left_g": 1}),
        ("bag_read", {"line": "A", "left_ml": 1, "not_measured": True}),
        ("bag_read", {"line": "A", "left_ml": -1}),
        ("bag_read", {"line": "A", "left_ml": "850"}),
        ("bag_read", {"line": "A", "left_ml": True}),
        ("bag_read", {"line": "A", "left_ml": float("inf")}),
        ("bag_read", {"line": "", "left_ml": 1}),
        ("inflow_set", {}),
        ("inflow_set", {"ml_per_h": 500, "setting": "fast"}),
        ("inflow_set", {"drops_per_min": 60}),
        ("inflow_set", {"drops_per_ml": 20}),
        ("washout", {"pushes": 3}),
        ("washout", {"instilled_ml": 50, "pushes": 3, "syringe_ml": 50}),
        ("washout", {"pushes": 2.5, "syringe_ml": 50}),
        ("outflow_seen", {"running": False, "how": "steady"}),
        ("outflow_seen", {"running": True, "how": "none"}),
        ("catheter_placed", {"french": 22, "ways": 4, "tip": "coude", "material": "silicone"}),
        ("symptoms", {"pain": 11}),
        ("symptoms", {"pain": "a lot"}),
        ("symptoms", {"spasm": "yes"}),
        ("drainage_bag_placed", {"capacity_ml": 2000, "old_contents_ml": 1, "old_mass_g": 1}),
        ("bag_hung", {"line": "A", "label_ml": 3000, "fluid": "x", "measured_ml": 1, "measured_g": 1}),
        ("bag_hung", {"line": "A", "label_ml": 0, "fluid": "x"}),
        ("corrected", {"target": "x", "fields": {}, "reason": "slip"}),
        ("corrected", {"target": "x", "fields": {"event": "note"}, "reason": "slip"}),
        ("corrected", {"target": "x", "fields": {"session": "t"}, "reason": "slip"}),
        ("note", {"text": "x", "at": "2026-03-01T07:00:00"}),
        ("note", {"text": "x", "at": 1_772_348_400}),
        ("note", {"text": "x", "at": "0001-01-01T00:00:00+14:00"}),
        ("note", {"text": ""}),
        ("alert_shown", {"alert": "a", "condition": "c", "subject": "s", "priority": "low", "text": "t",
                         "numbers": {"behind_ml": float("nan")}}),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_refused(name: str, fields: dict[str, Any]):
    assert not _is_read(name, **fields)


@pytest.mark.parametrize(
    ("name", "fields"),
    [
        ("bag_read", {"line": "A", "left_g": 850}),
        ("bag_read", {"line": "A", "not_measured": True}),
        ("bag_read", {"line": "A", "left_ml": 5000, "about": True}),
        ("bag_down", {"line": "A", "found_empty": True}),
        ("leaked", {"extent": "soaked"}),
        ("leaked", {"extent": "soaked", "not_measured": False}),
        ("washout", {"pushes": 3, "syringe_ml": 50}),
        ("washout", {"not_measured": True}),
        ("inflow_set", {"drops_per_min": 60, "drops_per_ml": 20}),
        ("symptoms", {"pain": "cannot_say"}),
        ("symptoms", {"pain": 0}),
        ("session_opened", {"patient": "12", "blood_thinners": "stopped on Monday"}),
        ("session_opened", {"patient": "12", "blood_thinners": False, "allergies": "latex"}),
        ("handed_over", {"from": "a", "to": "b", "read_back": True}),
        ("irrigant_run_in", {"volume_ml": 250}),
        ("drainage_emptied", {"volume": 28_000}),
        ("note", {"text": "x", "at": "2213-03-01T07:00:00Z"}),
    ],
)
def test_what_is_merely_unlikely_is_read(name: str, fields: dict[str, Any]):
    assert _is_read(name, **fields)
