"""The one design language: colours, spacing, type, and how they become a Qt palette and stylesheet.

Contrast on the panel colour is at least 4.5 for text and 3 for marks (a test reckons it by WCAG 2.2, 1.4.3 and 1.4.11).
Red belongs to alerts. Effluent is red too, so it only ever stands in a tube-shaped swatch beside its word.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication, QWidget


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours as ``#rrggbb``. ``on_high`` is the ink on a high chip, and so on."""

    name: str
    page: str
    panel: str
    line: str
    lane: str
    ink: str
    soft: str
    irrigant: str
    effluent: str
    net: str
    doubt: str
    over: str
    high: str
    medium: str
    low: str
    on_high: str
    on_medium: str
    field: str
    late: str
    select: str
    demo: bool = False


LIGHT = Theme(
    name="light", page="#f4f5f2", panel="#ffffff", line="#d3d7d0", lane="#eef1ec", ink="#1c2421", soft="#56625c",
    irrigant="#2f7f86", effluent="#7a5a9e", net="#3b6b35", doubt="#cfe0c8", over="#f4c9c4",
    high="#b3261e", medium="#f2c200", low="#2aa5b8", on_high="#ffffff", on_medium="#1c2421",
    field="#f7f8f6", late="#b3261e", select="#dfe9e4",
)  # fmt: skip
DARK = Theme(
    name="dark", page="#121614", panel="#1b211e", line="#36403b", lane="#222a26", ink="#e9eee9", soft="#a4b1aa",
    irrigant="#6cc3c9", effluent="#b79ad9", net="#8fca85", doubt="#2f4630", over="#5e2b27",
    high="#ff8a80", medium="#ffd54a", low="#6fd6e6", on_high="#1c1210", on_medium="#1c1a10",
    field="#141917", late="#ff8a80", select="#2a352f",
)  # fmt: skip
# Practice must never be taken for the ward: the page itself has another colour there.
LIGHT_DEMO = replace(LIGHT, page="#e8e1f5", demo=True)
DARK_DEMO = replace(DARK, page="#1f1736", demo=True)

GAP_1, GAP_2, GAP_3, GAP_4, GAP_5 = 4, 8, 12, 16, 24
SMALL, TEXT, STRONG, TITLE, LARGE, HUGE = 12, 14, 17, 20, 24, 30
RADIUS_SMALL, RADIUS = 4, 8
TOUCH = 32
FAMILY = "DejaVu Sans"
"""What a bare Linux has; its figures all have one width."""


class _InForce:
    theme: Theme = LIGHT
    scale: float = 1.0


def theme() -> Theme:
    """The colours in force, like Qt's own palette one for the whole program."""
    return _InForce.theme


def scale() -> float:
    """The type scale in force: 1.0 to 2.0."""
    return _InForce.scale


def px(points: float) -> int:
    """A length or type size at the scale in force, in device-independent pixels."""
    return round(points * _InForce.scale)


def colour(text: str, alpha: int = 255) -> QColor:
    """A colour of the theme as Qt's, 0 to 255 opaque."""
    made = QColor(text)
    made.setAlpha(alpha)
    return made


def font(size: float = TEXT, *, bold: bool = False, by: float | None = None, struck: bool = False) -> QFont:
    """The one typeface at a size of the type scale; ``by`` replaces the scale in force."""
    made = QFont(FAMILY)
    made.setPixelSize(max(8, round(size * (_InForce.scale if by is None else by))))
    made.setBold(bold)
    made.setStrikeOut(struck)
    return made


def system_is_dark() -> bool:
    """What the desktop asks for; light where it says nothing."""
    hints = QGuiApplication.styleHints()
    return hints is not None and hints.colorScheme() == Qt.ColorScheme.Dark


def pick(dark: bool, demo: bool) -> Theme:
    """The theme for light or dark, ward or demo."""
    if demo:
        return DARK_DEMO if dark else LIGHT_DEMO
    return DARK if dark else LIGHT


def put_on(app: QApplication, chosen: Theme, size: float | None = None) -> None:
    """Make a theme (and a type scale, 1.0 to 2.0) stand everywhere."""
    _InForce.theme = chosen
    if size is not None:
        _InForce.scale = min(2.0, max(1.0, size))
    if FAMILY not in QFontDatabase.families():
        # Another sans stands in; nothing else depends on the family's name.
        app.setFont(_stand_in())
    else:
        app.setFont(font())
    app.setPalette(palette(chosen))
    app.setStyleSheet(stylesheet(chosen))


def _stand_in() -> QFont:
    made = QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont)
    made.setPixelSize(px(TEXT))
    return made


def palette(of: Theme) -> QPalette:
    """Qt's palette of a theme."""
    made = QPalette()
    role = QPalette.ColorRole
    for name, value in (
        (role.Window, of.page), (role.WindowText, of.ink), (role.Base, of.panel), (role.AlternateBase, of.lane),
        (role.Text, of.ink), (role.Button, of.panel), (role.ButtonText, of.ink), (role.PlaceholderText, of.soft),
        (role.Highlight, of.select), (role.HighlightedText, of.ink), (role.ToolTipBase, of.panel),
        (role.ToolTipText, of.ink), (role.Link, of.irrigant), (role.Mid, of.line), (role.Light, of.panel),
        (role.Dark, of.line), (role.BrightText, of.high),
    ):  # fmt: skip
        made.setColor(name, QColor(value))
    made.setColor(QPalette.ColorGroup.Disabled, role.Text, QColor(of.soft))
    made.setColor(QPalette.ColorGroup.Disabled, role.ButtonText, QColor(of.soft))
    return made


def stylesheet(of: Theme) -> str:
    """Qt's stylesheet of a theme. Widgets say their part by the dynamic property ``part``."""
    return f"""
    QWidget {{ color: {of.ink}; }}
    QMainWindow, QDialog, QWidget[part="page"] {{ background: {of.page}; }}
    QToolTip {{ background: {of.panel}; color: {of.ink}; border: 1px solid {of.line}; padding: 4px; }}
    QFrame[part="panel"] {{ background: {of.panel}; border: 1px solid {of.line}; border-radius: {RADIUS}px; }}
    QFrame[part="slip"] {{ background: {of.panel}; border: 2px solid {of.ink}; border-radius: {RADIUS}px; }}
    QFrame[part="line"] {{ background: {of.line}; border: none; }}
    QLabel[part="soft"], QCheckBox[part="soft"] {{ color: {of.soft}; }}
    QLabel[part="small"] {{ color: {of.soft}; font-size: {px(SMALL)}px; }}
    QLabel[part="value"] {{ font-size: {px(STRONG)}px; font-weight: bold; }}
    QLabel[part="title"] {{ font-size: {px(STRONG)}px; font-weight: bold; }}
    QLabel[part="ward"] {{ font-size: {px(TITLE)}px; font-weight: bold; }}
    QLabel[part="clock"] {{ font-size: {px(TITLE)}px; color: {of.soft}; }}
    QLabel[part="bed"] {{ font-size: {px(LARGE)}px; font-weight: bold; }}
    QLabel[part="strong"] {{ font-weight: bold; }}
    QLabel[part="error"] {{ color: {of.late}; font-weight: bold; font-size: {px(SMALL)}px; }}
    QLabel#message {{ padding: 4px 8px; border-radius: {RADIUS_SMALL}px; }}
    QLabel[part="preview"] {{ background: {of.lane}; border-radius: {RADIUS_SMALL}px; padding: 4px 8px; }}
    QLabel[part="question"] {{ background: {of.medium}; color: {of.on_medium}; border-radius: {RADIUS_SMALL}px;
        padding: 4px 8px; font-weight: bold; }}
    QLabel[part="fault"] {{ background: {of.high}; color: {of.on_high}; border-radius: {RADIUS_SMALL}px;
        padding: 8px; font-weight: bold; font-size: {px(STRONG)}px; }}
    QLabel[part="saved"] {{ color: {of.net}; font-weight: bold; }}
    QLabel[part="high"] {{ background: {of.high}; color: {of.on_high}; border-radius: {RADIUS_SMALL}px;
        padding: 4px 8px; font-weight: bold; border: 2px solid {of.high}; }}
    QLabel[part="medium"] {{ background: {of.medium}; color: {of.on_medium}; border-radius: {RADIUS_SMALL}px;
        padding: 4px 8px; font-weight: bold; border: 2px solid {of.medium}; }}
    QLabel[part="low"] {{ background: transparent; color: {of.ink}; border-radius: {RADIUS_SMALL}px;
        padding: 4px 8px; font-weight: bold; border: 2px solid {of.low}; }}
    QLabel[part="nil"] {{ color: {of.soft}; border: 2px solid {of.line}; border-radius: {RADIUS_SMALL}px;
        padding: 4px 8px; }}
    QLineEdit, QPlainTextEdit, QComboBox {{ background: {of.field}; color: {of.ink}; border: 2px solid {of.line};
        border-radius: {RADIUS_SMALL}px; padding: 2px 6px; min-height: {px(TOUCH - 8)}px;
        selection-background-color: {of.irrigant}; selection-color: {of.panel}; }}
    QPlainTextEdit {{ min-height: {px(TOUCH)}px; }}
    QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus {{ border: 2px solid {of.ink}; background: {of.panel}; }}
    QLineEdit[wrong="true"] {{ border: 2px solid {of.high}; }}
    QPushButton, QToolButton {{ background: {of.panel}; color: {of.ink}; border: 2px solid {of.line};
        border-radius: {RADIUS_SMALL}px; padding: 2px 10px; min-height: {px(TOUCH - 8)}px; }}
    QPushButton:hover, QToolButton:hover {{ background: {of.lane}; }}
    QPushButton:focus, QToolButton:focus {{ border: 2px solid {of.ink}; }}
    QPushButton:checked, QToolButton:checked {{ background: {of.select}; border: 2px solid {of.irrigant}; }}
    QPushButton:checked:focus {{ border: 2px solid {of.ink}; }}
    QPushButton:disabled {{ color: {of.soft}; }}
    QPushButton[part="main"] {{ background: {of.ink}; color: {of.panel}; font-weight: bold; border: 2px solid {of.ink}; }}
    QPushButton[part="main"]:focus {{ border: 2px solid {of.irrigant}; }}
    QPushButton[part="stop"] {{ border: 2px solid {of.high}; font-weight: bold; }}
    QPushButton[part="stop"]:focus {{ border: 2px solid {of.ink}; }}
    QPushButton[part="quiet"] {{ background: transparent; border: 2px solid transparent; text-align: left;
        padding: 2px 4px; }}
    QPushButton[part="quiet"]:focus {{ border: 2px solid {of.ink}; }}
    QTableView, QListWidget {{ background: {of.panel}; color: {of.ink}; border: 1px solid {of.line};
        border-radius: {RADIUS_SMALL}px; gridline-color: {of.line}; selection-background-color: {of.select};
        selection-color: {of.ink}; outline: none; }}
    QTableView:focus, QListWidget:focus {{ border: 2px solid {of.ink}; }}
    QTableView::item:selected {{ background: {of.select}; color: {of.ink}; }}
    QHeaderView {{ background: {of.panel}; border: none; }}
    QHeaderView::section {{ background: {of.panel}; color: {of.soft}; border: none;
        border-bottom: 1px solid {of.line}; padding: 2px 6px; font-size: {px(SMALL)}px; }}
    QTableCornerButton::section {{ background: {of.panel}; border: none; }}
    QScrollArea {{ background: transparent; border: none; }}
    QScrollArea:focus {{ border: 2px solid {of.ink}; }}
    QScrollBar:vertical {{ background: transparent; width: 12px; margin: 0; }}
    QScrollBar::handle:vertical {{ background: {of.soft}; border-radius: 5px; min-height: 32px; margin: 1px; }}
    QScrollBar:horizontal {{ background: transparent; height: 12px; margin: 0; }}
    QScrollBar::handle:horizontal {{ background: {of.soft}; border-radius: 5px; min-width: 32px; margin: 1px; }}
    QScrollBar::add-line, QScrollBar::sub-line {{ width: 0; height: 0; }}
    QTabBar::tab {{ background: transparent; color: {of.soft}; padding: 4px 12px; border: 2px solid transparent;
        border-bottom: 2px solid transparent; }}
    QTabBar::tab:selected {{ color: {of.ink}; border-bottom: 2px solid {of.irrigant}; font-weight: bold; }}
    QTabBar::tab:focus {{ border: 2px solid {of.ink}; }}
    QTabWidget::pane {{ border: none; }}
    """


def set_part(widget: QWidget, part: str) -> None:
    """Give a widget another part of the stylesheet, its new margins counted in at once."""
    if widget.property("part") == part:
        return
    widget.setProperty("part", part)
    style = widget.style()
    style.unpolish(widget)
    style.polish(widget)
    widget.updateGeometry()
    widget.update()


def _linear(channel: int) -> float:
    part = channel / 255
    return part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21 (WCAG 2.2, relative luminance)."""
    lights = []
    for text in (one, other):
        c = QColor(text)
        lights.append(0.2126 * _linear(c.red()) + 0.7152 * _linear(c.green()) + 0.0722 * _linear(c.blue()))
    lights.sort()
    return (lights[1] + 0.05) / (lights[0] + 0.05)
