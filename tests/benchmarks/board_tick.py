"""What one second's tick of a ward costs at the desk, and how long its start holds up a window, for 40 beds.

To be kept: a tick within a 60 Hz frame (16.7 ms); no piece of settling over 50 ms.
Run it alone: ``python tests/benchmarks/board_tick.py [beds]``.
"""

from __future__ import annotations

import statistics
import sys
import time
from datetime import UTC, datetime

from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.demo import demo_desk
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.settings_in_force import InForce

NOW = datetime(2031, 7, 14, 10, 0, tzinfo=UTC)


def main() -> None:
    """Start, settle, and tick for ten minutes of the ward's time."""
    beds = int(sys.argv[1]) if len(sys.argv) > 1 else 40
    rules = InForce()
    demo = demo_desk(NOW, FixedClock(NOW), in_force=rules, beds=beds)
    clock = FixedClock(NOW)
    started = time.perf_counter()
    desk = Desk(demo.journal, rules, clock)
    desk.start(settled=False)
    print(f"{beds} beds at first sight: {time.perf_counter() - started:.2f} s")
    pieces: list[float] = []
    while True:
        started = time.perf_counter()
        done = desk.settle()
        pieces.append(time.perf_counter() - started)
        if done:
            break
    print(f"settled in {sum(pieces):.1f} s, pieces of {statistics.median(pieces) * 1e3:.0f} ms, "
          f"the longest {max(pieces) * 1e3:.0f} ms")  # fmt: skip
    quiet, busy = [], []
    for _ in range(600):
        clock.move(seconds=1)
        started = time.perf_counter()
        changed = desk.tick(clock.now())
        for bed in desk.beds():
            _ = bed.standing
        (busy if changed else quiet).append(time.perf_counter() - started)
    for name, found in (("nothing due", quiet), ("something due", busy)):
        if found:
            found.sort()
            print(f"tick and all standings, {name}: median {statistics.median(found) * 1e3:.1f} ms, "
                  f"99 in 100 under {found[int(len(found) * 0.99) - 1] * 1e3:.1f} ms ({len(found)} ticks)")  # fmt: skip


if __name__ == "__main__":
    main()
