"""The design language: contrast, sizes, both themes, and that red is kept for alerts."""

from __future__ import annotations

import pytest
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication

from cbi_monitor.screens import icons, look

THEMES = (look.LIGHT, look.DARK, look.LIGHT_DEMO, look.DARK_DEMO)


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: f"{t.name}{'-demo' if t.demo else ''}")
def test_text_has_contrast_of_at_least_four_and_a_half(theme) -> None:
    # WCAG 2.2, success criterion 1.4.3
    for ink in (theme.ink, theme.soft, theme.irrigant, theme.effluent, theme.net, theme.late):
        assert look.contrast(ink, theme.panel) >= 4.5
    for ink in (theme.ink, theme.soft):
        assert look.contrast(ink, theme.page) >= 4.5
        assert look.contrast(ink, theme.lane) >= 4.5
        assert look.contrast(ink, theme.field) >= 4.5
    assert look.contrast(theme.on_high, theme.high) >= 4.5
    assert look.contrast(theme.on_medium, theme.medium) >= 4.5


@pytest.mark.parametrize("theme", THEMES, ids=lambda t: f"{t.name}{'-demo' if t.demo else ''}")
def test_marks_have_contrast_of_at_least_three_where_they_stand_without_words(theme) -> None:
    # WCAG 2.2, success criterion 1.4.11; a low alert's edge in light is told by its mark and words as well
    for ink in (theme.high, theme.irrigant, theme.effluent, theme.ink, theme.net):
        assert look.contrast(ink, theme.panel) >= 3
    assert look.contrast(theme.ink, theme.over) >= 3
    assert look.contrast(theme.ink, theme.doubt) >= 3


def test_contrast_is_wcags() -> None:
    assert look.contrast("#000000", "#ffffff") == pytest.approx(21)
    # the palette's own figures, as the first sketch gives them
    assert look.contrast(look.LIGHT.soft, look.LIGHT.panel) == pytest.approx(6.4, abs=0.06)
    assert look.contrast(look.DARK.ink, look.DARK.panel) == pytest.approx(13.9, abs=0.06)


def test_every_icon_is_drawn(qapp) -> None:
    for name in icons.NAMES:
        image = QImage(24, 24, QImage.Format.Format_ARGB32)
        image.fill(QColor("white"))
        painter = QPainter(image)
        icons.draw(painter, name, 0, 0, 24, QColor("black"))
        painter.end()
        dark = sum(image.pixelColor(x, y).lightness() < 128 for x in range(24) for y in range(24))
        assert dark > 20, name


def test_icons_differ_without_colour(qapp) -> None:
    drawn = {}
    for name in icons.NAMES:
        image = QImage(48, 48, QImage.Format.Format_Grayscale8)
        image.fill(QColor("white"))
        painter = QPainter(image)
        icons.draw(painter, name, 0, 0, 48, QColor("black"))
        painter.end()
        drawn[name] = bytes(image.constBits())
    assert len(set(drawn.values())) == len(icons.NAMES)


def test_figures_all_have_one_width(qapp) -> None:
    from PySide6.QtGui import QFontMetricsF

    for bold in (False, True):
        metrics = QFontMetricsF(look.font(look.STRONG, bold=bold))
        assert len({metrics.horizontalAdvance(str(n)) for n in range(10)}) == 1


def test_light_and_dark_by_key_and_by_the_desktop(window) -> None:
    assert look.theme().name == "light"
    window.toggle_theme()
    assert look.theme().name == "dark"
    assert QApplication.palette().window().color().name() == look.DARK.page
    window.toggle_theme()
    assert look.theme().name == "light"
    window.dark = None
    window._system_theme()
    assert look.theme().name == ("dark" if look.system_is_dark() else "light")
    window.set_theme(True)
    window._system_theme()
    assert look.theme().name == "dark", "the desktop overruled the nurse"


def test_type_grows_to_double_and_no_further(window, one_bed) -> None:
    window.open_bed(one_bed)
    for _ in range(15):
        window.set_scale(look.scale() + 0.1)
    assert look.scale() == 2.0
    QApplication.processEvents()
    window.grab()
    for _ in range(15):
        window.set_scale(look.scale() - 0.1)
    assert look.scale() == 1.0
