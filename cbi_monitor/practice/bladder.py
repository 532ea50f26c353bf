"""The body and the plumbing: what truly runs in, what is made, what leaves, and what stays. Conserved to the mL.

Time is whole seconds from the start of the scene, in steps of ``STEP`` seconds. Volumes mL, rates mL/h,
pressure cmH2O. The physics is rough on purpose; its figures are common practice, no source, unless said otherwise.
"""

from __future__ import annotations

import copy
from bisect import bisect_right
from dataclasses import dataclass
from math import exp, log, sqrt
from random import Random

from cbi_monitor.practice.scene import Scene, Trouble

STEP = 30
"""Seconds a step."""

OPEN_ML_PER_H = 9000.0
"""What a free three-way catheter lets out at 10 cmH2O."""

EMPTYING_SECONDS = 60.0
"""How fast a free bladder comes down to its residue (time constant)."""

HIGH_CM, BAG_CM = 70.0, 30.0
"""Height of the bag's outlet above the bladder, and of the fluid in a full bag above its outlet."""

STIFF_CM_PER_ML = 0.05
"""Rise of pressure above the capacity."""

KNOT = 300
"""Seconds between two values of the urine rate."""


@dataclass(frozen=True, slots=True)
class Truth:
    """What truly was at ``t`` seconds: the bladder, and the sums since the start, in mL.

    ``blocked``: the way out lets through less than a quarter of what comes.
    """

    t: int
    bladder_ml: float
    run_in_ml: float
    washed_in_ml: float
    urine_ml: float
    blood_ml: float
    drained_ml: float
    washed_back_ml: float
    leaked_ml: float
    absorbed_ml: float
    blocked: bool

    @property
    def net_ml(self) -> float:
        """What an ideal chart would give as net urine: everything out minus everything in, blood included."""
        return self.drained_ml + self.washed_back_ml + self.leaked_ml - self.run_in_ml - self.washed_in_ml


class _Active:
    """One trouble under way."""

    __slots__ = ("ended", "shut", "toggles_at", "trouble", "washouts")

    def __init__(self, trouble: Trouble) -> None:
        self.trouble = trouble
        self.ended = False
        self.shut = True
        self.toggles_at = 0.0
        self.washouts = 0


class Bladder:
    """The true state of one bed. Whoever acts on it first calls ``run_to`` the moment of the act."""

    def __init__(self, scene: Scene, seed: int) -> None:
        self.scene = scene
        self._urine_dice = Random(f"urine {seed}")
        self._clot_dice = Random(f"clot {seed}")
        self._bag_dice = Random(f"bags {seed}")
        body = scene.body
        self.t = 0
        self.bladder = body.start_ml
        self.start = body.start_ml
        self.blood_in_bladder = 0.0
        self.run_in = self.washed_in = self.urine = self.blood = 0.0
        self.drained = self.washed_back = self.leaked = self.absorbed = 0.0
        self.roller = 0.0
        self.stopped = True
        self.clamped_out = False
        self.left: dict[str, float] = {}
        self.full: dict[str, float] = {}
        self.open: dict[str, bool] = {line.name: line.open for line in scene.lines}
        self.contents = scene.drainage.contents_ml
        self.inflow_now = self.outflow_now = 0.0
        self.fresh_now = 0.0
        self._log_urine = self._urine_dice.gauss(0.0, body.urine_log_sd) if body.urine_log_sd else 0.0
        self._next_knot = 0
        self._urine_now = 0.0
        self._troubles = [_Active(trouble) for trouble in sorted(scene.troubles, key=lambda one: one.at_h)]
        self.blocked = False
        self.series: list[Truth] = [self.truth()]

    # --- what is true --------------------------------------------------------------------------------------------

    def truth(self) -> Truth:
        """The truth at ``self.t``."""
        return Truth(
            self.t, self.bladder, self.run_in, self.washed_in, self.urine, self.blood, self.drained,
            self.washed_back, self.leaked, self.absorbed, self.blocked,
        )  # fmt: skip

    def peek(self, t: float) -> Truth:
        """The truth at an instant: looked up where it has passed, else run ahead on a copy that is thrown away."""
        if t <= self.t:
            place = bisect_right(self.series, t, key=lambda one: one.t) - 1
            return self.series[max(0, place)]
        ahead = copy.deepcopy(self)
        ahead.run_to(int(t) // STEP * STEP)
        return ahead.truth()

    @property
    def full_bag(self) -> bool:
        """The drainage bag is full to the brim, and so nothing runs out."""
        return self.contents >= self.scene.drainage.capacity_ml * self.scene.drainage.brim - 1e-6

    def blood_per_litre(self) -> float:
        """Millilitres of blood in a litre of what stands in the bladder."""
        return 1000.0 * self.blood_in_bladder / self.bladder if self.bladder > 1.0 else 0.0

    def troubled(self) -> Trouble | None:
        """The trouble under way, if any."""
        for one in self._troubles:
            if not one.ended and self.t >= one.trouble.at_h * 3600.0:
                return one.trouble
        return None

    def __deepcopy__(self, memo: dict[int, object]) -> Bladder:
        twin = copy.copy(self)
        twin.__dict__.update({
            name: copy.copy(value) for name, value in self.__dict__.items() if name not in ("scene", "series")
        })  # fmt: skip
        twin.__dict__["_troubles"] = [copy.copy(one) for one in self._troubles]
        twin.series = []
        return twin

    # --- what is done --------------------------------------------------------------------------------------------

    def hang(self, line: str) -> float:
        """A new bag on a line; returns what it truly holds."""
        bags = self.scene.bags
        over = bags.over_label + (self._bag_dice.gauss(0.0, bags.over_sd) if bags.over_sd else 0.0)
        self.left[line] = self.full[line] = bags.label_ml * max(1.0, 1.0 + over)
        return self.left[line]

    def set_rate(self, ml_per_h: float) -> None:
        """The roller is set so that now, at the head that stands, this much runs."""
        self.stopped = ml_per_h <= 0
        self.roller = 1.0
        runs = self._inflow(0.0)
        self.roller = ml_per_h / runs if runs > 0 else ml_per_h / sqrt(HIGH_CM + BAG_CM)

    def empty(self) -> float:
        """The drainage bag is emptied; returns what ran out of it."""
        gone, self.contents = self.contents, 0.0
        return gone

    def wash(self, instilled: float, succeeds: bool, back_to_dish: float) -> float:
        """A hand washout; returns what came back into the dish."""
        self.washed_in += instilled
        self.bladder += instilled
        for one in self._troubles:
            if not one.ended and self.t >= one.trouble.at_h * 3600.0 and one.trouble.mends == "washout":
                one.washouts += 1
                if succeeds and one.washouts >= one.trouble.washouts_needed:
                    one.ended = True
                else:
                    back_to_dish *= 0.2
        back = min(back_to_dish, max(0.0, self.bladder - self.scene.body.residue_ml))
        self.blood_in_bladder *= 1.0 - back / self.bladder if self.bladder > 0 else 0.0
        self.bladder -= back
        self.washed_back += back
        return back

    def mend_tubing(self) -> bool:
        """A kink or a lying-on is put right; True where that was it."""
        for one in self._troubles:
            if not one.ended and self.t >= one.trouble.at_h * 3600.0 and one.trouble.mends == "tubing":
                one.ended = True
                return True
        return False

    def end_troubles(self) -> None:
        """Everything that is under way is put right (a doctor with a new catheter)."""
        for one in self._troubles:
            if self.t >= one.trouble.at_h * 3600.0:
                one.ended = True

    # --- the passing of time -------------------------------------------------------------------------------------

    def _inflow(self, pressure: float) -> float:
        """mL/h that run in at this bladder pressure through all open lines that still hold something."""
        heads = 0.0
        running = 0
        for line, left in self.left.items():
            if left > 0.0 and self.open[line]:
                head = HIGH_CM + BAG_CM * left / self.scene.bags.label_ml - pressure
                if head > 0.0:
                    heads += sqrt(head)
                    running += 1
        return self.roller * heads / running if running else 0.0

    def _passes(self) -> float:
        """mL/h that the way out lets through at 10 cmH2O."""
        passes = OPEN_ML_PER_H
        for one in self._troubles:
            if one.ended:
                continue
            trouble = one.trouble
            since = self.t - trouble.at_h * 3600.0
            if since < 0.0:
                break
            if trouble.lasts_h is not None and since > trouble.lasts_h * 3600.0:
                one.ended = True
                continue
            part = min(1.0, since / (60.0 * trouble.over_minutes)) if trouble.over_minutes > 0 else 1.0
            if trouble.kind == "full":
                now = OPEN_ML_PER_H * (1.0 - part)
            elif trouble.kind == "partial":
                now = OPEN_ML_PER_H + part * (trouble.passes_ml_per_h - OPEN_ML_PER_H)
            elif trouble.kind == "slow":
                now = 0.0 if part >= 1.0 else OPEN_ML_PER_H * exp(part * log(10.0 / OPEN_ML_PER_H))
            else:
                if since >= one.toggles_at:
                    one.shut = not one.shut if one.toggles_at else True
                    mean = trouble.shut_minutes if one.shut else trouble.open_minutes
                    one.toggles_at = since + 60.0 * max(2.0, self._clot_dice.expovariate(1.0 / mean))
                now = trouble.passes_ml_per_h if one.shut else OPEN_ML_PER_H
            passes = min(passes, now)
        return passes

    def run_to(self, t: int) -> None:
        """Lets time pass up to ``t`` seconds, rounded down to a whole step."""
        while self.t + STEP <= t:
            self._step()
            if self.t % 60 == 0:
                self.series.append(self.truth())

    def _urine_rate(self) -> float:
        body = self.scene.body
        if self.t >= self._next_knot:
            if body.urine_log_sd:
                keep = exp(-KNOT / (3600.0 * body.urine_memory_h))
                new = self._urine_dice.gauss(0.0, body.urine_log_sd)
                self._log_urine = keep * self._log_urine + sqrt(1.0 - keep * keep) * new
            self._urine_now = body.urine_ml_per_kg_h * body.weight_kg * exp(self._log_urine)
            self._next_knot = self.t - self.t % KNOT + KNOT
        return self._urine_now

    def _step(self) -> None:
        scene = self.scene
        body = scene.body
        part = STEP / 3600.0
        held = self.bladder
        capacity = body.capacity_ml
        pressure = (
            4.0 + 10.0 * held / capacity if held <= capacity else 14.0 + STIFF_CM_PER_ML * (held - capacity)
        )

        ran = 0.0
        if not self.stopped:
            wanted = self._inflow(pressure) * part
            running = [line for line, left in self.left.items() if left > 0.0 and self.open[line]]
            for line in running:
                share = min(self.left[line], wanted / len(running))
                self.left[line] -= share
                ran += share
        urine = self._urine_rate() * part
        hour = self.t / 3600.0
        blood = scene.bleeding.rate(hour) * part
        held += ran + urine + blood

        passes = self._passes()
        drained = 0.0
        room = scene.drainage.capacity_ml * scene.drainage.brim - self.contents
        if not self.clamped_out and room > 0.0 and passes > 0.0 and held > body.residue_ml:
            let_out = passes * sqrt(pressure / 10.0) * part
            drained = min((held - body.residue_ml) * min(1.0, STEP / EMPTYING_SECONDS), let_out, room)
        leaked = 0.0
        if body.leaks_from_ml is not None and held - drained > body.leaks_from_ml:
            leaked = (held - drained - body.leaks_from_ml) * STEP / 300.0
        absorbed = 0.0
        if body.absorbs_ml_per_h and body.absorbs_from_h <= hour < body.absorbs_to_h:
            absorbed = min(body.absorbs_ml_per_h * part, held - drained - leaked)
        gone = drained + leaked + absorbed
        self.blood_in_bladder = (self.blood_in_bladder + blood) * (1.0 - gone / held if held > 0.0 else 0.0)
        self.bladder = held - gone
        self.contents += drained
        self.run_in += ran
        self.urine += urine
        self.blood += blood
        self.drained += drained
        self.leaked += leaked
        self.absorbed += absorbed
        self.inflow_now = ran / part
        self.outflow_now = drained / part
        self.fresh_now = urine / part
        self.t += STEP
        coming = ran + urine
        stuck = passes * sqrt(pressure / 10.0) * part < 0.25 * coming or room <= 0.0 or self.clamped_out
        self.blocked = stuck and coming > 0.0
