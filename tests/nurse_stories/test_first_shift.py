"""A first shift: from the empty ward to the report, by the keyboard alone."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from cbi_monitor.journal.sqlite import SqliteJournal
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.events import (
    AlertAnswered,
    AlertShown,
    BagDown,
    BagHung,
    Corrected,
    EffluentGraded,
    InflowStarted,
    InflowStopped,
    OutflowSeen,
    SessionOpened,
    StruckOut,
)
from cbi_monitor.settings import load_scale, load_ward
from tests.nurse_stories.hands import AtTheDesk

pytestmark = pytest.mark.story


def read(journal: Path) -> tuple[Ledger, list]:
    """The only session of the journal, folded, and all its entries as they were written."""
    with SqliteJournal(journal) as book:
        (session,) = book.sessions()
        events = list(book.events(session))
    ledger = Ledger(session, load_ward(), load_scale())
    ledger.fold_all(events)
    return ledger, events


def test_a_first_shift(real_screen, tmp_path: Path) -> None:
    """A patient comes from theatre; I chart him for an hour, his bag, a fright, a slip of the pen, and print it."""
    journal, papers = tmp_path / "ward.db", tmp_path / "papers"
    papers.mkdir()
    began = datetime.now(UTC)
    with AtTheDesk(real_screen, "first-shift", ["--journal", str(journal)]) as nurse:
        nurse.picture("empty-ward")
        # I say who I am.
        nurse.keys("ctrl+u")
        nurse.window("Who charts?")
        nurse.types("K.M.\n")
        nurse.gone("Who charts?")
        # He came an hour and twenty minutes ago: bed 7A, a fresh 3 L bag, an empty 4 L drainage bag, pink, at 600.
        nurse.keys("ctrl+n")
        nurse.window("Open a session")
        nurse.types("7A\n4471\n3" + "3000\n" + "\n" + "4" + "0\n" + "600\n" + "s3nc")
        nurse.types("y" + "-80")
        nurse.picture("opening")
        nurse.keys("ctrl+Return")
        nurse.gone("Open a session")
        nurse.picture("opened")
        # The hourly check twenty minutes ago: levels and drainage. The time first, then fourteen keys.
        nurse.keys("F1", "Up")
        nurse.types("-20\n" + "sc3n" + "680\n" + "2400")
        nurse.picture("hourly-check-typed")
        nurse.keys("ctrl+Return")
        nurse.picture("hourly-check-saved")
        # A check now, without volumes: five keys.
        nurse.types("sc2n").keys("ctrl+Return")
        # The bag: two litres left, a new one of three.
        nurse.keys("F6")
        nurse.types("a" + "2300\n" + "3" + "n" + "y")
        nurse.picture("bag-change")
        nurse.keys("ctrl+Return")
        # A fright: nothing drips. One key says so, one stops the inflow, one says that I am going.
        nurse.keys("F3")
        nurse.picture("not-draining")
        nurse.keys("F2", "F4")
        nurse.picture("stopped")
        # A kink. It runs again: seen steady, started at 500.
        nurse.keys("F4")
        nurse.types("s" + "500").keys("ctrl+Return")
        nurse.keys("F5")
        nurse.types("sc").keys("ctrl+Return")
        nurse.keys("ctrl+e")
        nurse.picture("entries")
        # The report.
        nurse.keys("ctrl+r")
        nurse.window("Folder for the report")
        nurse.types(str(papers) + "\n")
        nurse.gone("Folder for the report", seconds=30)
        nurse.picture("report-written")
        nurse.keys("Escape")
        said = nurse.closes()
    assert "Traceback" not in said, said

    ledger, events = read(journal)
    opening = next(event for event in events if isinstance(event, SessionOpened))
    assert (opening.bed, opening.patient, opening.by) == ("7A", "4471", "K.M.")
    assert timedelta(minutes=78) < began - opening.at < timedelta(minutes=83)
    row = next(row for row in ledger.rows if row.state == "closed")
    assert (row.irrigant_in_ml, row.drained_ml, row.net_ml) == (600, 680, 80)
    assert ledger.of(EffluentGraded)[-1].grade == "pale_pink"
    assert (ledger.of(BagDown)[-1].left_ml, ledger.of(BagHung)[-1].label_ml) == (2300, 3000)
    assert [seen.how for seen in ledger.of(OutflowSeen)][-3:] == ["none", "steady", "steady"]
    assert ledger.of(InflowStopped)
    assert ledger.of(InflowStarted)
    going = [event for event in events if isinstance(event, AlertAnswered)]
    assert [(event.kind, event.by) for event in going] == [("going", "K.M.")]
    shown = [event for event in events if isinstance(event, AlertShown) and event.condition == "no_outflow"]
    assert shown
    assert going[0].alert == shown[0].alert
    assert not [event for event in events if isinstance(event, (Corrected, StruckOut))]
    assert list(papers.glob("*.pdf"))
    assert list(papers.glob("*.csv"))


def test_a_slip_of_the_pen(real_screen, tmp_path: Path) -> None:
    """I typed 6,080 for 680: the chart asks at once. I keep it by mistake, and correct it; both stay readable."""
    journal = tmp_path / "ward.db"
    with AtTheDesk(real_screen, "slip-of-the-pen", ["--journal", str(journal)]) as nurse:
        nurse.keys("ctrl+u")
        nurse.window("Who charts?")
        nurse.types("J.O.\n")
        nurse.gone("Who charts?")
        nurse.keys("ctrl+n")
        nurse.window("Open a session")
        nurse.types("9\n5120\n3" + "3000\n" + "\n" + "4" + "0\n" + "600\n" + "s3nc" + "y" + "-70")
        nurse.keys("ctrl+Return")
        nurse.gone("Open a session")
        nurse.keys("F1", "Up")
        nurse.types("-10\n" + "sc3n" + "6080\n" + "2400").keys("ctrl+Return")
        nurse.picture("questioned")
        nurse.types("no idea").keys("ctrl+Return")
        nurse.picture("kept")
        # Entries, newest first; the drainage is looked for by its place and corrected.
        nurse.keys("ctrl+e")
        nurse.picture("entries")
        for _ in range(12):
            nurse.keys("Return")
            nurse.window("Correct an entry")
            if _is_drainage(nurse):
                break
            nurse.keys("Escape")
            nurse.gone("Correct an entry")
            nurse.keys("Down")
        nurse.picture("correcting")
        nurse.keys("Tab", "ctrl+a")
        nurse.types("680\n")
        nurse.types("typed a nought too many")
        nurse.keys("ctrl+Return")
        nurse.gone("Correct an entry")
        nurse.picture("corrected")
        said = nurse.closes()
    assert "Traceback" not in said, said
    ledger, events = read(journal)
    corrected = [event for event in events if isinstance(event, Corrected)]
    assert [(event.fields, event.reason, event.by) for event in corrected] == [
        ({"contents_ml": 680}, "typed a nought too many", "J.O.")
    ]
    row = next(row for row in ledger.rows if row.state == "closed")
    assert (row.drained_ml, row.net_ml) == (680, 80)


def _is_drainage(nurse: AtTheDesk) -> bool:
    """The sheet of the drainage reading is the one whose entry sorts where it was written: told by its number of keys."""
    nurse.tries = getattr(nurse, "tries", 0) + 1
    return nurse.tries == nurse_row(nurse)


def nurse_row(nurse: AtTheDesk) -> int:
    """Set by the story's own look at the journal while the program runs."""
    if not hasattr(nurse, "row"):
        from cbi_monitor.model.events import DrainageRead
        from cbi_monitor.screens.bedside.view import HIDDEN

        with SqliteJournal(Path(nurse.arguments[1])) as book:
            (session,) = book.sessions()
            events = list(book.events(session))
        ledger = Ledger(session, load_ward(), load_scale())
        ledger.fold_all(events)
        lines = [one.original for one in reversed(ledger.entries) if not isinstance(one.original, HIDDEN)]
        nurse.row = next(n for n, event in enumerate(lines, start=1) if isinstance(event, DrainageRead))
    return nurse.row
