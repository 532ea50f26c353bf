"""The rules of thumb that the alerts are compared with, reckoned plainly from the entries of a careful reader."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from cbi_monitor.model.events import BagDown, BagHung, BagRead, DrainageEmptied, Event, rank_of
from cbi_monitor.practice import Scene, Sitting

RULES = ("out below in at one check", "out below in at two checks running", "fell 250 mL behind")


@dataclass(frozen=True, slots=True)
class Said:
    """How often a rule spoke without a block, over how many hours, and what the bladder held when it found one."""

    false: int
    hours: float
    found_ml: float | None


def amounts(events: list[Event]) -> list[tuple[datetime, float, float]]:
    """(time, in, out) at each emptying: level by level, a new bag by its label."""
    left, ran, out, known = 0.0, 0.0, 0.0, []
    for event in sorted(events, key=lambda one: (one.at, rank_of(one), isinstance(one, DrainageEmptied))):
        if isinstance(event, BagHung):
            left = event.label_ml
        elif isinstance(event, BagRead | BagDown):
            now = event.left_ml or 0.0
            ran, left = ran + left - now, now
        elif isinstance(event, DrainageEmptied):
            out += event.volume or 0.0
            known.append((event.at, ran, out))
    return known


def apply_rules(scene: Scene, seed: int) -> dict[str, Said]:
    """Each rule over one bed that nobody answers."""
    sitting = Sitting(scene, seed)
    events = sitting.whole()
    block_h = scene.troubles[0].at_h if scene.troubles else None
    alarms: dict[str, list[datetime]] = {rule: [] for rule in RULES}
    below, highest, quiet = 0, 0.0, False
    steps = amounts(events)
    for (_, in0, out0), (at, in1, out1) in pairwise(steps):
        short = out1 - out0 < in1 - in0
        below = below + 1 if short else 0
        if short:
            alarms[RULES[0]].append(at)
        if below == 2:
            alarms[RULES[1]].append(at)
        net = out1 - in1
        highest = max(highest, net)
        if highest - net < 250:
            quiet = False
        elif not quiet:
            quiet = True
            alarms[RULES[2]].append(at)
    said = {}
    for rule, times in alarms.items():
        hours = [(at - sitting.start).total_seconds() / 3600 for at in times]
        false = sum(block_h is None or hour < block_h for hour in hours)
        after = [at for at, hour in zip(times, hours, strict=True) if block_h is not None and hour >= block_h]
        found = sitting.bladder_ml(after[0]) if after else None
        said[rule] = Said(false, block_h or scene.hours, found)
    return said
