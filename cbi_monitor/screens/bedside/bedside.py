"""The bedside chart of one bed: head, alert, curves, figures, slip, rows."""

from __future__ import annotations

from datetime import datetime, timedelta

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QSizePolicy,
    QTabWidget,
    QVBoxLayout,
    QWidget,
)

from cbi_monitor.exports.borders import shift_at
from cbi_monitor.screens import look, says
from cbi_monitor.screens.bedside import view as seen
from cbi_monitor.screens.bedside.cards import Cards
from cbi_monitor.screens.bedside.curves import Chart
from cbi_monitor.screens.bedside.tables import Entries, Rows, StruckText, Table
from cbi_monitor.screens.bedside.tracks import Tracks
from cbi_monitor.screens.board.lanes import answer_words, short_words, spoken_for
from cbi_monitor.screens.board.view import MARKS
from cbi_monitor.screens.slips.check import CheckSlip
from cbi_monitor.screens.slips.slip import Nurse, Slip
from cbi_monitor.screens.slips.small import SLIPS
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.telling import Words
from cbi_monitor.wording import say

SPANS = ("six", "shift", "day", "all")


class Elided(QLabel):
    """A line of text that ends in dots where it does not fit; the whole of it is in the tool tip."""

    def __init__(self, part: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("part", part)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Preferred)
        self._whole = ""

    def say(self, text: str) -> None:
        """Show this."""
        self._whole = text
        self.setToolTip(text)
        self.setAccessibleName(text)
        self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        room = max(20, self.width() - self.contentsMargins().left() - self.contentsMargins().right() - 2)
        self.setText(self.fontMetrics().elidedText(self._whole, Qt.TextElideMode.ElideRight, room))


class Banner(QFrame):
    """The worst alert: mark, first words, evidence; the others named under it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 5, 12, 5)
        column.setSpacing(1)
        self.first, self.second = Elided("banner"), Elided("banner")
        column.addWidget(self.first)
        column.addWidget(self.second)

    def show_alert(self, bed: Bed, words: Words, now: datetime) -> None:
        """The worst that stands; hidden where none does."""
        standing = spoken_for(bed)
        self.setVisible(bool(standing) or bool(bed.fault))
        theme = look.theme()
        if bed.fault:
            self._paint(theme.high, theme.on_high, theme.high)
            self.first.say(say("board-fault"))
            self.second.say(say("board-fault-line", reference=bed.fault))
            return
        if not standing:
            self.first.say("")
            self.second.say("")
            return
        state = standing[0]
        fill = {"high": theme.high, "medium": theme.medium, "low": theme.panel}[state.priority]
        ink = {"high": theme.on_high, "medium": theme.on_medium, "low": theme.ink}[state.priority]
        self._paint(fill, ink, {"low": theme.low}.get(state.priority, fill))
        self.first.say(f"{MARKS[state.priority]}  {words.first_act(state.reading)}")
        zone = words.zone
        parts = [words.says(state.reading), answer_words(state, zone, now)]
        others = [f"{MARKS[other.priority]} {short_words(other, words)}" for other in standing[1:]]
        if others:
            parts.append(say("bedside-also", what=", ".join(others)))
        self.second.say(says.joined(*parts))
        self.setAccessibleName(
            f"{say('screens-priority-' + state.priority)}: {self.first.toolTip()} {self.second.toolTip()}"
        )

    def _paint(self, fill: str, ink: str, edge: str) -> None:
        wanted = (
            f"Banner {{ background: {fill}; border: 2px solid {edge}; border-radius: {look.RADIUS_SMALL}px; }}"
            f" QLabel {{ color: {ink}; }}"
        )
        if self.styleSheet() != wanted:
            self.setStyleSheet(wanted)
            self.first.setStyleSheet(f"font-size: {look.px(16)}px; font-weight: bold; color: {ink};")
            self.second.setStyleSheet(f"font-size: {look.px(look.SMALL)}px; color: {ink};")


class Bedside(QWidget):
    """One bed. The window hands it the desk once and a session whenever a bed is opened."""

    saved = Signal(str)
    left = Signal()
    act = Signal(str)
    entry_opened = Signal(object)
    finding_opened = Signal(str)
    faulted = Signal(object)
    asks_name = Signal()

    def __init__(self, desk: Desk, nurse: Nurse, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.desk, self.nurse = desk, nurse
        self.session = ""
        self.span = "all"
        self.slip: Slip | None = None
        self._checks: dict[str, CheckSlip] = {}
        self._drawn: tuple[object, ...] = ()
        self._known: dict[str, tuple[object, ...]] = {}
        self.setProperty("part", "page")
        self.setAccessibleName(say("bedside-name"))
        self._build()

    # --- building -----------------------------------------------------------------------------------------------

    def _build(self) -> None:
        outer = QVBoxLayout(self)
        outer.setContentsMargins(16, 8, 16, 6)
        outer.setSpacing(6)
        outer.addLayout(self._build_head())
        self.banner = Banner()
        self.going = self._button("act-going", "going")
        self.seen_button = self._button("act-seen", "seen")
        line = QHBoxLayout()
        line.setSpacing(8)
        line.addWidget(self.banner, 1)
        line.addWidget(self.going)
        line.addWidget(self.seen_button)
        outer.addLayout(line)
        middle = QHBoxLayout()
        middle.setSpacing(8)
        middle.addWidget(self._build_chart(), 1)
        self.cards = Cards()
        self.cards.setFixedWidth(look.px(318))
        self.cards.setAccessibleName(say("bedside-cards-name"))
        middle.addWidget(self.cards)
        outer.addLayout(middle, 5)
        self.slip_place = QVBoxLayout()
        outer.addLayout(self.slip_place)
        outer.addWidget(self._build_tables(), 2)
        outer.addLayout(self._build_foot())

    def _build_head(self) -> QHBoxLayout:
        head = QHBoxLayout()
        head.setSpacing(12)
        self.bed = QLabel()
        self.bed.setProperty("part", "bed")
        self.bed.setTextFormat(Qt.TextFormat.PlainText)
        self.facts = Elided("soft")
        self.missing = self._button("act-details", "details")
        self.others = QLabel()
        self.others.setProperty("part", "nil")
        self.others.setVisible(False)
        self.clock = QLabel()
        self.clock.setProperty("part", "soft")
        for widget in (self.bed,):
            head.addWidget(widget)
        head.addWidget(self.facts, 1)
        head.addWidget(self.missing)
        head.addWidget(self.others)
        head.addWidget(self.clock)
        return head

    def _build_chart(self) -> QFrame:
        panel = QFrame()
        panel.setProperty("part", "panel")
        column = QVBoxLayout(panel)
        column.setContentsMargins(8, 4, 4, 4)
        column.setSpacing(0)
        line = QHBoxLayout()
        line.setSpacing(4)
        self.read_out = Elided("small")
        line.addWidget(self.read_out, 1)
        # Not a button group: of a group Tab would reach one button only.
        self.spans: dict[str, QPushButton] = {}
        for name in SPANS:
            button = QPushButton(say(f"bedside-span-{name}"))
            button.setAccessibleName(say(f"bedside-span-{name}-name"))
            button.setCheckable(True)
            button.setChecked(name == self.span)
            button.clicked.connect(lambda _=False, name=name: self.show_span(name))
            self.spans[name] = button
            line.addWidget(button)
        column.addLayout(line)
        self.chart = Chart()
        self.tracks = Tracks()
        self.chart.moved.connect(self.tracks.show_ends)
        for part in (self.chart, self.tracks):
            part.read.connect(self._read)
        self.chart.chosen.connect(self._to_row)
        column.addWidget(self.chart, 1)
        column.addWidget(self.tracks)
        return panel

    def _build_tables(self) -> QTabWidget:
        self.tabs = QTabWidget()
        self.tabs.setAccessibleName(say("bedside-tables-name"))
        self.rows, self.entries = Rows(self), Entries(self)
        self.row_table = Table(say("bedside-rows-name"))
        self.row_table.setModel(self.rows)
        self.row_table.fit((82, 88, 72, 68, 122, 122, 96, 250, 0))
        self.entry_table = Table(say("bedside-entries-name"))
        self.entry_table.setModel(self.entries)
        self.entry_table.fit((86, 150, 430, 64, 0))
        self.entry_table.setItemDelegateForColumn(2, StruckText(self))
        self.entry_table.opened.connect(lambda row: self.entry_opened.emit(self.entries.lines[row]))
        self.questions = QListWidget()
        self.questions.setAccessibleName(say("bedside-questions-name"))
        self.questions.itemActivated.connect(
            lambda item: self.finding_opened.emit(str(item.data(Qt.ItemDataRole.UserRole)))
        )
        for table, name in (
            (self.row_table, "rows"),
            (self.entry_table, "entries"),
            (self.questions, "questions"),
        ):
            self.tabs.addTab(table, say(f"bedside-tab-{name}"))
        self.tabs.currentChanged.connect(lambda _: self._show_entries())
        caution = QLabel(say("caution-short"))
        caution.setProperty("part", "small")
        caution.setToolTip(say("caution-aid"))
        self.tabs.setCornerWidget(caution, Qt.Corner.TopRightCorner)
        self.tabs.setMinimumHeight(look.px(112))
        return self.tabs

    def _build_foot(self) -> QHBoxLayout:
        foot = QHBoxLayout()
        foot.setSpacing(4)
        self.acts: dict[str, QPushButton] = {}
        for name in (
            "check",
            "not-draining",
            "stop",
            "look",
            "bag",
            "emptied",
            "washout",
            "scan",
            "patient",
            "report",
        ):
            button = self._button(f"act-{name}", name)
            if name in ("not-draining", "stop"):
                button.setProperty("part", "stop")
            button.setStyleSheet(f"font-size: {look.px(look.SMALL)}px; padding: 1px 7px;")
            self.acts[name] = button
            foot.addWidget(button)
        foot.addStretch(1)
        return foot

    def _button(self, key: str, act: str) -> QPushButton:
        button = QPushButton(say(key))
        button.setAccessibleName(say(key))
        button.clicked.connect(lambda: self.act.emit(act))
        return button

    # --- showing ------------------------------------------------------------------------------------------------

    def open_bed(self, session: str) -> None:
        """Show another bed. What was typed for a bed stays with that bed until it is saved."""
        self.session = session
        self._drawn = ()
        self.refresh(self.desk.now)
        self.show_slip("check")

    def show_clock(self, words: str) -> None:
        """The clock, to the second, and who charts."""
        self.clock.setText(words)

    def show_others(self, counts: dict[str, int]) -> None:
        """How many alerts stand at the other beds: nobody at one bed may miss another."""
        shown = [name for name in ("high", "medium") if counts.get(name)]
        words = "  ".join(say("board-count", mark=MARKS[name], n=counts[name]) for name in shown)
        look.set_part(self.others, shown[0] if shown else "nil")
        self.others.setText(say("bedside-others", what=words))
        self.others.setAccessibleName(self.others.text())
        self.others.setVisible(bool(shown))

    def refresh(self, now: datetime) -> None:
        """Everything that the chart tells, as of now."""
        if not self.session:
            return
        desk = self.desk
        bed, in_force = desk.bed(self.session), desk.in_force
        words = Words(in_force.zone, in_force.scale)
        self.bed.setText(say("bedside-bed", bed=bed.label))
        self.facts.say(seen.head_words(bed))
        missing = len(still_to_ask(bed))
        self.missing.setVisible(missing > 0)
        self.missing.setText(say("bedside-still-to-ask", n=missing))
        self.missing.setAccessibleName(self.missing.text())
        self.banner.show_alert(bed, words, now)
        standing = bool(spoken_for(bed))
        self.going.setVisible(standing)
        self.seen_button.setVisible(standing)
        self.cards.show_cards(() if bed.fault else seen.cards_of(bed, in_force, now))
        self.acts["stop"].setText(say("act-stop") if bed.standing.inflow_on else say("act-start"))
        self.acts["stop"].setAccessibleName(self.acts["stop"].text())
        self._draw(bed, now)
        if self._changed(bed, "rows"):
            self.rows.show_rows(seen.Balance(bed, in_force, now))  # type: ignore[arg-type]
            self._questions(bed, words)
        self._show_entries()
        self._ask_anew()

    def _ask_anew(self) -> None:
        """An untouched check shows the newest values as its ghosts, also after another entry or a correction."""
        old = self.slip
        if not isinstance(old, CheckSlip) or old.session != self.session or not self._outdated(old):
            return
        words, part = old.message.text(), old.message.property("part")
        slip = self.show_slip("check", focus=old.isAncestorOf(self.focusWidget() or self))
        if words and part != "preview":
            slip.tell(words, part)

    def _outdated(self, slip: CheckSlip) -> bool:
        """Nothing is typed on it, and something was charted since it was laid out."""
        untouched = not slip.has_text and not slip.when.text()
        return untouched and slip.known != len(self.desk.watch(slip.session).by_id)

    def _changed(self, bed: Bed, what: str) -> bool:
        """Whether anything was charted at this bed since ``what`` was last drawn; counts as drawn from now on."""
        state = (self.session, len(self.desk.watch(self.session).by_id), look.theme(), look.scale())
        if self._known.get(what) == state:
            return False
        self._known[what] = state
        return True

    def _show_entries(self) -> None:
        """The entries are put in order only while they are looked at."""
        if not self.session or self.tabs.currentWidget() is not self.entry_table:
            return
        bed = self.desk.bed(self.session)
        if self._changed(bed, "entries"):
            self.entries.show_entries(seen.entry_lines(bed, self.desk.in_force, self.desk.now))

    def _questions(self, bed: Bed, words: Words) -> None:
        asked = [finding for finding in bed.ledger.findings if finding.asks and finding.answer is None]
        ids = [finding.id for finding in asked]
        shown = [self.questions.item(n).data(Qt.ItemDataRole.UserRole) for n in range(self.questions.count())]
        if ids != shown:
            self.questions.clear()
            for finding in asked:
                item = QListWidgetItem(words.finding(finding))
                item.setData(Qt.ItemDataRole.UserRole, finding.id)
                self.questions.addItem(item)
        self.tabs.setTabText(
            2, say("bedside-tab-questions-n", n=len(asked)) if asked else say("bedside-tab-questions")
        )

    def _draw(self, bed: Bed, now: datetime) -> None:
        """The curves are drawn anew when something was charted; a minute later only the time axis moves on."""
        first, last = self._ends(bed, now)
        ends = (first.timestamp(), last.timestamp())
        self.tracks.now = now.timestamp()
        state = (
            self.session,
            len(self.desk.watch(self.session).by_id),
            self.span,
            look.theme(),
            look.scale(),
        )
        if state == self._drawn:
            self.chart.move_on(now, ends)
            return
        self._drawn = state
        since = None if self.span == "all" else first
        curves = seen.curves_of(bed.ledger.rows, since)
        self.chart.draw_curves(curves, self.desk.in_force.zone, now, ends)
        limits = self.desk.in_force.thresholds.retention
        self.tracks.show_tracks(
            curves, seen.strips_of(bed, self.desk.in_force, now), seen.chart_marks(bed, self.desk.in_force),
            (limits.medium_behind_ml, limits.high_behind_ml),
        )  # fmt: skip
        self.tracks.show_ends(*ends)
        self._read(None)

    def _ends(self, bed: Bed, now: datetime) -> tuple[datetime, datetime]:
        opened = bed.opened_at or now - timedelta(hours=1)
        if self.span == "six":
            first = now - timedelta(hours=6)
        elif self.span == "day":
            first = now - timedelta(hours=24)
        elif self.span == "shift":
            first = shift_at(self.desk.in_force.ward, now).start
        else:
            first = opened
        first = max(first, opened) if self.span != "all" else first
        first = min(first, now - timedelta(minutes=30))
        return first, now + (now - first) * 0.02

    def show_span(self, name: str) -> None:
        """6 h, the shift, 24 h, all."""
        self.span = name
        for span, button in self.spans.items():
            button.setChecked(span == name)
        self._draw(self.desk.bed(self.session), self.desk.now)

    def _read(self, words: object) -> None:
        if isinstance(words, str):
            self.read_out.say(words)
        elif self.chart.curves.times:
            self.read_out.say(self.chart.read_out(len(self.chart.curves.times) - 1))
        else:
            self.read_out.say(say("bedside-no-rows"))

    def _to_row(self, at: float) -> None:
        lines = self.rows.lines
        place = lines.place_of(at) if isinstance(lines, seen.Balance) else None
        if place is not None:
            self.tabs.setCurrentWidget(self.row_table)
            self.row_table.selectRow(place)
            self.row_table.scrollTo(self.rows.index(place, 0))

    # --- slips --------------------------------------------------------------------------------------------------

    def show_slip(self, kind: str, *, focus: bool = True) -> Slip:
        """Put a slip under the chart. A check that was begun is the one that was left, with its text."""
        old = self.slip
        if kind == "check":
            begun = self._checks.get(self.session)
            if begun is None or self._outdated(begun):
                if begun is not None and begun is not old:
                    begun.deleteLater()
                begun = CheckSlip(self.desk, self.session, self.nurse)
                begun.known = len(self.desk.watch(self.session).by_id)
                self._wire(begun)
            self._checks[self.session] = begun
            slip: Slip = begun
        else:
            slip = self._wire(SLIPS[kind](self.desk, self.session, self.nurse))
        if old is not slip:
            if old is not None:
                self.slip_place.removeWidget(old)
                old.setParent(None)
                if old not in self._checks.values():
                    old.deleteLater()
            self.slip_place.addWidget(slip)
            slip.show()
            self.slip = slip
            slip.preview()
        if focus:
            slip.focus_first()
        return slip

    def _wire(self, slip: Slip) -> Slip:
        slip.saved.connect(lambda words, slip=slip: self._saved(slip, words))
        slip.left.connect(lambda slip=slip: self._leave(slip))
        slip.faulted.connect(self.faulted)
        slip.asks_name.connect(self.asks_name)
        slip.asks_bed.connect(lambda session, slip=slip: self._to_bed(slip, session))
        return slip

    def _saved(self, slip: Slip, words: str) -> None:
        for session, one in list(self._checks.items()):
            if one is slip:
                del self._checks[session]
        if self.slip is slip:
            self.refresh(self.desk.now)
            self.show_slip("check")
            if self.slip is not None:
                self.slip.tell(words, "saved")
        self.saved.emit(words)

    def _leave(self, slip: Slip) -> None:
        if isinstance(slip, CheckSlip):
            self.left.emit()
        else:
            self.show_slip("check")

    def _to_bed(self, slip: Slip, session: str) -> None:
        if not isinstance(slip, CheckSlip):
            return
        self._checks.pop(self.session, None)
        slip.move_to(session)
        self._checks[session] = slip
        self.session = session
        self._drawn = ()
        self.refresh(self.desk.now)


ASKED: tuple[str, ...] = (
    "weight_kg", "age_years", "sex", "operation", "operation_ended", "from_place", "allergies", "kidney", "heart_failure",
    "can_say_pain", "blood_thinners",
)  # fmt: skip


def still_to_ask(bed: Bed) -> list[str]:
    """What the opening left out and nobody has said since: details, catheter, order."""
    facts = bed.ledger.facts
    missing = [name for name in ASKED if facts.details.get(name) is None]
    if facts.catheter is None and facts.catheter_removed is None:
        missing.append("catheter")
    if not facts.order:
        missing.append("order")
    return missing
