"""The end-of-shift report on paper: one page when the shift was quiet, more when there was more."""

from __future__ import annotations

from typing import Any

from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Table, TableStyle

from cbi_monitor.exports.pdf import face
from cbi_monitor.exports.pdf.drawing import draw
from cbi_monitor.exports.pdf.sheet import Ink, gap, lay_out, page_width
from cbi_monitor.exports.shift_types import Figure, Section, ShiftReport
from cbi_monitor.wording import say

_CURVES = (118.0, 98.0, 76.0)
"""Heights of the drawing, points: the tallest is taken that gives the fewest pages."""


def shift_pdf(report: ShiftReport) -> bytes:
    """The file. Same report, same bytes."""
    face.load()
    best, pages = _paper(report, _CURVES[0])
    if pages == 1:
        return best
    for height in _CURVES[1:]:
        lower, fewer = _paper(report, height)
        if fewer < pages:
            return lower
    return best


def _paper(report: ShiftReport, curves: float) -> tuple[bytes, int]:
    ink, width = Ink(), page_width()
    flow: list[Any] = [
        _title(report, ink, width),
        gap(3),
        _head(report, ink, width),
        gap(4),
        _cautions(report, ink, width),
        gap(4),
        _figures(report.figures, ink, width),
        gap(2),
    ]
    flow += [ink.text(note, face.SMALL) for note in report.notes]
    if report.curves is not None:
        flow += [gap(4), draw(report.curves, width, curves)]
    flow += _section(report.hours, ink, width)
    *first, passed_on, findings, changed, staff = report.sections
    for section in first:
        flow += _section(section, ink, width)
    # What is passed on is not torn from the signatures under it.
    last: list[Any] = []
    for section in (passed_on, findings, changed, staff):
        last += [part for part in _section(section, ink, width) if not isinstance(part, CondPageBreak)]
    if ink.otherwise:
        last += [gap(3), ink.text(say("report-not-printable"), face.SMALL, soft=True)]
    last += [gap(6), _signatures(report, ink, width)]
    flow.append(KeepTogether(last))
    return lay_out(
        flow,
        title=f"{report.title}, {report.bed}",
        subject=report.when,
        foot=report.foot,
        running_head=f"{report.bed} · {report.when}",
        demo=report.demo,
    )


_BARE = [
    ("LEFTPADDING", (0, 0), (-1, -1), 0),
    ("RIGHTPADDING", (0, 0), (-1, -1), 4),
    ("TOPPADDING", (0, 0), (-1, -1), 0),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
    ("VALIGN", (0, 0), (-1, -1), "TOP"),
]


def _title(report: ShiftReport, ink: Ink, width: float) -> Table:
    left = [ink.text(report.bed, face.TITLE + 3, bold=True), ink.text(report.when, face.TEXT)]
    right = [ink.text(report.title, face.HEAD, bold=True, right=True)]
    made = Table([[left, right]], colWidths=[width * 0.58, width * 0.42])
    made.setStyle(
        TableStyle([*_BARE, ("RIGHTPADDING", (1, 0), (1, 0), 0), ("LINEBELOW", (0, 0), (-1, 0), 1, face.INK)])
    )
    return made


def _head(report: ShiftReport, ink: Ink, width: float) -> Table:
    cells = [ink.labelled(label, words) for label, words in report.head]
    rows = [cells[0:2], cells[2:4], cells[4:6]]
    made = Table(rows, colWidths=[width * 0.4, width * 0.6])
    made.setStyle(TableStyle(_BARE))
    return made


def _cautions(report: ShiftReport, ink: Ink, width: float) -> Table:
    first, *rest = report.cautions
    body = [ink.text(first, face.SMALL, bold=True), ink.text(" ".join(rest), face.SMALL)]
    made = Table([[body]], colWidths=[width])
    made.setStyle(
        TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 0.6, face.INK),
                ("LEFTPADDING", (0, 0), (-1, -1), 5),
                ("RIGHTPADDING", (0, 0), (-1, -1), 5),
                ("TOPPADDING", (0, 0), (-1, -1), 2.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3.5),
            ]
        )
    )
    return made


def _figures(figures: tuple[Figure, ...], ink: Ink, width: float) -> Table:
    """Three in a row, each with its range and its as-of."""
    cells = []
    for figure in figures:
        cell: list[Flowable] = [
            ink.text(figure.label, face.SMALL, soft=True),
            ink.text(figure.figure, face.LARGE, bold=True, lead=1.2),
        ]
        below = " · ".join(part for part in (figure.range, figure.note) if part)
        if below:
            cell.append(ink.text(below, face.SMALL))
        cells.append(cell)
    across = 3
    rows: list[list[Any]] = [cells[n : n + across] for n in range(0, len(cells), across)]
    rows[-1] += [""] * (across - len(rows[-1]))
    made = Table(rows, colWidths=[width / across] * across)
    made.setStyle(
        TableStyle(
            [
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("LEFTPADDING", (0, 0), (-1, -1), 5),
                ("RIGHTPADDING", (0, 0), (-1, -1), 4),
                ("TOPPADDING", (0, 0), (-1, -1), 1),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
                ("LINEBEFORE", (0, 0), (-1, -1), 0.8, face.LINE),
            ]
        )
    )
    return made


def _section(section: Section, ink: Ink, width: float) -> list[Flowable]:
    lines = (" ".join(section.lines),) if section.run_on and section.lines else section.lines
    if section.grid is None:
        # A part of one or two lines stands beside its title, so that a quiet shift takes one page.
        first, *rest = lines
        return [ink.titled(section.title, first), *(ink.text(line, face.SMALL, lead=1.3) for line in rest)]
    below: list[Flowable] = [ink.text(line, face.SMALL, lead=1.3) for line in lines]
    grid = ink.grid(section.grid, width)
    return [CondPageBreak(52), ink.heading(section.title), grid, *([gap(1.5)] if below else []), *below]


def _signatures(report: ShiftReport, ink: Ink, width: float) -> Table:
    blank = [
        say("report-sign-name"),
        say("report-sign-signature"),
        say("report-sign-time"),
        say("report-sign-read-back"),
    ]
    rows: list[list[Any]] = []
    for who in report.signatures:
        rows.append([ink.text(who, face.TEXT, bold=True), "", "", "", ""])
        rows.append(["", *(ink.text(label, 6, soft=True) for label in blank)])
    parts = (0.14, 0.27, 0.02, 0.27, 0.02, 0.16, 0.02, 0.10)
    spaced = [[row[0], row[1], "", row[2], "", row[3], "", row[4]] for row in rows]
    made = Table(spaced, colWidths=[width * part for part in parts], rowHeights=[19, 10] * 2)
    style: list[Any] = [
        ("LEFTPADDING", (0, 0), (-1, -1), 1),
        ("RIGHTPADDING", (0, 0), (-1, -1), 1),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1),
        ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
    ]
    for line in (1, 3):
        for column in (1, 3, 5, 7):
            style.append(("LINEABOVE", (column, line), (column, line), 0.6, face.INK))
            style.append(("VALIGN", (column, line), (column, line), "TOP"))
    made.setStyle(TableStyle(style))
    return made
