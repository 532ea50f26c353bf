"""What a practice scene is made of: a body, its bags and lines, its troubles, and the habits of who charts it.

Volumes in mL, rates in mL/h, times in hours or minutes from the start as the name says. Figures without a named
source are common practice, no source: they shape a training bed and are no clinical statement.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal


@dataclass(frozen=True, slots=True)
class Body:
    """The patient. Urine is log-normal about ``urine_ml_per_kg_h`` (its median), a random walk with a memory.

    ``capacity_ml``: from here on the bladder stiffens. ``leaks_from_ml``: by-passing beside the catheter above this
    volume, None for never. ``feels``: 1 an awake patient, 0 a numb one; ``rings``: the bell is rung when it hurts.
    ``absorbs_ml_per_h`` goes into the body between two hours of the scene and leaves in no bag.
    """

    weight_kg: float = 78.0
    urine_ml_per_kg_h: float = 1.0
    urine_log_sd: float = 0.35
    urine_memory_h: float = 4.0
    start_ml: float = 15.0
    residue_ml: float = 15.0
    capacity_ml: float = 450.0
    leaks_from_ml: float | None = None
    feels: float = 1.0
    can_say_pain: bool = True
    rings: bool = False
    spasms_per_h: float = 0.0
    absorbs_ml_per_h: float = 0.0
    absorbs_from_h: float = 0.0
    absorbs_to_h: float = 1e9


@dataclass(frozen=True, slots=True)
class Bleeding:
    """Blood into the bladder: (hour, mL/h) knots joined by straight lines, flat before the first and after the last."""

    knots: tuple[tuple[float, float], ...] = ((0.0, 1.5), (24.0, 0.4))

    def rate(self, hour: float) -> float:
        """Millilitres of blood an hour at that hour."""
        before = self.knots[0]
        if hour <= before[0]:
            return before[1]
        for after in self.knots[1:]:
            if hour <= after[0]:
                part = (hour - before[0]) / (after[0] - before[0])
                return before[1] + part * (after[1] - before[1])
            before = after
        return before[1]


@dataclass(frozen=True, slots=True)
class Bags:
    """Irrigant bags: the label, and how much more than it they hold: a part common to the ward, and an sd per bag.

    Published: 2.8 to 5.6 % over, never under (Nezhat et al., J Minim Invasive Gynecol 2007;14:489).
    """

    label_ml: float = 3000.0
    over_label: float = 0.042
    over_sd: float = 0.0
    fluid: str = "saline_0_9"
    density: float = 1.0046
    tare_g: float = 75.0


@dataclass(frozen=True, slots=True)
class Line:
    """One irrigant line and whether it starts open."""

    name: str = "A"
    open: bool = True


@dataclass(frozen=True, slots=True)
class Drainage:
    """The drainage bag. Above ``brim`` × capacity nothing more runs in: full is blocked."""

    capacity_ml: float = 4000.0
    brim: float = 1.05
    contents_ml: float = 0.0
    density: float = 1.006
    tare_g: float = 140.0


TroubleKind = Literal["full", "slow", "partial", "on_off"]


@dataclass(frozen=True, slots=True)
class Trouble:
    """What goes wrong with the way out, from ``at_h`` on.

    ``full``: shut within ``over_minutes``. ``slow``: narrows evenly in the logarithm over ``over_minutes`` until it
    is shut. ``partial``: within ``over_minutes`` down to ``passes_ml_per_h`` (at 10 cmH2O; more at higher pressure).
    ``on_off``: shut and open by turns, of ``shut_minutes`` and ``open_minutes`` on average, like a clot on a valve.
    ``mends``: what puts it right. ``lasts_h``: it frees itself after that long, None for never.
    """

    at_h: float
    kind: TroubleKind = "full"
    over_minutes: float = 4.0
    passes_ml_per_h: float = 0.0
    shut_minutes: float = 20.0
    open_minutes: float = 40.0
    mends: Literal["washout", "tubing"] = "washout"
    lasts_h: float | None = None
    washouts_needed: int = 1


@dataclass(frozen=True, slots=True)
class Reader:
    """How a volume is read: to the nearest ``graduation``, after an error with ``sd`` mL and a ``relative`` part."""

    graduation: float
    sd: float = 0.0
    relative: float = 0.0


@dataclass(frozen=True, slots=True)
class Plan:
    """How often the bed is checked: (until hour, every so many minutes), and volumes every so many minutes."""

    every: tuple[tuple[float, float], ...] = ((1e9, 60.0),)
    volumes_every: float = 60.0
    after_trouble_every: float = 15.0
    after_trouble_h: float = 1.0

    def interval(self, hour: float) -> float:
        """Minutes to the next check after a check at that hour."""
        for until, every in self.every:
            if hour < until:
                return every
        return self.every[-1][1]


@dataclass(frozen=True, slots=True)
class Habits:
    """The nurse and how the ward charts.

    ``off_part`` of an interval and ``off_minutes`` move a check to either side of its planned time. ``looks``: what
    is seen of the drip is charted at a check. ``acts``: outflow that is not running is acted upon.
    ``chart_off_minutes``: the charted time differs from the true one by up to this.
    ``irrigant``: charted as levels, by whole bags, or weighed. ``drainage``: emptied at each check with volumes, or
    when two thirds full. ``measures``: an emptied volume is read in a jug, off the marks of the drainage bag, or
    weighed. ``answers_within``: minutes to go to an asked-for look, ``attends_within`` to an alert.
    ``forgets_nth_…``: numbers (from 1) of emptyings or bags that are never written down, beside the chances.
    """

    plan: Plan = field(default_factory=Plan)
    off_part: float = 0.10
    off_minutes: float = 0.0
    chart_off_minutes: float = 0.0
    missed: float = 0.02
    looks: bool = True
    sees_log_sd: float = 0.15
    acts: bool = True
    bag_marks: Reader = Reader(50.0, 25.0)
    drainage_marks: Reader = Reader(100.0, 75.0)
    jug: Reader = Reader(25.0, 0.0, 0.015)
    scale: Reader = Reader(10.0, 5.0)
    irrigant: Literal["levels", "whole_bags", "weighed"] = "levels"
    drainage: Literal["each_check", "two_thirds"] = "each_check"
    measures: Literal["jug", "marks", "scale"] = "jug"
    drainage_at_bag_change: bool = True
    answers_within: float = 5.0
    attends_within: float = 4.0
    washout_mends: float = 0.9
    change_at_ml: float = 120.0
    bag_late: float = 0.0
    roller_sd: float = 0.04
    typed_within_minutes: float = 1.0
    late_part: float = 0.0
    late_minutes: tuple[float, float] = (30.0, 90.0)
    forgets_emptying: float = 0.0
    forgets_bag: float = 0.0
    forgets_nth_emptying: tuple[int, ...] = ()
    forgets_nth_bag: tuple[int, ...] = ()
    obs_every_h: float = 0.0
    colours: bool = True


@dataclass(frozen=True, slots=True)
class Scene:
    """A whole practice bed.

    ``rates``: (hour, mL/h) as the nurse sets the roller. ``grades``: (key of the ward's scale, from so many mL of
    blood per litre), palest first. ``opening``: details for ``session_opened``. ``extras``: (hour, payload) entries
    that are written as they stand (orders, notes, laboratory values), without ``session``, ``at``, ``by``.
    """

    hours: float = 24.0
    session: str = "practice"
    body: Body = field(default_factory=Body)
    bleeding: Bleeding = field(default_factory=Bleeding)
    rates: tuple[tuple[float, float], ...] = ((0.0, 600.0),)
    lines: tuple[Line, ...] = (Line(),)
    bags: Bags = field(default_factory=Bags)
    drainage: Drainage = field(default_factory=Drainage)
    troubles: tuple[Trouble, ...] = ()
    habits: Habits = field(default_factory=Habits)
    grades: tuple[tuple[str, float], ...] = (
        ("clear_or_straw", 0.0),
        ("pale_pink", 1.0),
        ("pink", 4.0),
        ("red", 15.0),
        ("dark_red", 45.0),
    )
    opening: tuple[tuple[str, Any], ...] = ()
    extras: tuple[tuple[float, dict[str, Any]], ...] = ()
    staff: tuple[tuple[float, str], ...] = ((0.0, "K.M."),)
