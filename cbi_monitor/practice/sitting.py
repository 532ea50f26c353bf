"""A nurse at a simulated bed: what gets charted, when, and with which errors. The truth stays in ``bladder``.

The sitting is asked for its entries bit by bit, so that alerts can answer back in between::

    sitting = Sitting(scene, seed=1)
    while (at := sitting.next_at()) is not None:
        for event in sitting.until(at):
            ...                      # fold it, judge it
        sitting.look_asked(at)       # the nurse goes and looks within her minutes
        sitting.alert_raised(at)     # the nurse goes to the bed, and does what she finds needed

Entries come in the order in which they become known: at ``max(at, recorded)``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from heapq import heappop
from math import exp
from typing import Any

from cbi_monitor.model.events import (
    BY_NAME,
    DrainageBagPlaced,
    Event,
    HandedOver,
    InflowSet,
    InflowStarted,
    InflowStopped,
    LineClamped,
    LineOpened,
    SessionClosed,
    SessionOpened,
    TubingChecked,
    VitalSign,
    Washout,
)
from cbi_monitor.practice.hands import Forgotten, Hands
from cbi_monitor.practice.pen import whole_step
from cbi_monitor.practice.scene import Reader, Scene

STARTS = datetime(2026, 3, 1, 7, 0, tzinfo=UTC)
PUSH_ML = 50.0


@dataclass(frozen=True, slots=True)
class Block:
    """A stretch in which the way out let through less than a quarter of what came; ``ended`` None: still."""

    began: datetime
    ended: datetime | None


class Sitting(Hands):
    """One bed, one nurse after another, from the opening of the session to the end of the scene."""

    def __init__(self, scene: Scene, seed: int, start: datetime = STARTS, close: str = "") -> None:
        super().__init__(scene, seed, start)
        self.found: list[tuple[datetime, float]] = []
        self._end = int(scene.hours * 3600)
        self._last_volumes = 0.0
        self._last_visit = -60
        self._troubled_until = -1.0
        self._episode = self._look_pending = self._attend_pending = self._attend_volumes = False
        self._check_pending = False
        self._bag_due = -1
        self._bags = self._washouts = 0
        self._plan(0, self._open)
        for hour, entry in scene.extras:
            self._plan(whole_step(hour * 3600), lambda t, entry=entry: self._extra(t, entry))  # type: ignore[misc]
        for hour, rate in scene.rates:
            if hour > 0:
                self._plan(whole_step(hour * 3600), lambda t, rate=rate: self._set_rate(t, rate))  # type: ignore[misc]
        for hour, name in scene.staff[1:]:
            self._plan(whole_step(hour * 3600), lambda t, name=name: self._hand_over(t, name))  # type: ignore[misc]
        if scene.habits.obs_every_h:
            self._plan(whole_step(900), self._obs)
        if scene.body.rings:
            self._plan(600, self._bell)
        if close:
            self._plan(self._end, lambda t: self._close(t, close))

    # --- the loop ------------------------------------------------------------------------------------------------

    def next_at(self) -> datetime | None:
        """When the nurse next acts or an entry next becomes known; None when the scene is over."""
        times = []
        if self._agenda and self._agenda[0][0] <= self._end:
            times.append(self._when(self._agenda[0][0]))
        if self._post:
            times.append(self._post[0][0])
        return min(times) if times else None

    def until(self, now: datetime) -> list[Event]:
        """Everything that becomes known up to and including ``now`` and was not handed out yet."""
        limit = min(self._end, int((now - self.start).total_seconds()))
        while self._agenda and self._agenda[0][0] <= limit:
            t, _, act = heappop(self._agenda)
            self.bladder.run_to(t)
            act(t)
        self.bladder.run_to(limit)
        known = []
        while self._post and self._post[0][0] <= now:
            known.append(heappop(self._post)[2])
        return known

    def whole(self) -> list[Event]:
        """The whole chart, in the order in which it became known, when nobody answers back."""
        events = self.until(self._when(self._end))
        while self._post:
            events.append(heappop(self._post)[2])
        return events

    def __iter__(self) -> Iterator[Event]:
        while (at := self.next_at()) is not None:
            yield from self.until(at)

    def look_asked(self, at: datetime) -> None:
        """Somebody asks for a look at the drip; the nurse goes within ``answers_within`` minutes."""
        if not (self._look_pending or self._episode):
            self._look_pending = True
            delay = self._dice.uniform(1.0, max(1.0, self.scene.habits.answers_within))
            self._plan(self._soon(at, delay), self._look)

    def check_asked(self, at: datetime) -> None:
        """A check is due by another plan than hers; she goes within ``answers_within`` minutes, volumes if due."""
        if not (self._check_pending or self._episode):
            self._check_pending = True
            delay = self._dice.uniform(1.0, max(1.0, self.scene.habits.answers_within))
            self._plan(self._soon(at, delay), self._asked_check)

    def alert_raised(self, at: datetime, *, volumes: bool = False) -> None:
        """An alert calls; the nurse goes to the bed within ``attends_within`` minutes and acts on what she sees.

        ``volumes``: the alert is about volumes, so she reads the levels too.
        """
        if not (self._attend_pending or self._episode):
            self._attend_pending = True
            self._attend_volumes = volumes
            delay = self._dice.uniform(1.0, max(1.0, self.scene.habits.attends_within))
            self._plan(self._soon(at, delay), self._attend)

    def say(self, at: datetime, kind: type[Event], **fields: Any) -> None:
        """The nurse writes one more entry now: an answer to a question, a note."""
        self._write(self._soon(at, 0.5), kind, **fields)

    # --- the truth -----------------------------------------------------------------------------------------------

    def bladder_ml(self, at: datetime) -> float:
        """What the bladder truly held or, ahead of the scene, will hold if nobody does anything."""
        return self.bladder.peek((at - self.start).total_seconds()).bladder_ml

    @property
    def blocks(self) -> list[Block]:
        """All stretches of blocked outflow so far."""
        result: list[Block] = []
        began: int | None = None
        for one in self.bladder.series:
            if one.blocked and began is None:
                began = one.t
            elif not one.blocked and began is not None:
                result.append(Block(self._when(began), self._when(one.t)))
                began = None
        if began is not None:
            result.append(Block(self._when(began), None))
        return result

    # --- acts ----------------------------------------------------------------------------------------------------

    def _open(self, t: int) -> None:
        scene = self.scene
        details: dict[str, Any] = {"patient": "P-0001", "weight_kg": scene.body.weight_kg}
        details["can_say_pain"] = scene.body.can_say_pain
        details.update(dict(scene.opening))
        self._write(t, SessionOpened, **details)
        self._write(
            t,
            DrainageBagPlaced,
            capacity_ml=scene.drainage.capacity_ml,
            contents_ml=scene.drainage.contents_ml,
        )
        for line in scene.lines:
            self._hang(t, line.name, None, clamped=not line.open)
        self._set_rate(t, scene.rates[0][1])
        if scene.habits.looks:
            self._plan(t + 120, self._look)
        self._schedule_check(t)
        self._plan_bag(t)

    def _set_rate(self, t: int, rate: float) -> None:
        self._rate = rate
        roller = rate * exp(self._dice.gauss(0.0, self.scene.habits.roller_sd))
        self.bladder.set_rate(roller)
        self._write(t, InflowSet, ml_per_h=rate)
        self._plan_bag(t)

    def _close(self, t: int, reason: str) -> None:
        self._write(t, SessionClosed, reason=reason)

    def _extra(self, t: int, entry: dict[str, Any]) -> None:
        fields = dict(entry)
        kind = BY_NAME[fields.pop("event")]
        late = fields.pop("late_minutes", 0.0)
        target = fields.get("target", "")
        if target.startswith("last "):
            fields["target"] = self._ids[target.removeprefix("last ")]
        self._write(t, kind, late=late, **fields)

    def _hand_over(self, t: int, name: str) -> None:
        due = self._when(whole_step(60 * self._nominal))
        fields: dict[str, Any] = {"from": self._by, "to": name, "read_back": True}
        fields["next_due"] = due - timedelta(seconds=due.second)
        self._write(t, HandedOver, **fields)
        self._by = name

    def _obs(self, t: int) -> None:
        dice, lost = self._dice, self.bladder.blood
        check = self._new_check()
        systolic = round(128 - lost / 40 + dice.gauss(0, 5))
        pulse = round(76 + lost / 30 + dice.gauss(0, 4))
        self._write(t, VitalSign, check, name="systolic", value=systolic, unit="mm[Hg]")
        self._write(t, VitalSign, check, name="pulse", value=pulse, unit="/min")
        self._write(
            t, VitalSign, check, name="temperature", value=round(36.7 + dice.gauss(0, 0.2), 1), unit="Cel"
        )
        self._plan(t + whole_step(3600 * self.scene.habits.obs_every_h), self._obs)

    def _bell(self, t: int) -> None:
        if self._pain() >= 6 and not self._episode:
            self.alert_raised(self._when(t))
        self._plan(t + 600, self._bell)

    # --- checks --------------------------------------------------------------------------------------------------

    def _schedule_check(self, t: int) -> None:
        habits, dice = self.scene.habits, self._dice
        every = habits.plan.interval(self._nominal / 60.0)
        if self._nominal / 60.0 < self._troubled_until:
            every = min(every, habits.plan.after_trouble_every)
        self._nominal += every
        off = min(habits.off_minutes, 0.45 * every) + habits.off_part * every
        at = max(t + 60, whole_step(60.0 * (self._nominal + (dice.uniform(-off, off) if off else 0.0))))
        self._plan(at, self._check)

    def _taken(self, t: int, act: Callable[[int], None]) -> bool:
        """Whether somebody was at the bed within this minute: then the act waits for the next. Else it is hers."""
        if t // 60 == self._last_visit // 60:
            self._plan(t + 60, act)
            return True
        self._last_visit = t
        return False

    def _check(self, t: int) -> None:
        habits = self.scene.habits
        missed = habits.missed and self._dice.random() < habits.missed
        nominal = self._nominal
        self._schedule_check(t)
        if missed or self._episode:
            return
        volumes = nominal - self._last_volumes >= habits.plan.volumes_every - 1.0
        if volumes:
            self._last_volumes = nominal
        if not self._taken(t, lambda t: self._round(t, volumes)):
            self._round(t, volumes)

    def _asked_check(self, t: int) -> None:
        if self._taken(t, self._asked_check):
            return
        self._check_pending = False
        if self._episode:
            return
        volumes = t / 60.0 - self._last_volumes >= self.scene.habits.plan.volumes_every - 10.0
        if volumes:
            self._last_volumes = t / 60.0
        self._round(t, volumes)

    def _round(self, t: int, volumes: bool) -> None:
        """One visit: levels and drainage where due, what is seen, and what has to be done about it."""
        check = self._new_check()
        if volumes:
            self._read_bags(t, check)
        self._see_to_drainage(t, check, volumes)
        if self.scene.habits.looks:
            self._see_and_act(t, check)
        self._plan_bag(t)

    def _see_and_act(self, t: int, check: str | None) -> None:
        how = self._see(t, check)
        bad = how in {"none", "drops_only"}
        if bad and self.bladder.inflow_now > 0.0 and self.scene.habits.acts and not self._episode:
            self._not_draining(t)

    def _look(self, t: int) -> None:
        if self._taken(t, self._look):
            return
        self._look_pending = False
        if not self._episode:
            self._see_and_act(t, self._new_check())

    def _attend(self, t: int) -> None:
        if self._taken(t, self._attend):
            return
        self._attend_pending = False
        if self._episode:
            return
        check = self._new_check()
        if self._attend_volumes:
            self._read_bags(t, check)
        self._see_to_drainage(t, check, self._attend_volumes)
        self._attending = True
        how = self._see(t, check)
        self._attending = False
        if how != "steady" and self.bladder.inflow_now > 0.0:
            self._not_draining(t)

    # --- not draining --------------------------------------------------------------------------------------------

    def _not_draining(self, t: int) -> None:
        self._episode = True
        self._washouts = 0
        self.found.append((self._when(t), self.bladder.bladder))
        self._plan(t + 60, self._stop)

    def _stop(self, t: int) -> None:
        """A minute after what she saw, so that on the chart too the look comes before the stop."""
        self.bladder.stopped = True
        self._write(t, InflowStopped, reason="not_draining")
        self._plan(t + 60 * self._dice.randint(2, 4), self._remedy)

    def _remedy(self, t: int) -> None:
        habits, bladder, dice = self.scene.habits, self.bladder, self._dice
        trouble = bladder.troubled()
        if bladder.full_bag:
            self._empty(t, self._new_check(), bladder.contents, True)
            self._write(t, TubingChecked, found=["drainage bag full"], fixed=True)
        elif trouble is not None and trouble.mends == "tubing":
            bladder.mend_tubing()
            self._write(t, TubingChecked, found=["kinked under the thigh"], fixed=True)
        else:
            self._washouts += 1
            pushes = dice.randint(2, 4)
            succeeds = dice.random() < habits.washout_mends
            doctor = self._washouts >= 3
            back = bladder.wash(
                pushes * PUSH_ML, succeeds or doctor, pushes * PUSH_ML + dice.uniform(-20.0, 60.0)
            )
            if doctor:
                bladder.end_troubles()
            freed = bladder.troubled() is None
            fields: dict[str, Any] = {"pushes": pushes, "syringe_ml": PUSH_ML, "returned_to": "dish"}
            fields["returned_ml"] = self._read(back, Reader(10.0, 5.0))
            fields["clots"] = dice.choice(("small", "large")) if trouble and freed else "none"
            fields["resistance"] = ("stiff" if trouble else "easy") if freed else "in_but_not_back"
            fields["draining_after"] = "steady" if freed else "none"
            if doctor:
                fields["done_by"] = "urology on call"
            self._write(t, Washout, **fields)
            if not freed:
                self._plan(t + 60 * dice.randint(6, 10), self._remedy)
                return
        self._plan(t + 60 * dice.randint(4, 6), self._restart)

    def _restart(self, t: int) -> None:
        self._episode = False
        if self.scene.habits.looks:
            self._round(t, volumes=True)
        if not self._episode:
            self._plan(t + 60, self._start_again)

    def _start_again(self, t: int) -> None:
        self._set_roller(self._rate)
        self._write(t, InflowStarted)
        self._troubled_until = t / 3600.0 + self.scene.habits.plan.after_trouble_h
        for minutes in (5, 15):
            self._plan(t + 60 * minutes, self._look)

    def _set_roller(self, rate: float) -> None:
        self.bladder.set_rate(rate * exp(self._dice.gauss(0.0, self.scene.habits.roller_sd)))

    # --- bags ----------------------------------------------------------------------------------------------------

    def _plan_bag(self, t: int) -> None:
        """Works out from what she sees when the open bag will be down to its last, and means to be there."""
        habits, bladder, dice = self.scene.habits, self.bladder, self._dice
        if bladder.stopped or self._rate <= 0:
            return
        left = sum(left for line, left in bladder.left.items() if bladder.open[line])
        seen = max(0.0, left * exp(dice.gauss(0.0, 0.03)))
        wanted = 0.0 if habits.irrigant == "whole_bags" else habits.change_at_ml
        rate = max(30.0, bladder.inflow_now or self._rate)
        minutes = 60.0 * (seen - wanted) / rate
        if habits.irrigant == "whole_bags":
            minutes += dice.uniform(0.0, 4.0)
        if habits.bag_late and dice.random() < habits.bag_late:
            minutes += dice.uniform(10.0, 30.0)
        self._bag_due = whole_step(t + 60.0 * max(0.5, minutes))
        self._plan(self._bag_due, self._bag)

    def _bag(self, t: int) -> None:
        bladder, habits = self.bladder, self.scene.habits
        if t != self._bag_due or self._episode:
            return
        if t // 60 == self._last_visit // 60:
            self._bag_due = t + 60
            self._plan(self._bag_due, self._bag)
            return
        self._last_visit = t
        running = [line for line in bladder.left if bladder.open[line]]
        line = min(running, key=lambda one: bladder.left[one])
        left = bladder.left[line]
        if left > 3.0 * habits.change_at_ml + 20.0:
            self._plan_bag(t)
            return
        check = self._new_check()
        spare = next(
            (other for other, rest in bladder.left.items() if not bladder.open[other] and rest > 500.0), None
        )
        self._bags += 1
        forgets = self._bags in habits.forgets_nth_bag or (
            habits.forgets_bag and self._dice.random() < habits.forgets_bag
        )
        if forgets:
            holds = bladder.hang(line)
            self.forgotten.append(Forgotten(self._when(t), "bag", left - holds))
        else:
            self._take_down(t, check, line, left)
            if spare is not None:
                bladder.open[spare], bladder.open[line] = True, False
                self._write(t, LineClamped, check, line=line)
                self._write(t, LineOpened, check, line=spare)
            self._hang(t, line, check, clamped=spare is not None)
        self._set_roller(self._rate)
        if habits.drainage_at_bag_change and not forgets:
            self._see_to_drainage(t, check, volumes=True)
        if habits.looks:
            self._see_and_act(t, check)
        self._plan_bag(t)
