"""How one ward measures, checks and names things: the content of ``ward.toml``.

There are no defaults here: the shipped file ``settings/shipped/ward.toml`` holds them, with unit and source of each.
"""

from __future__ import annotations

from datetime import time
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError

Part = Annotated[float, Field(ge=0, le=1)]
Ml = Annotated[float, Field(ge=0, le=100_000, allow_inf_nan=False)]
Minutes = Annotated[float, Field(gt=0, le=7 * 24 * 60)]


class _Piece(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Instrument(_Piece):
    """One way of measuring. u² = half² / 3 + reader² + (relative × volume)² (JCGM 100:2008, 4.3.7 and 5.1.2).

    ``half_graduation`` and ``reader`` are mL (g for scales). ``common_relative`` is an error that all readings of this
    instrument share; it adds linearly, outside the root.
    """

    half_graduation: Ml
    reader: Ml
    relative: Part
    common_relative: Part


class Instruments(_Piece):
    """The ward's instruments: marks on irrigant bags, marks on drainage bags, the jug, the scales (grams), syringes."""

    bag_marks: Instrument
    drainage_marks: Instrument
    jug: Instrument
    scales: Instrument
    syringe: Instrument


class Overfill(_Piece):
    """How much more than its label a bag may hold, as a part of the label, common to all bags of the ward."""

    low: Part
    high: Part

    @model_validator(mode="after")
    def _in_order(self) -> Overfill:
        if self.low > self.high:
            raise PydanticCustomError(
                "out_of_order",
                "{small} is {a}, but must be at most {large}, which is {b}",
                {
                    "small": "low",
                    "large": "high",
                    "words": "at-most",
                    "a": f"{self.low:g}",
                    "b": f"{self.high:g}",
                },
            )
        return self


class Fluid(_Piece):
    """An irrigant or drained fluid. Density in g/mL with its standard uncertainty."""

    words: str
    density: Annotated[float, Field(gt=0.9, lt=1.2)]
    density_u: Annotated[float, Field(ge=0, lt=0.1)]
    electrolyte_free: bool


class Shift(_Piece):
    """A shift by name and the local time at which it starts; it ends where the next one starts."""

    name: Annotated[str, Field(min_length=1)]
    starts: time


class CheckPlan(_Piece):
    """How often a bed is checked, in minutes."""

    first_every: Minutes
    first_for: Minutes
    then_every: Minutes
    then_for: Minutes
    later_every: Minutes
    after_trouble_every: Minutes
    after_trouble_for: Minutes
    volumes_every: Minutes


class Looks(_Piece):
    """How often a look at the drip may be asked for, in minutes."""

    at_least_every: Minutes
    not_more_often_than: Minutes
    not_more_often_than_when_troubled: Minutes


class Balance(_Piece):
    """How visits and rows are made."""

    visit_minutes: Minutes
    dry_remainder_ml: Ml
    largest_emptying_ml: Ml
    over_label: Part
    about_relative: Part
    found_full_part: Part
    unexplained_ml: Ml
    unexplained_u: Annotated[float, Field(gt=0, le=10)]


class Bladder(_Piece):
    """What is assumed of the bladder; mL and minutes."""

    limit_ml: Annotated[float, Field(gt=0, le=2000)]
    limit_from_age_years: Annotated[float, Field(ge=0, le=130)]
    most_ml: Annotated[float, Field(gt=0, le=10_000)]
    residue_ml: Ml
    residue_high_ml: Ml
    blind_minutes: Minutes
    answer_minutes: Minutes
    block_minutes: Minutes
    scan_u_ml: Ml
    clot_free_hours: Annotated[float, Field(ge=0, le=48)]
    proof_part: Part
    discomfort_pain: Annotated[int, Field(ge=1, le=10)]


class Urine(_Piece):
    """Expected urine before anything is learned; mL/kg/h, spread as the sd of its logarithm."""

    usual: Annotated[float, Field(ge=0, le=20)]
    low: Annotated[float, Field(ge=0, le=20)]
    log_sd: Annotated[float, Field(gt=0, le=3)]
    most: Annotated[float, Field(gt=0, le=50)]
    learn_hours: Annotated[float, Field(gt=0, le=48)]
    window_hours: Annotated[float, Field(gt=0, le=48)]
    assumed_weight_kg: Annotated[float, Field(gt=0, le=400)]
    after_relief_minutes: Minutes


class Rates(_Piece):
    """How a rate is read off the bags, and what the words on a roller clamp mean (mL/h, low and high)."""

    look_back_minutes: Minutes
    needs_ml: Ml
    needs_minutes: Minutes
    set_relative: Part
    slow: tuple[Ml, Ml]
    moderate: tuple[Ml, Ml]
    fast: tuple[Ml, Ml]
    wide_open: tuple[Ml, Ml]
    unknown: tuple[Ml, Ml]


class Sizes(_Piece):
    """Bag sizes on the shelf, mL by label, and empty weights in grams by size."""

    irrigant_ml: tuple[Ml, ...]
    drainage_ml: tuple[Ml, ...]
    irrigant_tare_g: dict[str, Ml]
    drainage_tare_g: dict[str, Ml]
    tare_u_g: Ml


class WardRules(_Piece):
    """The whole ward file. ``zone`` is an IANA name; ``reading_habit`` says what the check slip asks for."""

    name: Annotated[str, Field(min_length=1)]
    zone: Annotated[str, Field(min_length=1)]
    shifts: Annotated[tuple[Shift, ...], Field(min_length=1)]
    reading_habit: Literal["levels", "whole_bags", "volumes"]
    drainage_habit: Literal["in_bag", "emptied"]
    milking_allowed: bool
    check_plan: CheckPlan
    looks: Looks
    instruments: Instruments
    overfill: Overfill
    fluids: dict[str, Fluid]
    default_fluid: str
    drained_density: Annotated[float, Field(gt=0.9, lt=1.2)]
    drained_density_u: Annotated[float, Field(ge=0, lt=0.1)]
    sizes: Sizes
    balance: Balance
    bladder: Bladder
    urine: Urine
    rates: Rates


class Grade(_Piece):
    """One step of the ward's effluent scale, from palest to darkest.

    ``pink_or_darker`` marks from where it counts as coloured, ``red_or_darker`` as red;
    ``blood_ml_per_l`` may be unknown.
    """

    key: Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")]
    word: Annotated[str, Field(min_length=1)]
    swatch: Annotated[str, Field(pattern=r"^#[0-9a-fA-F]{6}$")]
    hint: str = ""
    blood_ml_per_l: Annotated[float, Field(ge=0, le=1000)] | None = None


class EffluentScale(_Piece):
    """The ward's own scale, palest first. The three keys say from which grade it is coloured, worries, and is red."""

    grades: Annotated[tuple[Grade, ...], Field(min_length=2)]
    coloured_from: str
    worries_from: str
    red_from: str

    @model_validator(mode="after")
    def _keys_known(self) -> EffluentScale:
        keys = [grade.key for grade in self.grades]
        for nth, key in enumerate(keys):
            if key in keys[:nth]:
                facts = {"key": key, "first": keys.index(key), "second": nth}
                raise PydanticCustomError("shared_key", "two grades share the key {key}", facts)
        for name in ("coloured_from", "worries_from", "red_from"):
            if getattr(self, name) not in keys:
                raise PydanticCustomError(
                    "no_such_grade",
                    "{name} names no grade of this scale; write one of {known}",
                    {"name": name, "known": ", ".join(keys)},
                )
        return self

    def step(self, key: str) -> int | None:
        """The place of a grade, 0 the palest; None where the scale has no such grade."""
        for place, grade in enumerate(self.grades):
            if grade.key == key:
                return place
        return None

    def grade(self, key: str) -> Grade | None:
        """The grade of that key, or None."""
        place = self.step(key)
        return None if place is None else self.grades[place]

    def is_red(self, key: str) -> bool:
        """Red or darker; an unknown grade is taken as red."""
        place, border = self.step(key), self.step(self.red_from)
        return place is None or border is None or place >= border

    def is_coloured(self, key: str) -> bool:
        """Darker than the palest the ward holds harmless ("pink or darker"); an unknown grade counts as coloured."""
        place, border = self.step(key), self.step(self.coloured_from)
        return place is None or border is None or place >= border

    @property
    def darkest(self) -> str:
        """The key of the darkest grade."""
        return self.grades[-1].key
