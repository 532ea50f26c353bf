"""What a nurse does from the window: answers, stops and starts, sheets, the report."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import structlog
from PySide6.QtCore import QStandardPaths, Qt
from PySide6.QtWidgets import QFileDialog

from cbi_monitor.screens import says
from cbi_monitor.screens.board.lanes import spoken_for
from cbi_monitor.screens.overlay import Bar
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import Fault, Rejected, Saved
from cbi_monitor.wording import say

log = structlog.get_logger("cbi_monitor.screens")


class Acts:
    """The acts of the main window, kept in a room of their own; ``MainWindow`` has what they need."""

    if TYPE_CHECKING:
        desk: Desk
        nurse: str
        board: Any
        fault: Bar
        warn: Bar
        _stale: bool
        _bedside: Any

        bedside: Any

        def centralWidget(self) -> Any: ...
        def _at_bed(self) -> str | None: ...
        def show_time(self, now: Any) -> None: ...
        def refresh(self, now: Any) -> None: ...
        def show_fault(self, fault: Fault) -> None: ...
        def open_bed(self, session: str) -> None: ...

    def do(self, act: str) -> None:
        """An act by its key or button."""
        session = self._at_bed()
        if session is None:
            return
        if act in ("check", "look", "bag", "emptied", "washout", "scan", "patient", "level"):
            self.bedside.show_slip(act)
        elif act == "going":
            self._going(session)
        elif act == "seen":
            self._sheet("AlertSheet", session)
        elif act == "not-draining":
            self._not_draining(session)
        elif act == "stop":
            self._stop_or_start(session)
        elif act == "report":
            self.report(session)
        elif act == "details":
            from cbi_monitor.screens.dialogs.details import DetailsSheet

            self._open(DetailsSheet(self.desk, lambda: self.nurse or None, session, self))

    def _going(self, session: str) -> None:
        standing = spoken_for(self.desk.bed(session))
        if not standing:
            self.warn.show_words(say("bar-no-alert"))
            return
        if not self.nurse:
            self.ask_name()
            return
        outcome = self.desk.answer_alert(session, standing[0].id, "going", self.nurse)
        self._told(outcome, say("alert-answered-going", by=self.nurse))

    def _not_draining(self, session: str) -> None:
        """Charted at once, without a name where nobody is signed in; stopping is an act of its own."""
        outcome = self.desk.not_draining(session, self.nurse or None)
        self._told(outcome, say("bar-not-draining"))
        if isinstance(outcome, Saved):
            self.bedside.refresh(self.desk.now)
            self.fault.setVisible(False)
            self.warn.show_words(say("not-draining-order"))

    def _stop_or_start(self, session: str) -> None:
        if self.desk.bed(session).standing.inflow_on:
            outcome = self.desk.stop_inflow(session, self.nurse or None)
            at = says.clock(self.desk.clock.now(), self.desk.in_force.zone)
            self._told(outcome, say("bar-stopped", at=at))
        else:
            self.bedside.show_slip("start")

    def _told(self, outcome: object, words: str) -> None:
        if isinstance(outcome, Saved):
            self._stale = True
            self.refresh(self.desk.now)
            self.warn.setVisible(False)
            if self._bedside is not None and self._bedside.slip is not None:
                self._bedside.slip.tell(words, "saved")
        elif isinstance(outcome, Rejected):
            self.warn.show_words("; ".join(f"{one.what}; {one.write}" for one in outcome.refusals))
        elif isinstance(outcome, Fault):
            self.show_fault(outcome)

    # --- sheets -------------------------------------------------------------------------------------------------

    def _open(self, sheet: Any) -> Any:
        sheet.saved.connect(self._sheet_saved)
        sheet.faulted.connect(self.show_fault)
        sheet.asks_name.connect(self.ask_name)
        self.sheet = sheet
        sheet.show_it()
        return sheet

    def _sheet_saved(self, words: str) -> None:
        self._stale = True
        self.refresh(self.desk.now)
        if self._bedside is not None and self._bedside.slip is not None:
            self._bedside.slip.tell(words, "saved")

    def _sheet(self, name: str, session: str, *more: Any) -> Any:
        from cbi_monitor.screens.dialogs import answers

        return self._open(getattr(answers, name)(self.desk, lambda: self.nurse or None, session, *more, self))

    def ask_name(self) -> Any:
        """Ask who charts."""
        from cbi_monitor.screens.dialogs.answers import SignSheet

        return self._open(SignSheet(self.desk, lambda: self.nurse or None, self._sign, self))

    def _sign(self, name: str) -> None:
        self.nurse = name
        signed = say("board-signed", name=name) if name else say("board-not-signed")
        self.board.show_ward(self.desk.in_force.ward.name, signed, self.desk.in_force.zone)
        self.show_time(self.desk.clock.now())

    def open_session(self) -> Any:
        """Open a session at a bed."""
        from cbi_monitor.screens.dialogs.opening import OpeningSheet

        sheet = OpeningSheet(self.desk, lambda: self.nurse or None, self)
        sheet.opened.connect(self.open_bed)
        return self._open(sheet)

    def correct(self, line: Any) -> Any:
        """Correct or strike out an entry."""
        from cbi_monitor.screens.dialogs.correction import CorrectionSheet

        return self._open(
            CorrectionSheet(self.desk, lambda: self.nurse or None, self.bedside.session, line, self)
        )

    def answer_finding(self, finding: str) -> Any:
        """Answer a question of the chart."""
        return self._sheet("FindingSheet", self.bedside.session, finding)

    # --- the report ---------------------------------------------------------------------------------------------

    def report(self, session: str) -> None:
        """Ask for a folder, then write the report of this shift there as PDF and CSV."""
        start = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        asked = QFileDialog(self.centralWidget(), say("report-where"), start)
        asked.setFileMode(QFileDialog.FileMode.Directory)
        asked.setOption(QFileDialog.Option.ShowDirsOnly, True)
        asked.setOption(QFileDialog.Option.DontUseNativeDialog, True)
        asked.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        asked.fileSelected.connect(lambda folder: self.write_report(session, Path(folder)))
        self.sheet = asked
        asked.open()

    def write_report(self, session: str, folder: Path) -> list[Path]:
        """The report of the running shift into a folder; says where it lies, or what went wrong. Overwrites nothing."""
        from cbi_monitor.exports.borders import shift_at
        from cbi_monitor.exports.report import write_report
        from cbi_monitor.exports.safe import AlreadyThere

        desk, now = self.desk, self.desk.clock.now()
        shift = shift_at(desk.in_force.ward, now)
        try:
            paths = write_report(
                list(desk.journal.events(session)), desk.in_force.ward, desk.in_force.scale, desk.in_force.thresholds_hash,
                shift.start, shift.end, folder, ("pdf", "csv"), printed_at=now, shift=shift.name, demo=desk.demo,
            )  # fmt: skip
        except AlreadyThere as there:
            self.warn.show_words(say("report-already", path=str(there.paths[0])))
            return []
        except (OSError, ValueError) as cause:
            log.warning("no report", why=str(cause))
            self.warn.show_words(say("report-failed", why=str(cause)))
            return []
        self.warn.show_words(say("report-written", path=str(paths[0])))
        return paths
