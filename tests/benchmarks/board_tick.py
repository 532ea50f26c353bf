"""One second's tick of a board of 40 beds, against a frame of 60 Hz (16.7 ms). Run it; it prints the ratios.

The demo ward is filled up to 40 beds. A tick is one beat of the window: the desk moves on, the beds whose turn it is are
told anew, and what changed is painted. Two minutes of beats are measured, so that the turn of the minute is in it.
"""

from __future__ import annotations

import os
import statistics
import time
from datetime import UTC, datetime

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

FRAME_MS = 1000 / 60
BEDS = 40
BEATS = 120


def main() -> None:
    from cbi_monitor.screens import look
    from cbi_monitor.screens.main_window import MainWindow, application
    from cbi_monitor.ward.clock import FixedClock
    from cbi_monitor.ward.demo import demo_desk

    app = application()
    clock = FixedClock(datetime(2026, 3, 4, 14, 2, 30, tzinfo=UTC))
    desk = demo_desk(clock.now(), clock, beds=BEDS)
    look.put_on(app, look.pick(False, True), 1.0)
    window = MainWindow(desk)
    window.resize(1280, 760)
    window.show()
    window.pulse.beat()
    for _ in range(5):
        app.processEvents()
    ticks, paints = [], []
    for _ in range(BEATS):
        clock.move(seconds=1)
        began = time.perf_counter()
        window.pulse.beat()
        beaten = time.perf_counter()
        app.processEvents()
        ticks.append((beaten - began) * 1000)
        paints.append((time.perf_counter() - began) * 1000)
    for name, measured in (("beat", ticks), ("beat and painting", paints)):
        ordered = sorted(measured)
        print(
            f"{name:18} {BEDS} beds: median {statistics.median(measured):5.1f} ms "
            f"({statistics.median(measured) / FRAME_MS:.2f} of a frame), "
            f"19 in 20 below {ordered[int(len(ordered) * 0.95)]:5.1f} ms "
            f"({ordered[int(len(ordered) * 0.95)] / FRAME_MS:.2f}), longest {ordered[-1]:5.1f} ms "
            f"({ordered[-1] / FRAME_MS:.2f})"
        )
    window.end()


if __name__ == "__main__":
    main()
