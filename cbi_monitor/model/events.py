"""Every event that a chart can hold, one class a kind, named as in a session file.

An event is immutable. Fields that end in ``_ml`` and the field ``volume`` are millilitres, ``_g`` grams,
``_kg`` kilograms, ``_ml_per_h`` millilitres an hour; none may be negative. Times carry their offset.
A class refuses what cannot be read (wrong type, unknown field, unknown word, naive time, negative volume);
what is merely unlikely passes here and becomes a finding in the ledger.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Annotated, Any, ClassVar, Literal, Self

from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    StringConstraints,
    WithJsonSchema,
    model_validator,
)
from pydantic_core import PydanticCustomError

from cbi_monitor.model.instants import NaiveTime, format_instant, parse_instant, speakable


def _read_instant(given: object) -> datetime:
    if isinstance(given, str):
        try:
            given = parse_instant(given)
        except NaiveTime as fault:
            raise PydanticCustomError(
                "naive_time", "{given} does not say its offset from UTC", {"given": given, "like": fault.like}
            ) from None
        except ValueError:
            raise PydanticCustomError(
                "not_a_time", "{given} is not a date and time", {"given": given}
            ) from None
    if not isinstance(given, datetime):
        raise PydanticCustomError("not_a_time", "{given} is not a date and time", {"given": str(given)})
    if given.tzinfo is None or given.utcoffset() is None:
        shown = given.isoformat()
        raise PydanticCustomError(
            "naive_time",
            "{given} does not say its offset from UTC",
            {"given": shown, "like": f"{shown}+00:00"},
        )
    if not speakable(given):
        raise PydanticCustomError(
            "year_out_of_range", "{given} lies outside the years 1000 to 8999", {"given": given.isoformat()}
        )
    return given


Instant = Annotated[
    datetime,
    BeforeValidator(_read_instant, json_schema_input_type=str),
    PlainSerializer(format_instant, return_type=str),
    WithJsonSchema(
        {
            "type": "string",
            "format": "date-time",
            "pattern": r"^[1-8]\d{3}-?\d\d-?\d\d.\d\d(:?\d\d)?(:?\d\d([.,]\d+)?)?(Z|[+-]\d\d(:?\d\d)?(:?\d\d)?)$",
        }
    ),
]
Text = Annotated[str, StringConstraints(strict=True, min_length=1, max_length=4000)]
Key = Annotated[str, StringConstraints(strict=True, min_length=1, max_length=200)]
# The ends keep sums finite; what is merely absurd lies far inside them and becomes a finding.
Number = Annotated[float, Field(strict=True, ge=-1e9, le=1e9, allow_inf_nan=False)]
Millilitres = Annotated[float, Field(strict=True, ge=0, le=1e9, allow_inf_nan=False)]
Grams = Annotated[float, Field(strict=True, ge=0, le=1e9, allow_inf_nan=False)]
Positive = Annotated[float, Field(strict=True, gt=0, le=1e9, allow_inf_nan=False)]
Yes = Annotated[bool, Field(strict=True)]
Count = Annotated[int, Field(strict=True, ge=0, le=1_000_000)]
Pain = Annotated[int, Field(strict=True, ge=0, le=10)] | Literal["cannot_say"]


def _as_list(given: object) -> object:
    return [given] if isinstance(given, str) else given


Texts = Annotated[
    tuple[Text, ...], BeforeValidator(_as_list, json_schema_input_type=list[Text] | Text), Field(strict=False)
]
Figure = Annotated[float, Field(allow_inf_nan=False)]
Figures = dict[str, Figure | int | str | bool | None]
Clots = Literal["none", "specks", "small", "large"]
StopReason = Literal["not_draining", "trial", "transport", "scan", "order", "other"]


class Event(BaseModel):
    """What all events have.

    ``at`` is when it happened, ``recorded`` when it was typed (absent: not known, taken as ``at``), ``by`` the
    staff id, ``check`` ties the readings of one visit, ``for_whom`` names the nurse it was entered for,
    ``source`` the file and line that an imported entry came from.
    """

    model_config = ConfigDict(frozen=True, extra="forbid", str_strip_whitespace=False)

    rank: ClassVar[int] = 8

    event: str
    session: Key
    at: Instant
    recorded: Instant | None = None
    by: Key | None = None
    id: Key = ""
    check: Key | None = None
    for_whom: Key | None = None
    source: Text | None = None

    @model_validator(mode="before")
    @classmethod
    def _one_spelling_of_volume(cls, given: Any) -> Any:
        if isinstance(given, Mapping) and "volume_ml" in given and "volume_ml" not in cls.model_fields:
            if "volume" in cls.model_fields and "volume" not in given:
                given = dict(given)
                given["volume"] = given.pop("volume_ml")
        return given

    @property
    def typed_at(self) -> datetime:
        """When it was typed; where that is not known, when it happened."""
        return self.recorded or self.at


def _excluding(first: str, second: str) -> PydanticCustomError:
    return PydanticCustomError(
        "excluding",
        "{first} and {second} exclude each other; keep one of them",
        {"first": first, "second": second},
    )


def _together(first: str, second: str) -> PydanticCustomError:
    return PydanticCustomError(
        "together", "{first} goes with {second}; write both or neither", {"first": first, "second": second}
    )


def _need_one(event: Event, names: tuple[str, ...], *, also: str = "not_measured") -> None:
    given = [name for name in names if getattr(event, name) is not None]
    unmeasured = bool(getattr(event, also, False))
    if unmeasured and given:
        raise _excluding(given[0], also)
    if not unmeasured and len(given) > 1:
        raise _excluding(given[0], given[1])
    if not unmeasured and not given:
        raise PydanticCustomError(
            "no_measure",
            "no measure is given; write {wanted}, or not_measured: true",
            {"wanted": " or ".join(names)},
        )


class _Measured(Event):
    """An event whose volume may be unmeasured or an estimate by eye."""

    measures: ClassVar[tuple[str, ...]] = ("volume",)

    not_measured: Yes | None = None
    about: Yes | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        _need_one(self, self.measures)
        return self


# --- the session ------------------------------------------------------------------------------------------------


class _Details(Event):
    bed: Text | None = None
    weight_kg: Positive | None = None
    weight_from: Literal["scales", "stated", "guessed"] | None = None
    age_years: Annotated[float, Field(strict=True, ge=0, le=130)] | None = None
    sex: Literal["male", "female", "other", "unknown"] | None = None
    operation: Text | None = None
    operation_ended: Instant | None = None
    from_place: Text | None = None
    indication: Text | None = None
    allergies: Texts | None = None
    fluid: Text | None = None
    kidney: Literal["usual", "chronic", "dialysis", "single"] | None = None
    heart_failure: Yes | None = None
    can_say_pain: Yes | None = None
    blood_thinners: Yes | Text | None = None
    block_until: Instant | None = None
    theatre_fluid: Text | None = None
    theatre_deficit_ml: Number | None = None
    other_urine_outlets: Texts | None = None
    baseline_hb: Positive | None = None
    baseline_na: Positive | None = None
    baseline_creatinine: Positive | None = None


class SessionOpened(_Details):
    """One patient's irrigation begins to be charted. Hb in g/L, sodium in mmol/L, creatinine in µmol/L."""

    rank = 0
    event: Literal["session_opened"] = "session_opened"
    patient: Text


class SessionDetails(_Details):
    """Any detail of the opening said later or anew; the later one stands."""

    rank = 1
    event: Literal["session_details"] = "session_details"
    patient: Text | None = None


class Ordered(Event):
    """What the prescriber ordered. The newest stands, older ones stay on the chart."""

    rank = 2
    event: Literal["ordered"] = "ordered"
    by_whom: Text
    how: Literal["written", "phone", "spoken"]
    read_back: Yes | None = None
    target_grade: Key | None = None
    rate_low_ml_per_h: Millilitres | None = None
    rate_high_ml_per_h: Millilitres | None = None
    bladder_limit_ml: Positive | None = None
    washout: Literal["nurse", "doctor_only", "never"] | None = None
    expected_urine: Literal["usual", "low", "none", "diverted"] | None = None
    traction_until: Instant | None = None
    call_if: Texts | None = None
    until: Instant | None = None
    fluid: Text | None = None


# --- catheter ---------------------------------------------------------------------------------------------------


class CatheterPlaced(Event):
    """A catheter went in. ``french`` is the outer gauge, 3 × diameter in mm (ISO 20696:2018)."""

    event: Literal["catheter_placed"] = "catheter_placed"
    french: Annotated[float, Field(strict=True, gt=0, le=60)]
    ways: Literal[2, 3]
    tip: Literal["straight", "coude"]
    material: Text
    balloon_ml: Millilitres | None = None
    balloon_filled_with: Text | None = None
    residual_ml: Millilitres | None = None

    @property
    def diameter_mm(self) -> float:
        """Outer diameter in mm, French / 3, ± 0.33 (ISO 20696:2018, 5.5.2)."""
        return self.french / 3


class CatheterRemoved(Event):
    """The catheter is out, planned or not."""

    event: Literal["catheter_removed"] = "catheter_removed"
    reason: Literal["planned", "changed", "pulled_out", "fell_out", "blocked"]
    balloon_ml_out: Millilitres | None = None
    tip_whole: Yes | None = None


class BalloonChanged(Event):
    """The balloon now holds ``balloon_ml``."""

    event: Literal["balloon_changed"] = "balloon_changed"
    balloon_ml: Millilitres


class TractionOn(Event):
    """Traction was put on the catheter."""

    event: Literal["traction_on"] = "traction_on"
    until: Instant | None = None


class TractionOff(Event):
    """Traction was let off."""

    event: Literal["traction_off"] = "traction_off"


# --- irrigant ---------------------------------------------------------------------------------------------------


class BagHung(Event):
    """An irrigant bag was hung. ``primed_ml`` filled the tubing and was not instilled."""

    rank = 5
    event: Literal["bag_hung"] = "bag_hung"
    line: Key
    label_ml: Positive
    fluid: Text
    measured_ml: Millilitres | None = None
    measured_g: Grams | None = None
    clamped: Yes | None = None
    primed_ml: Millilitres | None = None
    batch: Text | None = None
    expiry: Text | None = None
    line_traced: Yes | None = None
    second_check_by: Key | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if self.measured_ml is not None and self.measured_g is not None:
            raise _excluding("measured_ml", "measured_g")
        return self


class BagRead(_Measured):
    """What is left in the hanging bag; ``of: new`` where a bag was hung at the same instant and that one is meant."""

    measures = ("left_ml", "left_g")
    event: Literal["bag_read"] = "bag_read"
    line: Key
    left_ml: Millilitres | None = None
    left_g: Grams | None = None
    of: Literal["new"] | None = None


class BagDown(_Measured):
    """A bag was taken down with this left in it. ``found_empty``: it ran dry at some time before (a bound)."""

    rank = 4
    measures = ("left_ml", "left_g")
    event: Literal["bag_down"] = "bag_down"
    line: Key
    left_ml: Millilitres | None = None
    left_g: Grams | None = None
    found_empty: Yes | None = None

    @model_validator(mode="before")
    @classmethod
    def _found_empty_needs_no_level(cls, given: Any) -> Any:
        if isinstance(given, Mapping) and given.get("found_empty") is True:
            names = ("left_ml", "left_g", "not_measured")
            if not any(given.get(name) is not None and given.get(name) is not False for name in names):
                given = {**given, "left_ml": 0}
        return given


class LineOpened(Event):
    """The clamp of one line was opened."""

    rank = 7
    event: Literal["line_opened"] = "line_opened"
    line: Key


class LineClamped(Event):
    """The clamp of one line was closed."""

    rank = 7
    event: Literal["line_clamped"] = "line_clamped"
    line: Key


class InflowSet(Event):
    """The roller was set. A set rate never counts as volume. Drip rates need the set's drops per mL."""

    rank = 7
    event: Literal["inflow_set"] = "inflow_set"
    line: Key | None = None
    ml_per_h: Millilitres | None = None
    drops_per_min: Millilitres | None = None
    drops_per_ml: Positive | None = None
    setting: Literal["off", "slow", "moderate", "fast", "wide_open"] | None = None

    @model_validator(mode="after")
    def _one_way_of_saying_it(self) -> Self:
        if (self.drops_per_min is None) != (self.drops_per_ml is None):
            raise _together("drops_per_min", "drops_per_ml")
        ways = [name for name in ("ml_per_h", "drops_per_min", "setting") if getattr(self, name) is not None]
        if len(ways) > 1:
            raise _excluding(ways[0], ways[1])
        if not ways:
            raise PydanticCustomError(
                "no_rate",
                "no rate is given; write one of ml_per_h, drops_per_min with drops_per_ml, or setting",
            )
        return self


class InflowStopped(Event):
    """The irrigation was stopped; without a line, all running lines."""

    rank = 7
    event: Literal["inflow_stopped"] = "inflow_stopped"
    line: Key | None = None
    reason: StopReason | None = None


class InflowStarted(Event):
    """The irrigation was started again; without a line, exactly the lines that the last stop closed."""

    rank = 7
    event: Literal["inflow_started"] = "inflow_started"
    line: Key | None = None
    reason: StopReason | None = None


class IrrigantRunIn(_Measured):
    """A volume that ran in, for charts that give volumes instead of levels."""

    event: Literal["irrigant_run_in"] = "irrigant_run_in"
    volume: Millilitres | None = None
    since: Instant | None = None
    line: Key | None = None


class IrrigantLost(_Measured):
    """Irrigant that left its bag and never reached the bladder: spilled, disconnected, thrown away."""

    event: Literal["irrigant_lost"] = "irrigant_lost"
    volume: Millilitres | None = None
    line: Key | None = None


# --- drainage ---------------------------------------------------------------------------------------------------


class DrainageBagPlaced(Event):
    """A drainage bag was put on. The old bag's contents belong to what drained before."""

    rank = 5
    event: Literal["drainage_bag_placed"] = "drainage_bag_placed"
    capacity_ml: Positive
    contents_ml: Millilitres | None = None
    old_contents_ml: Millilitres | None = None
    old_mass_g: Grams | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if self.old_contents_ml is not None and self.old_mass_g is not None:
            raise _excluding("old_contents_ml", "old_mass_g")
        return self


class DrainageRead(_Measured):
    """What the drainage bag holds. ``found_full``: nothing more could run out since it filled."""

    rank = 3
    measures = ("contents_ml", "mass_g")
    event: Literal["drainage_read"] = "drainage_read"
    contents_ml: Millilitres | None = None
    mass_g: Grams | None = None
    found_full: Yes | None = None


class DrainageEmptied(_Measured):
    """The drainage bag was emptied of ``volume``; ``left_ml`` stayed in it (absent: none)."""

    rank = 4
    measures = ("volume", "mass_g")
    event: Literal["drainage_emptied"] = "drainage_emptied"
    volume: Millilitres | None = None
    mass_g: Grams | None = None
    left_ml: Millilitres | None = None
    found_full: Yes | None = None


class DrainageClamped(Event):
    """The drainage side was clamped."""

    rank = 7
    event: Literal["drainage_clamped"] = "drainage_clamped"


class DrainageOpened(Event):
    """The drainage side was opened."""

    rank = 7
    event: Literal["drainage_opened"] = "drainage_opened"


# --- what is seen and done at the bed ---------------------------------------------------------------------------


class OutflowSeen(Event):
    """Somebody looked at the drip. Only ``steady`` proves anything."""

    event: Literal["outflow_seen"] = "outflow_seen"
    running: Yes
    how: Literal["steady", "slow", "drops_only", "none"] | None = None

    @model_validator(mode="after")
    def _not_running_is_none(self) -> Self:
        if self.running and self.how == "none":
            raise PydanticCustomError(
                "running_and_none", "running: true with how: none; write running: false"
            )
        if not self.running and self.how == "steady":
            raise PydanticCustomError(
                "still_and_steady", "running: false with how: steady; write running: true"
            )
        return self


class EffluentGraded(Event):
    """The colour in the tubing by the ward's own scale, clots apart."""

    event: Literal["effluent_graded"] = "effluent_graded"
    grade: Key
    clots: Clots | None = None


class Washout(Event):
    """A hand washout. ``returned_ml`` is only what was caught outside the drainage bag."""

    event: Literal["washout"] = "washout"
    instilled_ml: Millilitres | None = None
    pushes: Count | None = None
    syringe_ml: Positive | None = None
    not_measured: Yes | None = None
    about: Yes | None = None
    returned_ml: Millilitres | None = None
    returned_to: Literal["dish", "drainage_bag"] | None = None
    clots: Clots | None = None
    clots_ml: Millilitres | None = None
    resistance: Literal["easy", "stiff", "in_but_not_back"] | None = None
    draining_after: Literal["steady", "slow", "none"] | None = None
    bladder_emptied: Yes | None = None
    done_by: Text | None = None

    @model_validator(mode="after")
    def _one_measure(self) -> Self:
        if (self.pushes is None) != (self.syringe_ml is None):
            raise _together("pushes", "syringe_ml")
        _need_one(self, ("instilled_ml", "pushes"))
        return self

    @property
    def instilled(self) -> float | None:
        """Millilitres pushed in, or None where not measured."""
        if self.pushes is not None and self.syringe_ml is not None:
            return self.pushes * self.syringe_ml
        return self.instilled_ml


class BladderScanned(Event):
    """A bladder scan. Clot may not show on it."""

    event: Literal["bladder_scanned"] = "bladder_scanned"
    volume_ml: Millilitres
    after_void: Yes | None = None
    repeat: Yes | None = None


class Leaked(_Measured):
    """By-passing: fluid that came out beside the catheter. Extent alone is a volume not measured."""

    measures = ("volume", "mass_g")
    event: Literal["leaked"] = "leaked"
    volume: Millilitres | None = None
    mass_g: Grams | None = None
    extent: Literal["spot", "pad", "sheet", "soaked"] | None = None

    @model_validator(mode="before")
    @classmethod
    def _extent_alone_is_not_measured(cls, given: Any) -> Any:
        if isinstance(given, Mapping) and given.get("extent") is not None:
            names = ("volume", "volume_ml", "mass_g", "not_measured")
            if not any(given.get(name) is not None and given.get(name) is not False for name in names):
                given = {**given, "not_measured": True}
        return given


class Voided(_Measured):
    """Urine passed by the patient; in no bag, counts in net urine."""

    event: Literal["voided"] = "voided"
    volume: Millilitres | None = None
    grade: Key | None = None
    clots: Clots | None = None
    effort: Text | None = None


class UrineOtherwise(_Measured):
    """Urine that left by another way (suprapubic, stoma, nephrostomy); in no bag, counts in net urine."""

    event: Literal["urine_otherwise"] = "urine_otherwise"
    route: Text
    volume: Millilitres | None = None


class Symptoms(Event):
    """What the patient says and shows. Never refused for being unlikely."""

    event: Literal["symptoms"] = "symptoms"
    pain: Pain | None = None
    spasm: Yes | None = None
    urge: Literal["bladder", "bowel"] | None = None
    abdomen: Literal["soft", "full", "hard"] | None = None
    restless: Yes | None = None
    pulling: Yes | None = None
    sweaty_pale: Yes | None = None
    confused: Yes | None = None
    nausea: Yes | None = None
    breathless: Yes | None = None
    shoulder_tip_pain: Yes | None = None
    numb_block: Yes | None = None
    note: Text | None = None


class TubingChecked(Event):
    """The tubing was followed from bag to catheter; what was found, what was put right."""

    event: Literal["tubing_checked"] = "tubing_checked"
    found: Texts
    fixed: Yes | None = None


class VitalSign(Event):
    """A vital sign as charted: ``systolic``, ``diastolic``, ``pulse``, ``temperature``, … with its unit."""

    event: Literal["vital_sign"] = "vital_sign"
    name: Key
    value: Number
    unit: Text


class LabResult(Event):
    """A laboratory value as charted: ``hb``, ``na``, ``creatinine``, … with its unit."""

    event: Literal["lab_result"] = "lab_result"
    name: Key
    value: Number
    unit: Text


class FluidTaken(_Measured):
    """Anything else that enters: drink, infusion, feed."""

    event: Literal["fluid_taken"] = "fluid_taken"
    route: Text
    volume: Millilitres | None = None


class FluidLost(_Measured):
    """Anything else that leaves: wound drain, vomit, stool."""

    event: Literal["fluid_lost"] = "fluid_lost"
    route: Text
    volume: Millilitres | None = None


# --- the patient moves, people are called -----------------------------------------------------------------------


class Away(Event):
    """The patient left the ward for a while."""

    event: Literal["away"] = "away"
    where: Text
    inflow: Literal["running", "off"]
    back_by: Instant | None = None


class Back(Event):
    """The patient is back."""

    event: Literal["back"] = "back"


class Transferred(Event):
    """Another ward took the patient over."""

    event: Literal["transferred"] = "transferred"
    to_ward: Text
    accepted_by: Text


class Called(Event):
    """Somebody was called about this patient."""

    event: Literal["called"] = "called"
    whom: Text
    how: Text
    about: Text
    told: Text
    answer: Text | None = None
    order_taken: Text | None = None
    read_back: Yes | None = None
    no_answer: Yes | None = None
    arrived_at: Instant | None = None


# --- the chart itself -------------------------------------------------------------------------------------------


class CountRestarted(Event):
    """Running totals and the retained estimate begin anew here."""

    event: Literal["count_restarted"] = "count_restarted"
    reason: Literal["return_from_theatre", "unmeasured_loss", "kept_on_paper", "catheter_changed", "other"]
    bladder_ml: Millilitres | None = None


class Answered(Event):
    """A finding was answered. ``not_recorded`` names the volume that was never written down."""

    event: Literal["answered"] = "answered"
    finding: Key
    answer: Literal["confirmed", "not_recorded", "wrong"]
    volume_ml: Number | None = None
    reason: Text


class AlertAnswered(Event):
    """Somebody answered an alert: is going, or has seen it. Clears nothing."""

    event: Literal["alert_answered"] = "alert_answered"
    alert: Key
    kind: Literal["going", "seen"]
    action: Text | None = None


class AlertShown(Event):
    """What stood on the screen: the alert's numbers and text as shown."""

    event: Literal["alert_shown"] = "alert_shown"
    alert: Key
    condition: Key
    subject: Text
    priority: Literal["high", "medium", "low"]
    numbers: Figures | None = None
    text: Text


class AlertCleared(Event):
    """An alert left the screen, with the numbers and text it left with."""

    event: Literal["alert_cleared"] = "alert_cleared"
    alert: Key
    condition: Key
    subject: Text
    priority: Literal["high", "medium", "low"]
    numbers: Figures | None = None
    text: Text


class ThresholdsInForce(Event):
    """The full text of the threshold file that alerts were judged by, its hash, and the program's version."""

    event: Literal["thresholds_in_force"] = "thresholds_in_force"
    text: Annotated[str, StringConstraints(strict=True)]
    hash: Key
    version: Key


class WatchStarted(Event):
    """The program began to watch this session."""

    event: Literal["watch_started"] = "watch_started"
    version: Key


class WatchStopped(Event):
    """The program stopped watching this session."""

    event: Literal["watch_stopped"] = "watch_stopped"


class Note(Event):
    """Free text."""

    event: Literal["note"] = "note"
    text: Text


NEVER_CORRECTED = ("event", "session", "id", "recorded", "source")
"""Fields that say which entry it is, and when and from where it came into the chart."""


class Corrected(Event):
    """Fields of an earlier entry said anew; null removes an optional one; ``event`` and ``session`` never change."""

    event: Literal["corrected"] = "corrected"
    target: Key
    fields: dict[str, Any]
    reason: Text

    @model_validator(mode="after")
    def _not_who_it_is(self) -> Self:
        for name in NEVER_CORRECTED:
            if name in self.fields:
                raise PydanticCustomError(
                    "never_corrected", "{name} of an entry is never corrected", {"name": name}
                )
        if not self.fields:
            raise PydanticCustomError("nothing_corrected", "fields is empty; name a field and its new value")
        return self


class StruckOut(Event):
    """An entry, or a correction, is struck out and stays so."""

    event: Literal["struck_out"] = "struck_out"
    target: Key
    reason: Text


class HandedOver(Event):
    """One nurse handed the patient to the next."""

    event: Literal["handed_over"] = "handed_over"
    from_: Key = Field(alias="from")
    to: Key
    read_back: Yes
    next_due: Instant | None = None
    open_questions: Texts | None = None


class SessionClosed(Event):
    """The charting of this irrigation ends."""

    event: Literal["session_closed"] = "session_closed"
    reason: Text


KINDS: tuple[type[Event], ...] = (
    SessionOpened, SessionDetails, Ordered,
    CatheterPlaced, CatheterRemoved, BalloonChanged, TractionOn, TractionOff,
    BagHung, BagRead, BagDown, LineOpened, LineClamped, InflowSet, InflowStopped, InflowStarted,
    IrrigantRunIn, IrrigantLost,
    DrainageBagPlaced, DrainageRead, DrainageEmptied, DrainageClamped, DrainageOpened,
    OutflowSeen, EffluentGraded, Washout, BladderScanned, Leaked, Voided, UrineOtherwise, Symptoms,
    TubingChecked, VitalSign, LabResult, FluidTaken, FluidLost,
    Away, Back, Transferred, Called,
    CountRestarted, Answered, AlertAnswered, AlertShown, AlertCleared,
    ThresholdsInForce, WatchStarted, WatchStopped, Note, Corrected, StruckOut, HandedOver, SessionClosed,
)  # fmt: skip

BY_NAME: dict[str, type[Event]] = {kind.model_fields["event"].default: kind for kind in KINDS}

META_KINDS = (Corrected, StruckOut)
"""Kinds that change other entries and stand in no order of their own."""


def rank_of(event: Event) -> int:
    """The rank within one instant: what is there is read before it is changed."""
    if isinstance(event, BagRead):
        return 6 if event.of == "new" else 3
    return event.rank


def line_of(event: Event) -> str:
    """The irrigant line that an event names, or an empty text."""
    return getattr(event, "line", None) or ""
