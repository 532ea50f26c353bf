"""A picture of an alert load (SVG): alerts per patient-day by condition, stacked by priority, a bar a file."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from cbi_monitor.alerts.backtest import Load
from cbi_monitor.alerts.readings import Priority
from cbi_monitor.wording import say

_FILLS: tuple[tuple[Priority, str], ...] = (("high", "#b3261e"), ("medium", "#f2c200"), ("low", "#2aa5b8"))
_MARKS = {"high": "!!!", "medium": "!!", "low": "!"}
_INK, _SOFT, _LINE, _PAGE = "#1c2421", "#56625c", "#d3d7d0", "#ffffff"
_LEFT, _WIDTH, _BAR, _GAP, _TOP = 220, 900, 14, 12, 72


def load_picture(loads: Sequence[tuple[str, Load]]) -> str:
    """The whole SVG file."""
    names = list(dict.fromkeys(name for _, load in loads for name in load.by_condition()))
    most = max(
        (load.condition_per_patient_day(name) or 0.0 for _, load in loads for name in names), default=0.0
    )
    scale = (_WIDTH - _LEFT - 80) / most if most else 0.0
    block = _BAR * len(loads) + _GAP
    height = _TOP + block * max(1, len(names)) + 24
    size = f'width="{_WIDTH}" height="{height}" viewBox="0 0 {_WIDTH} {height}"'
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} font-family="sans-serif" font-size="12" fill="{_INK}">',
        f'<rect width="{_WIDTH}" height="{height}" fill="{_PAGE}"/>',
        _text(16, 24, say("cli-picture-title"), size=15),
        _text(16, 44, say("cli-picture-bars", names=" / ".join(name for name, _ in loads)), fill=_SOFT),
        *_legend(),
    ]
    for place, condition in enumerate(names):
        y = _TOP + place * block
        parts.append(f'<line x1="16" y1="{y - 6}" x2="{_WIDTH - 16}" y2="{y - 6}" stroke="{_LINE}"/>')
        parts.append(_text(16, y + _BAR - 2, condition))
        for nth, (_, load) in enumerate(loads):
            parts.extend(_bar(load, condition, y + nth * _BAR, scale))
    if not names:
        parts.append(_text(16, _TOP + 12, say("cli-alerts-none")))
    return "\n".join([*parts, "</svg>\n"])


def _bar(load: Load, condition: str, y: int, scale: float) -> list[str]:
    x = float(_LEFT)
    parts = []
    days = load.patient_hours / 24.0
    for priority, fill in _FILLS:
        count = load.alerts.get((condition, priority), 0)
        if not count or not days:
            continue
        wide = count / days * scale
        parts.append(f'<rect x="{x:.1f}" y="{y}" width="{wide:.1f}" height="{_BAR - 2}" fill="{fill}"/>')
        x += wide
    rate = load.condition_per_patient_day(condition)
    parts.append(_text(x + 6, y + _BAR - 3, "–" if rate is None else f"{rate:.2f}", fill=_SOFT))
    return parts


def _legend() -> list[str]:
    parts = []
    x = _WIDTH - 300
    for priority, fill in _FILLS:
        parts.append(f'<rect x="{x}" y="14" width="12" height="12" fill="{fill}"/>')
        parts.append(_text(x + 18, 24, f"{_MARKS[priority]} {priority}"))
        x += 96
    return parts


def _text(x: float, y: float, text: str, *, size: int = 12, fill: str = _INK) -> str:
    return f'<text x="{x:.0f}" y="{y:.0f}" font-size="{size}" fill="{fill}">{escape(text)}</text>'
