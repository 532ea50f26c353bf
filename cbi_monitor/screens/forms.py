"""Forms of Qt Designer: loaded at run time with our own fields, and given their sentences from the catalogue.

A form holds no sentence. A widget with the dynamic property ``say`` gets that sentence as its text, ``says_name`` as its
accessible name, ``says_hint`` as its tool tip.
"""

from __future__ import annotations

from PySide6.QtCore import QFile, QIODevice
from PySide6.QtUiTools import QUiLoader
from PySide6.QtWidgets import QDialog, QLayout, QVBoxLayout, QWidget

from cbi_monitor import resources
from cbi_monitor.screens.fields import FIELDS
from cbi_monitor.wording import say


class FormFault(RuntimeError):
    """A form could not be loaded: the installation is not whole."""


def load(name: str, parent: QWidget) -> QWidget:
    """The form of that name, inside ``parent``. Raises FileNotFoundError or FormFault."""
    path = resources.form(name)
    loader = QUiLoader()
    for kind in FIELDS:
        loader.registerCustomWidget(kind)
    file = QFile(str(path))
    if not file.open(QIODevice.OpenModeFlag.ReadOnly):
        raise FormFault(f"{path}: {file.errorString()}")
    try:
        made = loader.load(file, parent)
    finally:
        file.close()
    if made is None:
        raise FormFault(f"{path}: {loader.errorString()}")
    speak(made)
    return made


def fill(name: str, host: QWidget) -> QWidget:
    """The form as the only content of ``host``; returns it."""
    made = load(name, host)
    layout: QLayout | None = host.layout()
    if layout is None:
        layout = QVBoxLayout(host)
        edge = 16 if isinstance(host, QDialog) else 0
        layout.setContentsMargins(edge, edge * 3 // 4, edge, edge * 3 // 4)
    layout.addWidget(made)
    return made


def speak(root: QWidget) -> None:
    """Give every widget of a form its sentences."""
    for widget in (root, *root.findChildren(QWidget)):
        key = widget.property("say")
        if key:
            widget.setText(say(str(key)))  # type: ignore[attr-defined]
        key = widget.property("says_name")
        if key:
            widget.setAccessibleName(say(str(key)))
        key = widget.property("says_hint")
        if key:
            widget.setToolTip(say(str(key)))
