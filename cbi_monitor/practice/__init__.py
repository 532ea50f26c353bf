"""The practice room: bladders and nurses that never were, with the truth beside the chart.

Pure and seeded: the same scene and seed give the same chart, bit for bit. No clock, no file. Used to measure the
alerts, to write the demo sessions and, later, to train.
"""

from cbi_monitor.practice.bladder import Bladder, Truth
from cbi_monitor.practice.hands import Forgotten
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
from cbi_monitor.practice.sitting import Block, Sitting

__all__ = [
    "Bags", "Bladder", "Bleeding", "Block", "Body", "Drainage", "Forgotten", "Habits", "Line", "Plan", "Reader",
    "Scene", "Sitting", "Trouble", "Truth",
]  # fmt: skip
