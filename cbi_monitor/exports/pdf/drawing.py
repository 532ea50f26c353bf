"""In and out as curves with the doubt between them, and the drainage colour as a strip of tube with words; vectors."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from itertools import pairwise

from reportlab.graphics.shapes import Circle, Drawing, Line, Polygon, PolyLine, Rect, String
from reportlab.lib.colors import HexColor
from reportlab.pdfbase.pdfmetrics import stringWidth

from cbi_monitor.exports.curves import Colour, Curves, Point
from cbi_monitor.exports.figures import ml
from cbi_monitor.exports.pdf import face
from cbi_monitor.wording import say

AtX = Callable[[datetime], float]
AtY = Callable[[float], float]

_LEFT, _RIGHT = 34.0, 26.0
_LABEL_SIZE = 6.2
_TIERS = 3


def draw(curves: Curves, width: float, height: float) -> Drawing:
    """The drawing, ``width`` × ``height`` points."""
    face.load()
    tiers = _tiers(curves, width)
    drawing = Drawing(width, height + 8.5 * max(tiers.values(), default=0))
    height = drawing.height
    strip_top = 19.0 + 8.5 * max(tiers.values(), default=0)
    top, floor = height - 10, strip_top + 14

    def x(at: datetime) -> float:
        part = (at - curves.start) / (curves.end - curves.start)
        return _LEFT + part * (width - _LEFT - _RIGHT)

    points = [
        value for run in curves.runs for line in (run.into, run.out, run.low, run.high) for _, value in line
    ]
    least, most = min([0.0, *points]), max([100.0, *points])
    step = _step(most - least)
    bottom = step * int(-(-least // step) - (1 if least < 0 else 0)) if least < 0 else 0.0

    def y(value: float) -> float:
        return floor + (value - bottom) / (most * 1.04 - bottom) * (top - floor)

    _frame(drawing, curves, x, y, bottom, most, step, floor, top, width)
    for start, end in curves.unknown:
        drawing.add(
            Rect(x(start), floor, x(end) - x(start), top - floor, fillColor=face.LANE, strokeColor=None)
        )
        _hatch(drawing, x(start), x(end), floor, top)
        _inside(drawing, say("report-curve-unknown"), x(start), x(end), floor + 4)
    for start, end in curves.off:
        drawing.add(
            Rect(x(start), floor, max(x(end) - x(start), 1.5), 5, fillColor=face.INK, strokeColor=None)
        )
    for number, run in enumerate(curves.runs):
        band = [c for at, v in run.low for c in (x(at), y(v))]
        band += [c for at, v in reversed(run.high) for c in (x(at), y(v))]
        drawing.add(Polygon(band, fillColor=face.DOUBT, strokeColor=None))
        _curve(drawing, run.into, x, y, face.IRRIGANT, dashed=True)
        _curve(drawing, run.out, x, y, face.EFFLUENT, dashed=False)
        if number:
            at = x(run.into[0][0])
            drawing.add(
                Line(at, floor, at, top, strokeColor=face.SOFT, strokeWidth=0.4, strokeDashArray=[1, 2])
            )
            drawing.add(_words(say("report-curve-anew"), at + 2, top - 7))
    if curves.runs:
        _ends(drawing, curves, x, y, width)
    _marks(drawing, curves, x, y, floor, top)
    _strip(drawing, curves, x, strip_top, tiers)
    return drawing


def _step(span: float) -> float:
    for step in (50.0, 100.0, 200.0, 500.0, 1000.0, 2000.0, 5000.0, 10_000.0, 20_000.0):
        if span / step <= 5:
            return step
    return 50_000.0


def _words(
    text: str, x: float, y: float, anchor: str = "start", *, bold: bool = False, colour: object = None
) -> String:
    return String(
        x,
        y,
        face.printable(text)[0],
        fontName=face.BOLD if bold else face.BODY,
        fontSize=_LABEL_SIZE,
        fillColor=colour or face.INK,
        textAnchor=anchor,
    )


def _frame(
    drawing: Drawing,
    curves: Curves,
    x: AtX,
    y: AtY,
    bottom: float,
    most: float,
    step: float,
    floor: float,
    top: float,
    width: float,
) -> None:
    level = bottom
    while level <= most * 1.04:
        line = y(level)
        drawing.add(Line(_LEFT, line, width - _RIGHT, line, strokeColor=face.LINE, strokeWidth=0.3))
        drawing.add(_words(ml(level), _LEFT - 4, line - 2, "end", colour=face.SOFT))
        level += step
    drawing.add(_words("mL", _LEFT - 4, top + 3, "end", colour=face.SOFT))
    last = -1e9
    for at, label in curves.ticks:
        place = x(at)
        drawing.add(Line(place, floor - 2, place, floor, strokeColor=face.SOFT, strokeWidth=0.4))
        if place - last > 24:
            drawing.add(_words(label, place, floor - 9, "middle", colour=face.SOFT))
            last = place


def _curve(
    drawing: Drawing, points: tuple[Point, ...], x: AtX, y: AtY, colour: object, *, dashed: bool
) -> None:
    flat = [c for at, value in points for c in (x(at), y(value))]
    drawing.add(
        PolyLine(
            flat,
            strokeColor=colour,
            strokeWidth=1.1 if dashed else 1.6,
            strokeDashArray=[4, 2] if dashed else None,
        )
    )


def _ends(drawing: Drawing, curves: Curves, x: AtX, y: AtY, width: float) -> None:
    run = curves.runs[-1]
    at = min(x(run.out[-1][0]) + 3, width - _RIGHT + 3)
    out, into = y(run.out[-1][1]) - 2, y(run.into[-1][1]) - 2
    if abs(out - into) < 7:
        middle = (out + into) / 2
        out, into = (
            (middle + 3.5, middle - 3.5)
            if run.out[-1][1] >= run.into[-1][1]
            else (middle - 3.5, middle + 3.5)
        )
    drawing.add(_words(say("report-curve-out"), at, out, bold=True, colour=face.EFFLUENT))
    drawing.add(_words(say("report-curve-in"), at, into, bold=True, colour=face.IRRIGANT))
    key = say("report-curve-doubt")
    drawing.add(Rect(_LEFT + 4, drawing.height - 8, 8, 5, fillColor=face.DOUBT, strokeColor=None))
    drawing.add(_words(key, _LEFT + 15, drawing.height - 8, colour=face.SOFT))


def _hatch(drawing: Drawing, left: float, right: float, low: float, high: float) -> None:
    step, height = 5.0, high - low
    at = left - height
    while at < right:
        x0, y0, x1, y1 = at, low, at + height, high
        if x0 < left:
            x0, y0 = left, low + (left - at)
        if x1 > right:
            x1, y1 = right, low + (right - at)
        if y0 < high and x1 > x0:
            drawing.add(Line(x0, y0, x1, y1, strokeColor=face.LINE, strokeWidth=0.3))
        at += step


def _inside(
    drawing: Drawing, text: str, left: float, right: float, y: float, *, always: bool = False
) -> None:
    if always or stringWidth(text, face.BODY, _LABEL_SIZE) < right - left:
        drawing.add(_words(text, left + 1, y))


def _marks(drawing: Drawing, curves: Curves, x: AtX, y: AtY, floor: float, top: float) -> None:
    """Washouts and by-passing: a dot on the axis and its word above the curves, below them where there is no room.

    Bags and emptyings are in the tables.
    """
    named = [
        (at, text)
        for at, text in curves.marks
        if text in (say("report-mark-washout"), say("report-mark-leak"))
    ]
    for at, _ in named:
        drawing.add(Circle(x(at), floor, 1.8, fillColor=face.INK, strokeColor=None))
    named += [(start, say("report-curve-off")) for start, _ in curves.off]
    free = [1e9] * 3
    for at, text in sorted(named, reverse=True):
        place, wide = x(at), _wide(text)
        tier = next((n for n in range(3) if place + wide + 7 < free[n]), None)
        if tier is None:
            continue  # no room: what happened is told in the table
        free[tier] = place
        highest = max((y(v) for v in _values_near(curves, x, place, place + wide + 4)), default=floor)
        height = highest + 4 + 7 * tier
        if height > top - 4:
            height = floor + 3 + 7 * tier
        drawing.add(_words(text, place + 2, height))
        drawing.add(Line(place, floor, place, height + 5, strokeColor=face.INK, strokeWidth=0.4))


def _values_near(curves: Curves, x: AtX, left: float, right: float) -> list[float]:
    """What the curves reach between two places, by the points there and the next on either side."""
    found: list[float] = []
    for run in curves.runs:
        for line in (run.out, run.high, run.into):
            for (at, value), (after, following) in pairwise(line):
                if x(after) >= left and x(at) <= right:
                    span = max(x(after) - x(at), 1e-9)
                    part = min(1.0, (right - x(at)) / span)
                    found += [value, value + part * (following - value)]
    return found


def _strip(drawing: Drawing, curves: Curves, x: AtX, top: float, tiers: dict[datetime, int]) -> None:
    """The tube: a swatch for each look at it, and the word below where it changes."""
    height = 9.0
    y = top - height
    drawing.add(_words(say("report-strip"), _LEFT - 4, y + 2, "end", colour=face.SOFT))
    drawing.add(
        Rect(x(curves.start), y, x(curves.end) - x(curves.start), height, 4, 4, fillColor=None, strokeColor=face.SOFT,
             strokeWidth=0.5)
    )  # fmt: skip
    for colour in curves.colours:
        left, right = x(colour.start), x(colour.end)
        fill = HexColor(colour.swatch) if colour.swatch else face.LANE
        drawing.add(Rect(left, y + 0.8, right - left, height - 1.6, fillColor=fill, strokeColor=None))
    changes = _changes(curves.colours)
    for colour in changes:
        drawing.add(
            Line(x(colour.start), y, x(colour.start), y + height, strokeColor=face.INK, strokeWidth=0.6)
        )
    for colour in changes:
        tier = tiers.get(colour.start)
        if tier is None:
            continue  # no room: the hourly table has its word
        low = y - 8 - 8.5 * tier
        left = min(x(colour.start), drawing.width - _wide(colour.label) - 1)
        if tier:
            drawing.add(
                Line(x(colour.start), y, x(colour.start), low + 6, strokeColor=face.LINE, strokeWidth=0.4)
            )
        drawing.add(_words(colour.label, left, low))


def _wide(text: str) -> float:
    return float(stringWidth(face.printable(text)[0], face.BODY, _LABEL_SIZE))


def _tiers(curves: Curves, width: float) -> dict[datetime, int]:
    """On which line below the strip each word stands, so that none meets another.

    Where there is no room for all, the paler colours and fewer clots give way: the hourly table has their words.
    """
    chosen: list[Colour] = []
    for colour in sorted(_changes(curves.colours), key=lambda colour: (-colour.weight, colour.start)):
        trial = sorted([*chosen, colour], key=lambda colour: colour.start)
        if len(_laid(trial, curves, width)) == len(trial):
            chosen = trial
    return _laid(chosen, curves, width)


def _laid(colours: list[Colour], curves: Curves, width: float) -> dict[datetime, int]:
    """From right to left, the earlier word lower, so that no tick runs through a word; some may find no line."""
    free = [1e9] * _TIERS
    tiers: dict[datetime, int] = {}
    for colour in reversed(colours):
        wide = _wide(colour.label)
        part = (colour.start - curves.start) / (curves.end - curves.start)
        left = min(_LEFT + part * (width - _LEFT - _RIGHT), width - wide - 1)
        tier = next((n for n in range(_TIERS) if left + wide + 5 < free[n]), None)
        if tier is not None:
            free[tier] = left
            tiers[colour.start] = tier
    return tiers


def _changes(colours: tuple[Colour, ...]) -> list[Colour]:
    """Where the word or the clots change; a new rate at the same colour is in the hourly table."""
    found: list[Colour] = []
    for colour in colours:
        if not found or _kind(found[-1]) != _kind(colour):
            found.append(colour)
    return found


def _kind(colour: Colour) -> tuple[str, str]:
    return colour.word, colour.label.partition(",")[2]
