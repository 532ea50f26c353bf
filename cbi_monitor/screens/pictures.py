"""Pictures of the screens as files: for a demo without a display, and for the README. Made from a real desk."""

from __future__ import annotations

import os
from pathlib import Path

from PySide6.QtCore import QCoreApplication, QEvent, Qt
from PySide6.QtGui import QGuiApplication, QPixmap
from PySide6.QtWidgets import QApplication

from cbi_monitor.screens import look
from cbi_monitor.ward.desk import Desk

SIZE = (1280, 760)


class NoPicture(OSError):
    """A picture could not be written."""


def render(desk: Desk, folder: Path, *, size: tuple[int, int] = SIZE) -> list[Path]:
    """The ward board and the bedside chart of the bed that needs someone first, light and dark, as PNG.

    Needs no display. The folder is made where it is not there; files of these names are replaced, each whole or not at
    all. Raises NoPicture. Where no session is open, the board alone.
    """
    if QApplication.instance() is None and not os.environ.get("QT_QPA_PLATFORM"):
        os.environ["QT_QPA_PLATFORM"] = "offscreen"
    from cbi_monitor.screens.main_window import MainWindow, application

    app = application()
    folder.mkdir(parents=True, exist_ok=True)
    written: list[Path] = []
    for dark in (False, True):
        look.put_on(app, look.pick(dark, desk.demo), 1.0)
        window = MainWindow(desk)
        window.setAttribute(
            Qt.WidgetAttribute.WA_DontShowOnScreen, QGuiApplication.platformName() != "offscreen"
        )
        window.resize(*size)
        window.show()
        window.pulse.beat()
        _settle(app)
        window.refresh(desk.now)
        _settle(app)
        name = "dark" if dark else "light"
        written.append(_write(window.grab(), folder / f"board-{name}.png"))
        beds = desk.beds()
        if beds:
            window.open_bed(beds[0].session)
            _settle(app)
            written.append(_write(window.grab(), folder / f"bedside-{name}.png"))
        window.end()
        window.deleteLater()
        QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    return written


def _settle(app: QApplication) -> None:
    for _ in range(4):
        app.processEvents()


def _write(picture: QPixmap, path: Path) -> Path:
    part = path.with_suffix(".part.png")
    if not picture.save(str(part), "PNG"):
        part.unlink(missing_ok=True)
        raise NoPicture(f"{path} could not be written")
    part.replace(path)
    return path
