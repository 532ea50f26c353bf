"""How soon the ward's window can be used, as a ratio to a bare PySide6 window: whole programs, started alternately.

To be kept: at most 2.5 bare windows. The ward's own journal holds so many beds of the demo ward (default 8), as a ward
has them after some days. "Usable": shown, painted, every bed with its figures. Run it alone:
``python tests/benchmarks/first_window.py [rounds] [beds]``.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

from desk_stay import in_folder

BARE = """
from PySide6.QtWidgets import QApplication, QLabel, QMainWindow
app = QApplication([])
window = QMainWindow()
window.setCentralWidget(QLabel("bare"))
window.resize(1280, 760)
window.show()
app.processEvents()
window.grab()
print("usable", flush=True)
"""

OURS = """
import sys
from pathlib import Path
from cbi_monitor.app import Places, ward_desk
desk = ward_desk(Places(Path(sys.argv[1])))
before = desk.start(settled=False)
from cbi_monitor.screens.main_window import application, open_window
window = open_window(desk, before)
application().processEvents()
window.grab()
assert len(desk.beds()) == int(sys.argv[2]), len(desk.beds())
print("usable", flush=True)
"""


def seconds(code: str, *args: str) -> float:
    """From the start of the process until it says that it can be used."""
    started = time.perf_counter()
    program = subprocess.Popen([sys.executable, "-c", code, *args], stdout=subprocess.PIPE, text=True)
    assert program.stdout is not None
    said = program.stdout.readline()
    took = time.perf_counter() - started
    program.wait()
    if said.strip() != "usable":
        raise SystemExit("the window did not come up")
    return took


def main() -> None:
    """Start both alternately and print the ratio of medians."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 7
    beds = int(sys.argv[2]) if len(sys.argv) > 2 else 8
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    for folder in in_folder(None):
        for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME"):
            os.environ[name] = str(folder / name.lower())
        filled = ward_of(folder / "filled.db", beds)
        empty = folder / "empty.db"
        seconds(OURS, str(empty), "0")  # made, and everything once in the disk's cache
        bare, ours, bedded = [], [], []
        for _ in range(rounds):
            bare.append(seconds(BARE))
            ours.append(seconds(OURS, str(empty), "0"))
            bedded.append(seconds(OURS, str(filled), str(beds)))
        base = statistics.median(bare)
        print(f"bare window: {base:.2f} s")
        for name, found in (("no beds", ours), (f"{beds} beds", bedded)):
            middle = statistics.median(found)
            print(f"the ward's window, {name}: {middle:.2f} s = {middle / base:.2f} bare windows")


def ward_of(path: Path, beds: int) -> Path:
    """A ward's journal with so many open beds of the demo ward in it."""
    from cbi_monitor.journal.sqlite import SqliteJournal
    from cbi_monitor.ward.clock import FixedClock
    from cbi_monitor.ward.demo import demo_desk

    now = datetime.now(UTC) - timedelta(minutes=2)
    demo = demo_desk(now, FixedClock(now), beds=beds + 4)
    wanted = list(demo.open_sessions)[:beds]
    with SqliteJournal(path) as journal:
        for session in wanted:
            journal.append(demo.journal.events(session))
    return path


if __name__ == "__main__":
    main()
