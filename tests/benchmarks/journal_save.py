"""How much a saved check costs, as a ratio to one bare insert in the same run on the same disk.

A check of six entries (validated, hashed, in the journal, on disk) beside one insert of a line into a bare table with
WAL and synchronous FULL. To be kept: the whole save, ledger and alerts too, at most 4 bare inserts. Run it alone:
``python tests/benchmarks/journal_save.py [rounds] [folder]``.
"""

from __future__ import annotations

import sqlite3
import statistics
import sys
import tempfile
import time
from pathlib import Path

from cbi_monitor.journal.codec import read_event
from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import Event


def check(number: int) -> list[Event]:
    """What an hourly check writes."""
    common = {
        "session": "bed-4",
        "at": f"2026-03-01T{number // 3600 % 24:02}:{number // 60 % 60:02}:{number % 60:02}+00:00",
        "recorded": "2026-03-01T07:01:00+00:00",
        "by": "K.M.",
        "check": f"0195-{number}",
    }
    readings = [
        {"event": "outflow_seen", "running": True, "how": "steady"},
        {"event": "symptoms", "pain": 1, "spasm": False, "abdomen": "soft"},
        {"event": "effluent_graded", "grade": "pale_pink", "clots": "none"},
        {"event": "drainage_read", "contents_ml": 1250},
        {"event": "bag_read", "line": "A", "left_ml": 1800},
        {"event": "bag_read", "line": "B", "left_ml": 3000},
    ]
    return [
        read_event({**common, **one, "id": f"01957e3a-{number:07}-{place}"})
        for place, one in enumerate(readings)
    ]


def bags() -> list[Event]:
    """What must hang before its level can be read."""
    hung = {"event": "bag_hung", "session": "bed-4", "at": "2026-03-01T00:00:00+00:00", "label_ml": 3000}
    return [read_event({**hung, "id": f"bag-{line}", "line": line, "fluid": "saline_0.9"}) for line in "AB"]


def main() -> None:
    """Interleave both, so that a slow moment of the disk meets both alike, and print the ratio of medians."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    with tempfile.TemporaryDirectory(dir=sys.argv[2] if len(sys.argv) > 2 else None) as folder:
        bare = sqlite3.connect(Path(folder) / "bare.sqlite", isolation_level=None)
        bare.execute("PRAGMA journal_mode = WAL")
        bare.execute("PRAGMA synchronous = FULL")
        bare.execute("CREATE TABLE bare (id INTEGER PRIMARY KEY, payload TEXT)")
        journal = SqliteJournal(Path(folder) / "journal.sqlite")
        journal.append(bags())
        checks = [check(number) for number in range(rounds)]
        inserts, saves = [], []
        for events in checks:
            started = time.perf_counter()
            bare.execute("INSERT INTO bare (payload) VALUES (?)", ("x" * 250,))
            inserts.append(time.perf_counter() - started)
            started = time.perf_counter()
            journal.append(events)
            saves.append(time.perf_counter() - started)
        insert, save = statistics.median(inserts), statistics.median(saves)
        early, late = statistics.median(saves[10:110]), statistics.median(saves[-100:])
        print(
            f"bare insert {insert * 1e6:.0f} µs, a check saved {save * 1e6:.0f} µs, ratio {save / insert:.2f}"
        )
        print(f"last hundred checks over the first hundred: {late / early:.2f}")
        started = time.perf_counter()
        SqliteJournal(Path(folder) / "journal.sqlite").close()
        print(
            f"opening a journal of {rounds * 6 + 2} entries: {(time.perf_counter() - started) * 1e3:.2f} ms"
        )
        journal.close()
        bare.close()


if __name__ == "__main__":
    main()
