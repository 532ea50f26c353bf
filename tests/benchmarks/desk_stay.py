"""A patient's stay told entry by entry at a real desk, for the benchmarks: a check every 15 minutes, volumes hourly."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.model.events import BagHung, DrainageBagPlaced, InflowSet, SessionOpened
from cbi_monitor.ward.checks import CheckEntry
from cbi_monitor.ward.clock import FixedClock
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import Saved
from cbi_monitor.ward.settings_in_force import InForce

START = datetime(2026, 3, 1, 8, 0, tzinfo=UTC)
RATE = 500.0
URINE = 75.0


class Stay:
    """One bed at 500 mL/h with 75 mL/h of urine; the caller moves it from check to check."""

    def __init__(self, folder: Path, session: str = "stay", bed: str = "4") -> None:
        self.clock = FixedClock(START)
        self.desk = Desk(SqliteJournal(folder / "ward.db"), InForce(), self.clock)
        self.desk.start()
        self.session = session
        self.left, self.drained, self.count = 3000.0, 0.0, 0
        common = {"session": session, "at": START, "by": "K.M."}
        self._save(
            [
                SessionOpened(patient=f"P-{bed}", bed=bed, weight_kg=78, **common),
                BagHung(line="A", label_ml=3000, fluid="saline_0_9", **common),
                DrainageBagPlaced(capacity_ml=4000, contents_ml=0, **common),
                InflowSet(ml_per_h=RATE, **common),
            ]
        )

    def _save(self, events: list) -> None:  # type: ignore[type-arg]
        outcome = self.desk.save(events)
        if not isinstance(outcome, Saved):
            raise SystemExit(f"not saved: {outcome}")

    def next_slip(self) -> CheckEntry:
        """15 minutes on: the slip of the next check, with volumes every fourth time. Bags are changed on the way."""
        self.clock.move(minutes=15)
        self.count += 1
        self.left -= RATE / 4
        self.drained += (RATE + URINE) / 4
        if self.left < RATE / 2:
            common = {"session": self.session, "at": self.clock.now(), "by": "K.M."}
            self._save([BagHung(line="A", label_ml=3000, fluid="saline_0_9", **common)])
            self.left = 3000.0
        slip = CheckEntry(
            self.session,
            "K.M.",
            self.clock.now(),
            running="steady",
            comfort="comfortable",
            grade="pale_pink",
            clots="none",
        )
        if self.count % 4 == 0:
            slip.left = {"A": f"{round(self.left / 50) * 50}"}
            slip.drainage = f"{round(self.drained / 50) * 50}"
            if self.drained > 2600:
                slip.drainage_mode = "emptied"
                self.drained = 0.0
        return slip

    def check(self) -> None:
        """The next check, saved."""
        slip = self.next_slip()
        events, refusals = slip.to_events(self.clock.now())
        if refusals:
            raise SystemExit(str(refusals))
        self._save(events)


def in_folder(named: str | None) -> Iterator[Path]:
    """A folder on the disk to be measured, gone afterwards."""
    with tempfile.TemporaryDirectory(dir=named) as folder:
        yield Path(folder)
