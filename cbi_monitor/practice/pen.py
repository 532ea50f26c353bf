"""The nurse's pen: an agenda of what she means to do, the entries she has written, and when each becomes known."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from heapq import heappush
from random import Random
from typing import Any

from cbi_monitor.model.events import Event
from cbi_monitor.practice.bladder import STEP, Bladder
from cbi_monitor.practice.scene import Reader, Scene


def whole_step(seconds: float) -> int:
    """The next whole step of the bladder at or after that many seconds."""
    return -int(-seconds // STEP) * STEP


class Pen:
    """Writes entries: charted to the whole minute, typed a little later, with ids that the seed and the count give."""

    def __init__(self, scene: Scene, seed: int, start: datetime) -> None:
        self.scene, self.seed, self.start = scene, seed, start
        self.bladder = Bladder(scene, seed)
        self._dice = Random(f"nurse {seed}")
        self._agenda: list[tuple[int, int, Callable[[int], None]]] = []
        self._post: list[tuple[datetime, int, Event]] = []
        self._n = 0
        self._checks = 0
        self._check_off = self._check_late = 0
        self._typing = (-1, 0)
        self._ids: dict[str, str] = {}
        self._by = scene.staff[0][1]

    def _when(self, t: int) -> datetime:
        return self.start + timedelta(seconds=t)

    def _soon(self, at: datetime, minutes: float) -> int:
        return whole_step(max(self.bladder.t, (at - self.start).total_seconds() + 60.0 * minutes))

    def _plan(self, t: int, act: Callable[[int], None]) -> None:
        self._n += 1
        heappush(self._agenda, (t, self._n, act))

    def _write(
        self, t: int, kind: type[Event], check: str | None = None, late: float = 0.0, **fields: Any
    ) -> Event:
        """One entry: charted to the whole minute, typed a little later."""
        habits, dice = self.scene.habits, self._dice
        done = self._when(t)
        at = done - timedelta(seconds=done.second)
        if habits.chart_off_minutes and check is not None:
            at += timedelta(minutes=self._check_off)
        if t != self._typing[0]:
            self._typing = (t, round(dice.uniform(5.0, 60.0 * habits.typed_within_minutes)))
        typed = done + timedelta(seconds=self._typing[1])
        if late:
            typed = done + timedelta(minutes=round(late))
        elif check is not None and self._check_late:
            typed = done + timedelta(minutes=self._check_late)
        typed = max(typed, at)
        self._n += 1
        ident = f"{self._n:08x}-0000-8000-8000-{self.seed & 0xFFFFFFFFFFFF:012x}"
        event = kind(
            session=self.scene.session, at=at, recorded=typed, by=self._by, id=ident,
            **({"check": check} if check else {}), **fields,
        )  # fmt: skip
        self._ids[event.event] = ident
        heappush(self._post, (typed, self._n, event))
        return event

    def _new_check(self) -> str:
        habits, dice = self.scene.habits, self._dice
        self._checks += 1
        off = habits.chart_off_minutes
        self._check_off = round(dice.uniform(-off, off)) if off else 0
        self._check_late = 0
        if habits.late_part and dice.random() < habits.late_part:
            self._check_late = round(dice.uniform(*habits.late_minutes))
        return f"c{self._checks:04d}"

    def _read(self, true: float, reader: Reader, most: float | None = None) -> float:
        seen = true + self._dice.gauss(0.0, reader.sd + reader.relative * true) if true > 5.0 else 0.0
        if most is not None:
            seen = min(seen, most)
        return max(0.0, round(seen / reader.graduation) * reader.graduation)
