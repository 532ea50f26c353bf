"""Whether the 10,000th entry costs what the 100th did: processor time of a save at the desk, without the disk's share.

To be kept: the 10,000th at most 1.2 times the 100th (medians of the saves around them).
Run it alone: ``python tests/benchmarks/entry_cost.py [entries]``.
"""

from __future__ import annotations

import statistics
import sys
import time

from desk_stay import Stay, in_folder


def main() -> None:
    """Chart one stay of so many entries and print the cost along the way."""
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    for folder in in_folder(None):
        stay = Stay(folder)
        costs: list[tuple[int, float]] = []
        while len(stay.desk.watch(stay.session).by_id) < most + 200:
            slip = stay.next_slip()
            events, _ = slip.to_events(stay.clock.now())
            started = time.process_time()
            stay._save(events)
            costs.append(
                (len(stay.desk.watch(stay.session).by_id), (time.process_time() - started) / len(events))
            )

        first = around(300, costs)  # the first entries are still warming up
        for entry in (300, most // 4, most // 2, most):
            cost = around(entry, costs)
            print(f"around entry {entry}: {cost * 1e6:.0f} µs an entry, {cost / first:.2f} of the first")


def around(entry: int, costs: list[tuple[int, float]]) -> float:
    """The median cost of an entry among those saved near this one, seconds."""
    return statistics.median(cost for at, cost in costs if abs(at - entry) <= 200)


if __name__ == "__main__":
    main()
