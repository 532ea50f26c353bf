"""What a nurse sees at the bed: the drip, the patient, the colour in the tubing. Seen, not measured."""

from __future__ import annotations

from datetime import datetime
from math import exp
from typing import Any

from cbi_monitor.model.events import EffluentGraded, Leaked, OutflowSeen, Symptoms
from cbi_monitor.practice.pen import Pen
from cbi_monitor.practice.scene import Scene


class Eyes(Pen):
    """Looks and writes down what is seen."""

    def __init__(self, scene: Scene, seed: int, start: datetime) -> None:
        super().__init__(scene, seed, start)
        self._leaked_seen = 0.0
        self._spasm_seen = 0
        self._attending = False
        self._abdomen = "soft"

    def _pain(self) -> int:
        body, held = self.scene.body, self.bladder.bladder
        felt = 10.0 * body.feels * (held - 0.55 * body.capacity_ml) / (0.9 * body.capacity_ml)
        return int(max(0.0, min(10.0, felt)))

    def _how(self) -> str:
        bladder, habits = self.bladder, self.scene.habits
        coming = bladder.inflow_now + bladder.fresh_now
        if bladder.outflow_now <= 3.0:
            return "none"
        part = bladder.outflow_now / max(coming, 1.0) * exp(self._dice.gauss(0.0, habits.sees_log_sd))
        if bladder.inflow_now <= 0.0:
            return "drops_only" if bladder.outflow_now < 300.0 else "steady"
        return (
            "steady" if part >= 0.7 else "slow" if part >= 0.3 else "drops_only" if part >= 0.02 else "none"
        )

    def _see(self, t: int, check: str | None) -> str:
        """Looks at the drip, the patient and the tubing, and writes down what is seen."""
        scene, bladder, dice = self.scene, self.bladder, self._dice
        how = self._how()
        self._write(t, OutflowSeen, check, running=how != "none", how=how)
        fields: dict[str, Any] = {}
        pain = self._pain()
        if scene.body.can_say_pain:
            fields["pain"] = max(pain, dice.choice((0, 0, 0, 0, 1, 1, 2)) if scene.body.feels else 0)
        else:
            fields["pain"] = "cannot_say"
            if pain >= 5:
                fields["restless"] = True
        spasms = scene.body.spasms_per_h * (t - self._spasm_seen) / 3600.0 + (0.4 if pain >= 3 else 0.0)
        self._spasm_seen = t
        if spasms and dice.random() < 1.0 - exp(-spasms):
            fields["spasm"] = True
        if self._attending or pain >= 5 or self._abdomen != "soft":
            held = bladder.bladder
            self._abdomen = "soft" if held < 400.0 else "full" if held < 700.0 else "hard"
            fields["abdomen"] = self._abdomen
        self._write(t, Symptoms, check, **fields)
        if scene.habits.colours:
            self._grade(t, check)
        leaked = bladder.leaked - self._leaked_seen
        if leaked > 15.0:
            self._leaked_seen = bladder.leaked
            extent = (
                "spot" if leaked < 40 else "pad" if leaked < 150 else "sheet" if leaked < 400 else "soaked"
            )
            self._write(t, Leaked, check, extent=extent)
        return how

    def _grade(self, t: int, check: str | None) -> None:
        dice = self._dice
        blood = self.bladder.blood_per_litre() * exp(dice.gauss(0.0, 0.12))
        key = self.scene.grades[0][0]
        for grade, starts in self.scene.grades:
            if blood >= starts:
                key = grade
        chance = min(0.6, blood / 80.0) if blood > 6.0 else 0.0
        clots = "none"
        if dice.random() < chance:
            clots = (
                "specks"
                if blood < 20.0
                else "small"
                if blood < 60.0
                else dice.choice(("small", "small", "large"))
            )
        self._write(t, EffluentGraded, check, grade=key, clots=clots)
