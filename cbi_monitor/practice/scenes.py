"""Ready-made practice beds, by name. Each gives a scene for a seed: where in the day things happen differs by seed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from random import Random

from cbi_monitor.practice.scene import (
    Bags,
    Bleeding,
    Body,
    Drainage,
    Habits,
    Line,
    Plan,
    Reader,
    Scene,
    Trouble,
)

PALE = Bleeding(((0.0, 1.6), (24.0, 0.6)))
PLAN_EVERY = ((2.0, 15.0), (4.0, 30.0), (1e9, 60.0))
"""15 min for 2 h, 30 for 2 h, then hourly: the plan that the shipped ward file has."""


def block_hour(seed: int, hours: float = 24.0) -> float:
    """When a block strikes: evenly between the third hour and four hours before the end.

    Four hours: at 300 mL/h hourly volumes need three checks to tell, and one of them may be missed.
    """
    return Random(f"block {seed}").uniform(3.0, hours - 4.0)


def careful_reader(
    seed: int,
    every: float = 15.0,
    *,
    blocked: bool = False,
    looks: bool = False,
    rate: float = 600.0,
    urine: float = 1.0,
    over_label: float = 0.042,
    hours: float = 24.0,
) -> Scene:
    """Levels read to 50 mL with sd 25, emptied at each check into a jug (25 mL, 1.5 %), checks off by 10 %, 2 % missed.

    A silent bed: without ``looks`` nothing but volumes is charted, so that only they can tell.
    """
    habits = Habits(
        plan=Plan(((1e9, every),), every),
        off_part=0.10,
        missed=0.02,
        looks=looks,
        acts=looks,
        bag_marks=Reader(50.0, 25.0),
        jug=Reader(25.0, 0.0, 0.015),
        drainage="each_check",
        measures="jug",
        drainage_at_bag_change=False,
    )
    return Scene(
        hours=hours,
        session=f"careful-{seed}",
        body=Body(urine_ml_per_kg_h=urine),
        bleeding=PALE,
        rates=((0.0, rate),),
        bags=Bags(over_label=over_label, over_sd=0.01),
        troubles=(Trouble(block_hour(seed, hours)),) if blocked else (),
        habits=habits,
    )


def real_night(
    seed: int,
    *,
    blocked: bool = False,
    rate: float = 600.0,
    urine: float = 1.0,
    over_label: float = 0.042,
    hours: float = 24.0,
) -> Scene:
    """Both bags: marks of 100 mL, sd 75; emptied at two thirds off the marks; checks by plan, off by 10 min."""
    habits = Habits(
        plan=Plan(PLAN_EVERY, 60.0),
        off_part=0.0,
        off_minutes=10.0,
        missed=0.02,
        bag_marks=Reader(100.0, 75.0),
        drainage_marks=Reader(100.0, 75.0),
        drainage="two_thirds",
        measures="marks",
        answers_within=5.0,
    )
    return Scene(
        hours=hours,
        session=f"night-{seed}",
        body=Body(urine_ml_per_kg_h=urine),
        bleeding=PALE,
        rates=((0.0, rate),),
        bags=Bags(over_label=over_label, over_sd=0.01),
        troubles=(Trouble(block_hour(seed, hours)),) if blocked else (),
        habits=habits,
    )


def slow_block(seed: int) -> Scene:
    """The way out narrows over three hours until it is shut."""
    trouble = Trouble(block_hour(seed, 20.0), "slow", over_minutes=180.0)
    return replace(real_night(seed), session=f"slow-{seed}", troubles=(trouble,))


def partial_block(seed: int) -> Scene:
    """Narrowed within ten minutes to half of what runs in; the pressure in a fuller bladder pushes more through."""
    trouble = Trouble(block_hour(seed, 20.0), "partial", over_minutes=10.0, passes_ml_per_h=300.0)
    return replace(real_night(seed), session=f"partial-{seed}", troubles=(trouble,))


def dripping_block(seed: int) -> Scene:
    """Nearly shut, yet it drips: 60 mL/h get through."""
    trouble = Trouble(block_hour(seed), "partial", over_minutes=5.0, passes_ml_per_h=60.0)
    return replace(real_night(seed), session=f"drips-{seed}", troubles=(trouble,))


def comes_and_goes(seed: int) -> Scene:
    """A clot on a valve: shut 15 minutes, open 30, on average, until it is washed out."""
    trouble = Trouble(
        block_hour(seed, 18.0), "on_off", over_minutes=0.0, shut_minutes=15.0, open_minutes=30.0
    )
    return replace(real_night(seed), session=f"on-off-{seed}", troubles=(trouble,))


def by_passing(seed: int) -> Scene:
    """A full block in a bladder that leaks beside the catheter from 250 mL on."""
    scene = real_night(seed, blocked=True)
    return replace(scene, session=f"by-passing-{seed}", body=replace(scene.body, leaks_from_ml=250.0))


def forgotten_emptying(seed: int, *, blocked: bool = False) -> Scene:
    """One emptying is never written down; with ``blocked`` a full block strikes later in the same night."""
    nth = Random(f"forgot {seed}").randint(1, 3)
    scene = real_night(seed, blocked=blocked)
    return replace(
        scene, session=f"forgot-emptying-{seed}", habits=replace(scene.habits, forgets_nth_emptying=(nth,))
    )


def forgotten_bag(seed: int, *, blocked: bool = False) -> Scene:
    """One irrigant bag is hung and never written down."""
    nth = Random(f"forgot {seed}").randint(1, 3)
    scene = real_night(seed, blocked=blocked)
    return replace(scene, session=f"forgot-bag-{seed}", habits=replace(scene.habits, forgets_nth_bag=(nth,)))


def anuric(seed: int) -> Scene:
    """No urine at all, ordered as expected so."""
    scene = real_night(seed, urine=0.0)
    order = {"event": "ordered", "by_whom": "Dr A.R.", "how": "written", "expected_urine": "none"}
    return replace(scene, session=f"anuric-{seed}", extras=((0.0, order),), opening=(("kidney", "dialysis"),))


def retained_at_opening(seed: int) -> Scene:
    """900 mL drain at placement, then an untroubled day."""
    scene = real_night(seed)
    catheter = {
        "event": "catheter_placed", "french": 22.0, "ways": 3, "tip": "coude", "material": "silicone",
        "balloon_ml": 30.0,
    }  # fmt: skip
    return replace(
        scene, session=f"retained-{seed}", body=replace(scene.body, start_ml=900.0), extras=((0.0, catheter),)
    )


def coarse_marks(seed: int, *, blocked: bool = False) -> Scene:
    """Bags with a mark every 250 mL, read with sd 75."""
    scene = real_night(seed, blocked=blocked)
    coarse = Reader(250.0, 75.0)
    return replace(
        scene, session=f"coarse-{seed}", habits=replace(scene.habits, bag_marks=coarse, drainage_marks=coarse)
    )


def weighed(seed: int, *, blocked: bool = False, urine: float = 1.0) -> Scene:
    """Both bags on a scale, to 10 g with sd 5, hourly."""
    scene = real_night(seed, blocked=blocked, urine=urine)
    return replace(
        scene,
        session=f"weighed-{seed}",
        habits=replace(scene.habits, irrigant="weighed", measures="scale"),
    )


def absorbing(seed: int) -> Scene:
    """Two hours in which 350 mL an hour go into the body and leave in no bag; it runs out steadily all the while."""
    scene = real_night(seed)
    at = block_hour(seed, 18.0)
    body = replace(scene.body, absorbs_ml_per_h=350.0, absorbs_from_h=at, absorbs_to_h=at + 2.0)
    return replace(scene, session=f"absorbing-{seed}", body=body)


def typed_times_off(seed: int, *, blocked: bool = False) -> Scene:
    """A real night whose charted times are up to five minutes from the true ones."""
    scene = real_night(seed, blocked=blocked)
    return replace(scene, session=f"times-off-{seed}", habits=replace(scene.habits, chart_off_minutes=5.0))


def whole_bags(seed: int, *, blocked: bool = False) -> Scene:
    """Two lines by turns, only whole bags and emptied volumes charted."""
    scene = real_night(seed, blocked=blocked)
    return replace(
        scene,
        session=f"whole-bags-{seed}",
        lines=(Line("A", True), Line("B", False)),
        habits=replace(scene.habits, irrigant="whole_bags", measures="jug"),
    )


def full_drainage_bag(seed: int) -> Scene:
    """A two-litre drainage bag at a litre an hour, emptied when somebody comes by: it fills to the brim at times."""
    scene = real_night(seed, rate=1000.0)
    habits = replace(scene.habits, missed=0.25)
    return replace(scene, session=f"brim-{seed}", drainage=Drainage(capacity_ml=2000.0), habits=habits)


BY_NAME: dict[str, Callable[[int], Scene]] = {
    "careful_reader": careful_reader,
    "real_night": real_night,
    "slow_block": slow_block,
    "partial_block": partial_block,
    "dripping_block": dripping_block,
    "comes_and_goes": comes_and_goes,
    "by_passing": by_passing,
    "forgotten_emptying": forgotten_emptying,
    "forgotten_bag": forgotten_bag,
    "anuric": anuric,
    "retained_at_opening": retained_at_opening,
    "coarse_marks": coarse_marks,
    "weighed": weighed,
    "absorbing": absorbing,
    "typed_times_off": typed_times_off,
    "whole_bags": whole_bags,
    "full_drainage_bag": full_drainage_bag,
}
