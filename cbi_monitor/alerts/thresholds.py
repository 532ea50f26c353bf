"""Every number that can raise, clear or time an alert: the content of ``thresholds.toml`` as a type.

There are no defaults here: the shipped file ``settings/shipped/thresholds.toml`` holds them, with meaning, unit and
source of each. The unit stands at the end of a field's name: ``_ml``, ``_g_per_l``, ``_minutes``, ``_hours``,
``_ml_per_h``, ``_ml_per_kg_per_h``, ``_points`` (pain, 0 to 10), ``_u`` (standard uncertainties), ``_part`` (0 to 1),
``_steps`` (of the effluent scale), ``_count``. One class a condition, in the order of the screens' help.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

Ml = Annotated[float, Field(gt=0, le=20_000, allow_inf_nan=False)]
MlPerHour = Annotated[float, Field(ge=0, le=20_000, allow_inf_nan=False)]
MlPerKgPerHour = Annotated[float, Field(gt=0, le=20, allow_inf_nan=False)]
Minutes = Annotated[float, Field(ge=0, le=24 * 60, allow_inf_nan=False)]
Hours = Annotated[float, Field(gt=0, le=7 * 24, allow_inf_nan=False)]
Points = Annotated[int, Field(ge=1, le=10)]
U = Annotated[float, Field(ge=1, le=10, allow_inf_nan=False)]
Part = Annotated[float, Field(gt=0, le=1, allow_inf_nan=False)]
Steps = Annotated[int, Field(ge=1, le=20)]
Count = Annotated[int, Field(ge=1, le=50)]
Mmhg = Annotated[float, Field(ge=40, le=250, allow_inf_nan=False)]
PerMinute = Annotated[float, Field(ge=20, le=250, allow_inf_nan=False)]
MmolPerL = Annotated[float, Field(gt=0, le=200, allow_inf_nan=False)]
GPerL = Annotated[float, Field(gt=0, le=250, allow_inf_nan=False)]

Order = tuple[str, Literal["<", "<="], str]


class Condition(BaseModel):
    """The numbers of one condition.

    ``in_order`` names pairs of fields of which the first must be smaller than the second (``<``) or not larger
    (``<=``); a clearing limit lies below the raising one, so that nothing chatters.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    in_order: ClassVar[tuple[Order, ...]] = ()

    @model_validator(mode="after")
    def _numbers_in_order(self) -> Self:
        for small, sign, large in self.in_order:
            a, b = getattr(self, small), getattr(self, large)
            if not (a < b if sign == "<" else a <= b):
                words = "below" if sign == "<" else "at most"
                raise PydanticCustomError(
                    "out_of_order",
                    "{small} is {a}, but must be {words} {large}, which is {b}",
                    {"small": small, "large": large, "words": words, "a": f"{a:g}", "b": f"{b:g}"},
                )
        return self


class Retention(Condition):
    """More in than out since the highest point of out − in ("behind by"), by amount and by its own doubt."""

    in_order = (
        ("clears_below_behind_ml", "<", "medium_behind_ml"),
        ("clears_below_behind_ml", "<", "high_with_signs_behind_ml"),
        ("medium_behind_ml", "<=", "high_behind_ml"),
        ("high_with_signs_behind_ml", "<=", "high_behind_ml"),
    )
    medium_behind_ml: Ml
    high_behind_ml: Ml
    high_with_signs_behind_ml: Ml
    needs_u: U
    pain_from_points: Points
    signs_count_for_minutes: Minutes
    clears_below_behind_ml: Ml


class NoOutflow(Condition):
    """Seen not running with the inflow open; or drained in a row falls short of what had to come."""

    volume_needs_minutes: Minutes
    volume_needs_u: U
    least_urine_ml_per_h: MlPerHour


class Overdue(Condition):
    """A look or a check that is late: grace by the plan's interval, and when a longer delay weighs more."""

    in_order: ClassVar[tuple[Order, ...]] = (
        ("close_plan_up_to_minutes", "<", "middle_plan_up_to_minutes"),
        ("close_grace_minutes", "<=", "middle_grace_minutes"),
        ("middle_grace_minutes", "<=", "wide_grace_minutes"),
    )
    close_plan_up_to_minutes: Minutes
    close_grace_minutes: Minutes
    middle_plan_up_to_minutes: Minutes
    middle_grace_minutes: Minutes
    wide_grace_minutes: Minutes
    medium_after_graces_count: Count
    medium_from_inflow_ml_per_h: MlPerHour
    medium_in_first_minutes: Minutes

    def grace_minutes(self, every_minutes: float) -> float:
        """How late is still in time, for a plan that asks every so many minutes."""
        if every_minutes <= self.close_plan_up_to_minutes:
            return self.close_grace_minutes
        if every_minutes <= self.middle_plan_up_to_minutes:
            return self.middle_grace_minutes
        return self.wide_grace_minutes


class LookDue(Overdue):
    """A look at the drip is overdue. After a restart looks are asked for at two fixed times."""

    in_order: ClassVar[tuple[Order, ...]] = (
        *Overdue.in_order,
        ("after_restart_first_minutes", "<", "after_restart_second_minutes"),
    )
    after_restart_first_minutes: Minutes
    after_restart_second_minutes: Minutes


class CheckDue(Overdue):
    """A check is overdue."""


class Distress(Condition):
    """Pain, a hard or full abdomen, new restlessness: high unless steady outflow was seen afterwards."""

    in_order = (
        ("medium_pain_points", "<=", "high_pain_points"),
        ("clears_below_pain_points", "<=", "medium_pain_points"),
    )
    high_pain_points: Points
    medium_pain_points: Points
    clears_below_pain_points: Points
    restless_counts_as_points: Points
    restless_new_after_minutes: Minutes


class Leakage(Condition):
    """By-passing beside the catheter."""

    high_again_count: Count
    high_again_within_minutes: Minutes
    falling_outflow_part: Part
    clears_after_minutes: Minutes


class BladderScan(Condition):
    """A scan that shows volume while the irrigation runs."""

    in_order = (("clears_below_ml", "<", "medium_ml"), ("medium_ml", "<=", "high_ml"))
    medium_ml: Ml
    high_ml: Ml
    clears_below_ml: Ml


class RepeatedWashouts(Condition):
    """Washouts close together, or failing."""

    in_order = (("medium_count", "<=", "high_count"),)
    medium_count: Count
    medium_within_hours: Hours
    high_count: Count
    high_within_hours: Hours
    high_failed_count: Count
    failed_below_returned_part: Part


class ComesAndGoes(Condition):
    """High alerts that clear and come again."""

    cleared_highs_count: Count
    within_hours: Hours


class ColourDeepening(Condition):
    """Darker than before at a like rate; or darker because the inflow has slowed."""

    in_order = (("medium_steps", "<=", "high_steps"),)
    medium_steps: Steps
    high_steps: Steps
    like_rate_part: Part
    inflow_fell_part: Part
    look_back_hours: Hours


class BleedingOn(Condition):
    """Red that does not lighten."""

    in_order = (("systolic_below_mmhg", "<=", "systolic_clears_from_mmhg"),)
    high_darkest_minutes: Minutes
    medium_red_minutes: Minutes
    systolic_below_mmhg: Mmhg
    systolic_clears_from_mmhg: Mmhg
    pulse_above_per_min: PerMinute
    vitals_count_for_minutes: Minutes


class Clots(Condition):
    """Clots in the tubing, apart from colour."""

    high_large_count: Count
    high_large_within_hours: Hours
    slower_outflow_part: Part
    medium_after_washout_hours: Hours
    new_after_none_hours: Hours
    clears_after_none_minutes: Minutes


class BagRunningOut(Condition):
    """The last open irrigant bag is about to run dry."""

    in_order = (("medium_minutes", "<", "clears_above_minutes"),)
    medium_minutes: Minutes
    clears_above_minutes: Minutes


class BagDry(Condition):
    """Every open irrigant bag is dry: then somebody looks at the drip soon."""

    look_within_minutes: Minutes


class DrainageFilling(Condition):
    """The drainage bag fills; a full one is a block."""

    in_order = (
        ("clears_below_part", "<", "task_from_part"),
        ("task_from_part", "<", "full_from_part"),
        ("medium_minutes", "<", "clears_above_minutes"),
    )
    task_from_part: Part
    medium_minutes: Minutes
    clears_above_minutes: Minutes
    full_from_part: Part
    clears_below_part: Part


class InflowOff(Condition):
    """The irrigation stands still while the drainage is coloured; exempt inside an ordered trial."""

    in_order = (
        ("red_medium_minutes", "<=", "red_high_minutes"),
        ("pink_medium_minutes", "<=", "pink_high_minutes"),
        ("red_high_minutes", "<=", "pink_high_minutes"),
        ("red_medium_minutes", "<=", "pink_medium_minutes"),
    )
    red_medium_minutes: Minutes
    red_high_minutes: Minutes
    pink_medium_minutes: Minutes
    pink_high_minutes: Minutes
    clear_low_minutes: Minutes


class LowUrine(Condition):
    """Urine wholly below a limit over hours; only with nothing open. Names no stage, suggests no fluid."""

    in_order = (
        ("high_below_ml_per_kg_per_h", "<=", "medium_below_ml_per_kg_per_h"),
        ("medium_below_ml_per_kg_per_h", "<=", "clears_from_ml_per_kg_per_h"),
        ("medium_over_hours", "<=", "high_over_hours"),
    )
    medium_below_ml_per_kg_per_h: MlPerKgPerHour
    medium_over_hours: Hours
    high_below_ml_per_kg_per_h: MlPerKgPerHour
    high_over_hours: Hours
    clears_from_ml_per_kg_per_h: MlPerKgPerHour


class HighUrine(Condition):
    """Much urine, sure to the low end of its range."""

    in_order = (("clears_below_ml_per_h", "<", "medium_from_ml_per_h"),)
    medium_from_ml_per_h: MlPerHour
    over_hours: Hours
    not_after_relief_hours: Hours
    clears_below_ml_per_h: MlPerHour


class UnrecordedVolume(Condition):
    """A volume seems to be missing or extra: a question with time and size, never instead of ``retention``."""

    in_order = (("clears_below_ml", "<", "low_from_ml"),)
    low_from_ml: Ml
    needs_u: U
    clears_below_ml: Ml


class Absorption(Condition):
    """More in than out, yet the bladder is soft or the scan small and the outflow steady."""

    in_order = (("clears_below_ml", "<", "medium_from_ml"),)
    medium_from_ml: Ml
    clears_below_ml: Ml
    needs_u: U
    scan_below_ml: Ml
    scan_counts_for_minutes: Minutes
    electrolyte_free_part: Part
    systolic_below_mmhg: Mmhg
    pulse_below_per_min: PerMinute
    vitals_count_for_minutes: Minutes
    sodium_below_mmol_per_l: MmolPerL
    sodium_fell_mmol_per_l: MmolPerL


class BloodLoss(Condition):
    """Haemoglobin as charted, with its age."""

    in_order = (("medium_fell_g_per_l", "<=", "high_fell_g_per_l"),)
    medium_fell_g_per_l: GPerL
    high_fell_g_per_l: GPerL
    high_below_g_per_l: GPerL


class WrongFluid(Condition):
    """A bag of another fluid than ordered; without an order anything that is not on this list."""

    right_without_order: Annotated[tuple[str, ...], Field(min_length=1)]


class DrainageClampedRunning(Condition):
    """The drainage side is clamped while the inflow is open."""

    high_after_minutes: Minutes


class CatheterOut(Condition):
    """The catheter came out unplanned."""

    unplanned_reasons: Annotated[
        tuple[Literal["planned", "changed", "pulled_out", "fell_out", "blocked"], ...], Field(min_length=1)
    ]


class CatheterMismatch(Condition):
    """A catheter that does not suit: allergy, ways, gauge."""

    low_below_french: Annotated[float, Field(ge=6, le=30, allow_inf_nan=False)]
    allergen_words: Annotated[tuple[Annotated[str, Field(min_length=1)], ...], Field(min_length=1)]


class TractionOverdue(Condition):
    """Traction is still on after its time."""

    medium_late_minutes: Minutes


class AwayOverdue(Condition):
    """The patient is not back when expected."""

    low_late_minutes: Minutes


class Life(Condition):
    """How long an answer keeps an alert quiet, and how long a cleared high stays on the lane."""

    going_quiet_minutes: Minutes
    seen_quiet_minutes: Minutes
    cleared_high_stays_minutes: Minutes


class Thresholds(Condition):
    """The whole threshold file: one table a condition, and ``life``, which holds for all."""

    retention: Retention
    no_outflow: NoOutflow
    look_due: LookDue
    check_due: CheckDue
    distress: Distress
    leakage: Leakage
    bladder_scan: BladderScan
    repeated_washouts: RepeatedWashouts
    comes_and_goes: ComesAndGoes
    colour_deepening: ColourDeepening
    bleeding_on: BleedingOn
    clots: Clots
    bag_running_out: BagRunningOut
    bag_dry: BagDry
    drainage_filling: DrainageFilling
    inflow_off: InflowOff
    low_urine: LowUrine
    high_urine: HighUrine
    unrecorded_volume: UnrecordedVolume
    absorption: Absorption
    blood_loss: BloodLoss
    wrong_fluid: WrongFluid
    drainage_clamped_running: DrainageClampedRunning
    catheter_out: CatheterOut
    catheter_mismatch: CatheterMismatch
    traction_overdue: TractionOverdue
    away_overdue: AwayOverdue
    life: Life
