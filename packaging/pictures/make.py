"""Makes the pictures of the README anew from the demo ward at one fixed instant: python packaging/pictures/make.py."""

from __future__ import annotations

import os
from datetime import UTC, datetime
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"

from cbi_monitor.screens.main_window import render
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.demo import demo_desk

SHOWN = datetime(2026, 3, 4, 14, 2, 36, tzinfo=UTC)

if __name__ == "__main__":
    clock = FixedClock(SHOWN)
    for path in render(demo_desk(SHOWN, clock), Path(__file__).parent):
        print(path)  # noqa: T201
