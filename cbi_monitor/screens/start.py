"""The start of the windows: the event loop, the steps through the stays between its turns, a fault said in a box."""

from __future__ import annotations

import signal

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QMessageBox

from cbi_monitor.screens.main_window import MainWindow, application, open_window
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.outcomes import NotWatching

PIECE_SECONDS = 0.02
"""So long a piece of stepping may hold the event loop."""


def run(desk: Desk, before: NotWatching | None = None) -> int:
    """Open the window of a started desk and stay until it is closed. Ctrl-C in the terminal closes it too."""
    window = open_window(desk, before)
    settling = settle_in_pieces(desk, window)
    signal.signal(signal.SIGINT, lambda *_: window.close())
    signal.signal(signal.SIGTERM, lambda *_: window.close())
    status = application().exec()
    settling.stop()
    return status


def settle_in_pieces(desk: Desk, window: MainWindow) -> QTimer:
    """Step through the beds' stays between turns of the event loop, until all are done."""
    timer = QTimer(window)
    timer.setInterval(0)

    def piece() -> None:
        if desk.settle(PIECE_SECONDS):
            timer.stop()

    timer.timeout.connect(piece)
    if not desk.settled:
        timer.start()
    return timer


def say_fault(text: str) -> None:
    """Tell in a window of its own why there is no other."""
    app = application()
    box = QMessageBox(QMessageBox.Icon.Critical, "cbi_monitor", text)
    box.finished.connect(app.quit)
    box.open()
    app.exec()
