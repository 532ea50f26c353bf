"""What saving a check costs: validated, hashed, on disk, ledger and alerts up to date, as a ratio to one bare insert.

To be kept: at most 4 bare SQLite inserts (WAL, synchronous FULL) of the same run on the same disk; a preview under 5 ms
with 14 days of 15-minute checks. Run it alone: ``python tests/benchmarks/save_check.py [folder on the disk] [days]``.
"""

from __future__ import annotations

import sqlite3
import statistics
import sys
import time

from desk_stay import Stay, in_folder


def main() -> None:
    """Interleave both, so that a slow moment of the disk meets both alike, and print the ratio of medians."""
    days = float(sys.argv[2]) if len(sys.argv) > 2 else 2.0
    for folder in in_folder(sys.argv[1] if len(sys.argv) > 1 else None):
        bare = sqlite3.connect(folder / "bare.db", isolation_level=None)
        bare.execute("PRAGMA journal_mode = WAL")
        bare.execute("PRAGMA synchronous = FULL")
        bare.execute("CREATE TABLE bare (id INTEGER PRIMARY KEY, payload TEXT)")
        stay = Stay(folder)
        inserts, looks, volumes, previews = [], [], [], []
        for number in range(int(days * 96)):
            started = time.perf_counter()
            bare.execute("INSERT INTO bare (payload) VALUES (?)", ("x" * 250,))
            inserts.append(time.perf_counter() - started)
            slip = stay.next_slip()
            started = time.perf_counter()
            events, _ = slip.to_events(stay.clock.now())
            stay.desk.preview(stay.session, events)
            previews.append(time.perf_counter() - started)
            started = time.perf_counter()
            events, _ = slip.to_events(stay.clock.now())
            stay._save(events)
            (volumes if number % 4 == 3 else looks).append(time.perf_counter() - started)
        insert = statistics.median(inserts)
        for name, found in (("15-minute check", looks), ("hourly check", volumes)):
            middle = statistics.median(found)
            print(
                f"{name}: {middle * 1e3:.2f} ms = {middle / insert:.2f} bare inserts of {insert * 1e3:.2f} ms"
            )
        print(
            f"preview after {days:g} days: median {statistics.median(previews[-40:]) * 1e3:.2f} ms, "
            f"worst of the last 40 {max(previews[-40:]) * 1e3:.2f} ms"
        )


if __name__ == "__main__":
    main()
