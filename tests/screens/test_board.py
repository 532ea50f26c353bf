"""The ward board: order, stillness, marks that never overlap, words, keys."""

from __future__ import annotations

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from cbi_monitor.screens.board.lanes import lane_of, urine_line
from cbi_monitor.screens.board.row import AHEAD
from cbi_monitor.screens.board.stack import stack
from tests.screens.conftest import NOON, begun, open_quietly


@given(
    st.lists(
        st.tuples(st.floats(0, 400), st.floats(1, 120)).map(lambda pair: (pair[0], pair[0] + pair[1])),
        max_size=12,
    ),
    st.floats(0, 12),
)
def test_marks_that_would_touch_stack_and_never_overlap(spans, gap) -> None:
    storeys = stack(spans, gap)
    for i, (left, right) in enumerate(spans):
        for j, (other_left, other_right) in enumerate(spans[:i]):
            if storeys[i] == storeys[j]:
                assert left >= other_right + gap or other_left >= right + gap
        # nothing is pushed down where there is room above: some mark of each storey above stands in its way
        for storey in range(storeys[i]):
            above = [spans[j] for j in range(len(spans)) if storeys[j] == storey]
            assert any(a < right + gap and left < b + gap for a, b in above)


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


def test_beds_stand_in_order_of_need(ward, demo) -> None:
    assert ward.board.order == [bed.session for bed in demo.beds()]
    ranks = [bed.need[0] for bed in demo.beds()]
    assert ranks == sorted(ranks)


def test_a_bed_does_not_jump_while_the_board_is_in_use(ward, demo, clock) -> None:
    order = ward.board.order
    last = order[-1]
    ward.board.focus_row()
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Down)
    demo.not_draining(last, "K.M.")
    ward.pulse.beat()
    assert ward.board.order == order, "it jumped"
    clock.move(seconds=21)
    ward.pulse.beat()
    assert ward.board.order.index(last) < order.index(last)


def test_marks_painted_on_a_lane_do_not_overlap(ward) -> None:
    for session in ward.board.order:
        row = ward.board.row(session)
        boxes = []
        for mark, left, storey in row._placed():
            wide = 22 * row.by + row.fontMetrics().horizontalAdvance(mark.text)
            for other_left, other_right, other in boxes:
                assert storey != other or left >= other_right or left + wide <= other_left
            boxes.append((left, left + wide, storey))
        assert row.height() >= row.minimumSizeHint().height()


def test_arrows_walk_the_beds_and_enter_opens_one(ward, demo, qtbot) -> None:
    ward.board.focus_row()
    first, second = ward.board.order[:2]
    assert ward.board.row(first).hasFocus()
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Down)
    assert ward.board.row(second).hasFocus()
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Return)
    assert ward.pages.currentWidget() is ward.bedside
    assert ward.bedside.session == second
    QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Escape)
    assert ward.pages.currentWidget() is ward.board
    assert ward.board.row(second).hasFocus()


def test_the_clock_ticks_in_seconds(ward, clock) -> None:
    assert ward.board.clock.text() == "Wed 14:02:00"
    clock.move(seconds=1)
    ward.pulse.beat()
    assert ward.board.clock.text() == "Wed 14:02:01"


def test_every_figure_on_the_lane_has_its_as_of(ward, demo) -> None:
    for bed in demo.beds():
        lane = lane_of(bed, demo.in_force, demo.now)
        assert "at " in lane.colour_rate or "rate" in lane.colour_rate
        assert any(char.isdigit() for char in lane.colour_rate.split("·")[-1])
        if lane.hold_high is not None:
            assert lane.hold_as_of.startswith("as of ")
        assert ", " in lane.seen
        assert "draining" not in lane.seen_how


def test_while_a_high_stands_its_look_is_asked_for_now(ward, demo) -> None:
    highs = [
        bed for bed in demo.beds() if any(s.priority == "high" and s.spoken_by is None for s in bed.raised)
    ]
    assert highs, "the demo ward has no high alert to test with"
    for bed in highs:
        lane = lane_of(bed, demo.in_force, demo.now)
        look = next(mark for mark in lane.marks if mark.kind == "look")
        assert look.at == demo.now
        assert look.urgent


def test_net_urine_stands_on_the_board_only_clear_of_the_limit(demo) -> None:
    told = set()
    for bed in demo.beds():
        per_kg = bed.ledger.urine(6.0).per_kg
        clear = per_kg is not None and (per_kg.low > 0.5 or per_kg.high < 0.5)
        assert bool(urine_line(bed)) == clear, bed.label
        told.add(clear)
        lane = lane_of(bed, demo.in_force, demo.now)
        assert clear or not any("mL/kg/h" in line for line in lane.quiet)
    assert told == {True, False}, "the demo ward no longer has both"


def test_counts_and_priorities_are_told_in_words_and_marks(ward) -> None:
    assert ward.board.counts["high"].text().startswith("!!!")
    assert "high alert" in ward.board.counts["high"].accessibleName()
    for session in ward.board.order:
        name = ward.board.row(session).accessibleName()
        assert ward.board._rows[session].lane.bed in name


def test_a_row_is_repainted_only_where_something_differs(ward, clock) -> None:
    clock.move(seconds=1)
    ward.desk.tick(clock.now())
    assert ward.board.show_lanes(list(ward._lanes.values()), clock.now()) == 0


@pytest.mark.parametrize("beds", [1, 13, 40])
def test_one_to_forty_beds(beds, demo, clock, desk, qtbot) -> None:
    for n in range(beds):
        desk.save(begun(f"s{n}", NOON - timedelta(minutes=20), bed=f"{n + 1}"))
    window = open_quietly(desk)
    qtbot.addWidget(window)
    window.resize(1280, 760)
    window.show()
    window.pulse.beat()
    qtbot.wait(100)
    assert len(window.board.order) == beds
    heights = {window.board.row(session).height() for session in window.board.order}
    assert min(heights) >= 70
    window.close()


def test_an_empty_ward_says_how_to_begin(desk, qtbot) -> None:
    window = open_quietly(desk)
    qtbot.addWidget(window)
    window.show()
    window.pulse.beat()
    assert window.board.empty.isVisible()
    assert "Ctrl+N" in window.board.empty.text()
    window.close()


def test_lanes_reach_two_hours() -> None:
    assert timedelta(hours=2) == AHEAD
