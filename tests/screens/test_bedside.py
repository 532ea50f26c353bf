"""The bedside chart tells what the ledger tells: curves, figures, marks, rows; no more, and with the same doubt."""

from __future__ import annotations

import itertools
import subprocess
import sys
from datetime import datetime, timedelta

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from cbi_monitor.screens.bedside import view
from tests.screens.conftest import open_quietly


@pytest.fixture
def ward(demo, qtbot):
    made = open_quietly(demo)
    qtbot.addWidget(made)
    made.resize(1280, 760)
    with qtbot.waitExposed(made):
        made.show()
    made.pulse.beat()
    yield made
    made.close()


def test_pyqtgraph_is_loaded_only_when_the_first_bedside_is_opened(tmp_path) -> None:
    program = (
        "import sys; from pathlib import Path\n"
        "from cbi_monitor.journal.sqlite import SqliteJournal\n"
        "from cbi_monitor.screens.main_window import application, open_window\n"
        "from cbi_monitor.ward.clock import SystemClock\n"
        "from cbi_monitor.ward.desk import Desk\n"
        "from cbi_monitor.ward.settings_in_force import InForce\n"
        "app = application()\n"
        "desk = Desk(SqliteJournal(Path(sys.argv[1]) / 'w.db', workstation='t'), InForce(), SystemClock())\n"
        "window = open_window(desk, desk.start()); app.processEvents()\n"
        "print('pyqtgraph' in sys.modules, 'reportlab' in sys.modules)\n"
        "window.bedside; print('pyqtgraph' in sys.modules); window.close()\n"
    )
    said = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    assert said.stdout.split() == ["False", "False", "True"]


def test_the_curves_end_where_the_rows_sum_up_to(demo) -> None:
    for bed in demo.beds():
        curves = view.curves_of(bed.ledger.rows)
        closed = [row for row in bed.ledger.rows if row.state == "closed"]
        run_in = sum(row.irrigant_in_ml + row.washed_in_ml for row in closed)
        out = sum(row.drained_ml + row.washed_back_ml + row.leaked_ml + row.otherwise_ml for row in closed)
        assert curves.run_in[-1] == run_in
        assert curves.drained[-1] == out
        assert all(
            low <= out <= high for low, out, high in zip(curves.low, curves.drained, curves.high, strict=True)
        )


def test_the_band_is_as_wide_as_the_running_totals_doubt(demo) -> None:
    bed = next(bed for bed in demo.beds() if all(row.state == "closed" for row in bed.ledger.rows))
    curves = view.curves_of(bed.ledger.rows)
    last = bed.ledger.rows[-1]
    if last.running_since == bed.ledger.rows[0].start:
        assert curves.high[-1] - curves.low[-1] == pytest.approx(last.running_high_ml - last.running_low_ml)


def test_a_gap_in_the_chart_is_a_gap_in_the_curves(desk, one_bed) -> None:
    rows = list(desk.bed(one_bed).ledger.rows)
    from dataclasses import replace

    hole = replace(rows[1], state="open", drained_ml=None, net_ml=None)
    curves = view.curves_of(
        [rows[0], hole, replace(rows[1], start=rows[1].end, end=rows[1].end + timedelta(hours=1))]
    )
    assert len(curves.breaks) == 2


def test_figures_tell_their_as_of_and_their_range(window, one_bed) -> None:
    window.open_bed(one_bed)
    cards = window.bedside.cards
    hold = cards.card("hold")
    assert " to " in hold.value
    assert "as of 13:00, limit 300" in hold.beside
    seen = cards.card("seen")
    assert (seen.value, seen.beside) == ("13:00, K.M.", "1 h 02 min ago")
    dry = cards.card("dry-A")
    assert " to " in dry.beside
    assert cards.card("urine").value == "not known"
    for name in ("seen", "behind", "hold", "block", "urine", "dry-A", "full"):
        assert cards.card(name).what, f"{name} does not say what it is"


def test_a_later_look_that_was_not_steady_stands_beside_the_steady_one(window, desk, one_bed, clock) -> None:
    window.open_bed(one_bed)
    desk.look(one_bed, "J.O.", "slow")
    clock.move(minutes=3)
    window.pulse.beat()
    seen = window.bedside.cards.card("seen")
    assert seen.value == "13:00, K.M."
    assert seen.beside == "slow 3 min ago"
    assert seen.matters


def test_the_high_end_grows_while_nobody_looks(window, desk, one_bed, clock) -> None:
    window.open_bed(one_bed)
    before = window.bedside.cards.card("hold").value
    clock.move(minutes=10)
    window.pulse.beat()
    after = window.bedside.cards.card("hold").value
    high = [int(words.split(" to ")[1].split()[0].replace(",", "")) for words in (before, after)]
    assert high[1] > high[0]


def test_arrow_keys_read_the_curves_out(ward, demo) -> None:
    ward.open_bed(demo.beds()[0].session)
    chart = ward.bedside.chart
    chart.setFocus()
    QTest.keyClick(chart, Qt.Key.Key_Left)
    last = ward.bedside.read_out.toolTip()
    assert last.startswith(f"{datetime.fromtimestamp(chart.curves.times[-1], demo.in_force.zone):%H:%M}: in ")
    QTest.keyClick(chart, Qt.Key.Key_Left)
    assert ward.bedside.read_out.toolTip() != last
    QTest.keyClick(chart, Qt.Key.Key_Return)
    selected = ward.bedside.row_table.currentIndex().row()
    assert selected == 1


def test_spans_of_time(ward, demo) -> None:
    ward.open_bed(demo.beds()[0].session)
    chart = ward.bedside.chart
    for name, hours in (("six", 6), ("day", 24)):
        ward.bedside.show_span(name)
        first, last = chart.plotItem.viewRange()[0]
        assert demo.now.timestamp() - first <= hours * 3600 + 1
        assert last > demo.now.timestamp()
    ward.bedside.show_span("all")
    opened = demo.bed(ward.bedside.session).opened_at
    assert chart.plotItem.viewRange()[0][0] == pytest.approx(opened.timestamp(), abs=1)


def test_marks_under_the_curves_do_not_overlap(ward, demo) -> None:
    for bed in demo.beds():
        ward.open_bed(bed.session)
        QApplication.processEvents()
        placed = sorted((x, x + size) for _, x, size in ward.bedside.tracks._placed())
        assert all(right <= left for (_, right), (left, _) in itertools.pairwise(placed))


def test_colour_stands_nowhere_without_its_rate(demo) -> None:
    for bed in demo.beds():
        for strip in view.strips_of(bed, demo.in_force, demo.now):
            assert "mL/h" in strip.words or "rate not known" in strip.words
        balance = view.Balance(bed, demo.in_force, demo.now)
        for n in range(min(20, len(balance))):
            drainage = balance[n].cells[view.COLUMNS.index("drainage")]
            assert not drainage or "mL/h" in drainage or "rate not known" in drainage


def test_the_table_tells_the_rows_newest_first(demo) -> None:
    bed = demo.beds()[0]
    balance = view.Balance(bed, demo.in_force, demo.now)
    assert len(balance) == len(bed.ledger.rows)
    assert balance[0].end == bed.ledger.rows[-1].end
    closed = next(n for n in range(len(balance)) if balance[n].state == "closed")
    row = bed.ledger.rows[len(balance) - 1 - closed]
    cells = dict(zip(view.COLUMNS, balance[closed].cells, strict=True))
    assert cells["net"].replace("−", "-").replace(",", "").lstrip("+") == str(row.net_ml)
    assert balance.place_of(row.end.timestamp()) == closed


def test_fourteen_days_of_quarter_hour_checks_stay_quick(desk, clock, qtbot) -> None:
    import time

    from tests.screens.conftest import begun, visit

    start = clock.now() - timedelta(days=14)
    events = begun("long", start)
    left = 3000.0
    for n in range(1, 14 * 96):
        at = start + timedelta(minutes=15 * n)
        left -= 25
        if left < 100:
            left = 100.0
        events += visit("long", at, left, min(3900.0, 27.0 * (n % 140)))
    desk.journal.append([event.model_copy(update={"id": desk.new_id()}) for event in events])
    desk.tick(clock.now())
    window = open_quietly(desk)
    qtbot.addWidget(window)
    window.show()
    window.pulse.beat()
    window.open_bed("long")
    QApplication.processEvents()
    clock.move(minutes=1)
    began = time.perf_counter()
    window.pulse.beat()
    # a minute later nothing is drawn anew; 0.25 s is far above what that takes on a slow core, far below a full redraw
    assert time.perf_counter() - began < 0.25
    window.close()


def test_a_bed_that_could_not_be_reckoned_shows_no_figures(window, desk, one_bed) -> None:
    desk._broken[one_bed] = "ABC123"
    desk._beds.clear()
    window.open_bed(one_bed)
    assert window.bedside.banner.isVisible()
    assert "ABC123" in window.bedside.banner.second.toolTip()
    assert window.bedside.cards.card("hold") is None


def test_pictures_are_made_without_a_display(demo, tmp_path) -> None:
    from PySide6.QtGui import QImage

    from cbi_monitor.screens.main_window import render

    paths = render(demo, tmp_path)
    assert [path.name for path in paths] == [
        "board-light.png",
        "bedside-light.png",
        "board-dark.png",
        "bedside-dark.png",
    ]
    pictures = [QImage(str(path)) for path in paths]
    assert all((picture.width(), picture.height()) == (1280, 760) for picture in pictures)
    assert pictures[0].pixelColor(2, 2) != pictures[2].pixelColor(2, 2)
    assert not list(tmp_path.glob("*.part*"))
