"""Ward summary, handover sheet and blank check sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from reportlab.lib.colors import HexColor
from reportlab.platypus import Flowable, PageBreak, Table, TableStyle

from cbi_monitor.exports.bed_words import Bed
from cbi_monitor.exports.borders import shift_at
from cbi_monitor.exports.figures import ml
from cbi_monitor.exports.pdf import face
from cbi_monitor.exports.pdf.sheet import Ink, gap, lay_out, page_width
from cbi_monitor.exports.shift_types import Grid
from cbi_monitor.exports.supplies import BagsNeeded, bags_needed, by_size
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.wording import say


@dataclass(frozen=True, slots=True)
class Print:
    """What every paper says about itself."""

    ward: WardRules
    scale: EffluentScale
    now: datetime
    thresholds_hash: str
    version: str
    demo: bool = False


def _foot(about: Print, bed: Bed | None) -> str:
    printed = bed.teller.clock.day_hm(about.now) if bed else about.now.isoformat()
    return say(
        "report-foot",
        hash=about.thresholds_hash[:16] or say("report-not-known"),
        version=about.version,
        printed=printed,
        zone=about.ward.zone,
    )


def _head(ink: Ink, left: str, right: str, width: float, below: str) -> list[Flowable]:
    made = Table(
        [[ink.text(left, face.TITLE, bold=True), ink.text(right, face.HEAD, bold=True, right=True)]],
        colWidths=[width * 0.55, width * 0.45],
    )
    made.setStyle(
        TableStyle(
            [
                ("LEFTPADDING", (0, 0), (-1, -1), 0),
                ("RIGHTPADDING", (0, 0), (-1, -1), 0),
                ("VALIGN", (0, 0), (-1, -1), "BOTTOM"),
                ("LINEBELOW", (0, 0), (-1, 0), 1, face.INK),
            ]
        )
    )
    return [made, gap(2), ink.text(below, face.SMALL, soft=True), gap(3)]


def _cautions(ink: Ink) -> list[Flowable]:
    words = " ".join(say(key) for key in ("caution-aid", "caution-quiet", "caution-thresholds"))
    return [ink.text(say("caution-stop"), face.SMALL, bold=True), ink.text(words, face.SMALL), gap(4)]


def _bags_words(needed: BagsNeeded | None) -> str:
    if needed is None:
        return say("paper-no-bags")
    if needed.low is None or needed.high is None:
        return say("report-not-known")
    count = (
        str(needed.low)
        if needed.low == needed.high
        else say("report-range", low=str(needed.low), high=str(needed.high))
    )
    return say("paper-bags", count=count, size=ml(needed.size_ml))


def ward_summary(beds: Sequence[Bed], about: Print) -> bytes:
    """All beds on one sheet, in order of their names, with the bags that each and the ward will need."""
    face.load()
    ink, width = Ink(), page_width(landscape=True)
    ordered = sorted(beds, key=lambda bed: _natural(bed.name))
    shift = shift_at(about.ward, about.now)
    to_end, day = shift.end - about.now, timedelta(hours=24)
    rows = [_summary_row(bed, to_end, day) for bed in ordered]
    names = (
        "bed",
        "patient",
        "alerts",
        "look",
        "colour",
        "behind",
        "may-hold",
        "inflow",
        "bags",
        "dry",
        "full",
    )
    end = ordered[0].teller.clock.hm_said(shift.end) if ordered else ""
    headings = (
        *(say(f"paper-col-{name}") for name in names),
        say("paper-col-until", at=end),
        say("paper-col-day"),
    )
    weights = (0.8, 1.9, 2.0, 1.4, 1.7, 1.4, 1.5, 1.2, 2.1, 1.3, 1.3, 1.2, 1.2)
    first = ordered[0] if ordered else None
    when = first.teller.clock.day_hm(about.now) if first else ""
    flow: list[Any] = [
        *_head(
            ink,
            about.ward.name,
            say("paper-ward-summary"),
            width,
            say("paper-as-of", at=when, count=len(ordered)),
        ),
        *_cautions(ink),
        ink.grid(Grid(headings, tuple(rows), weights), width),
        gap(6),
        ink.text(
            say("paper-supplies", shift=_sum_words(ordered, to_end), at=end, day=_sum_words(ordered, day)),
            bold=True,
        ),
        ink.text(say("paper-supplies-how"), face.SMALL, soft=True),
    ]
    content, _ = lay_out(
        flow,
        title=f"{say('paper-ward-summary')}, {about.ward.name}",
        subject=when,
        foot=_foot(about, first),
        running_head=f"{about.ward.name} · {when}",
        demo=about.demo,
        landscape=True,
    )
    return content


def _summary_row(bed: Bed, to_end: timedelta, day: timedelta) -> tuple[str, ...]:
    return (
        bed.name,
        f"{bed.reference}; {bed.operation}",
        bed.standing_alerts,
        bed.look,
        bed.colour,
        bed.behind,
        bed.may_hold,
        bed.inflow,
        bed.bags,
        bed.dry,
        bed.when(bed.standing.drainage.full),
        _bags_words(bags_needed(bed.standing, to_end)),
        _bags_words(bags_needed(bed.standing, day)),
    )


def _sum_words(beds: Sequence[Bed], ahead: timedelta) -> str:
    found = by_size(bags_needed(bed.standing, ahead) for bed in beds)
    return ", ".join(_bags_words(needed) for needed in found) or say("paper-no-bags")


def _natural(name: str) -> list[tuple[int, int, str]]:
    """Bed 2 before bed 10."""
    parts: list[tuple[int, int, str]] = []
    digits = ""
    for c in [*name, ""]:
        if c.isdecimal():
            digits += c
            continue
        if digits:
            parts.append((0, int(digits), ""))
            digits = ""
        if c:
            parts.append((1, 0, c))
    return parts


def handover_sheet(beds: Sequence[Bed], about: Print) -> bytes:
    """One page a bed in the order identify, situation, background, assessment, recommendation, with room to write.

    The taking nurse writes her own reading; it never corrects the old one.
    """
    face.load()
    ink, width = Ink(), page_width()
    flow: list[Any] = []
    for place, bed in enumerate(beds):
        if place:
            flow.append(PageBreak())
        when = bed.teller.clock.day_hm(about.now)
        flow += _head(ink, say("report-bed", bed=bed.name), say("paper-handover"), width, when)
        flow += _cautions(ink)
        parts = (
            ("identify", (("reference", bed.reference), ("operation", bed.operation))),
            (
                "situation",
                (
                    ("look", bed.look),
                    ("comfort", bed.comfort),
                    ("colour", bed.colour),
                    ("alerts", bed.standing_alerts),
                ),
            ),
            ("background", (("catheter", bed.catheter), ("order", bed.order))),
            (
                "assessment",
                (
                    ("behind", bed.behind),
                    ("may-hold", bed.may_hold),
                    ("inflow", bed.inflow),
                    ("bags", bed.bags),
                    ("drainage", bed.drainage),
                ),
            ),
            (
                "recommendation",
                (
                    ("due", bed.due),
                    ("dry", bed.dry or say("report-not-known")),
                    ("full", bed.when(bed.standing.drainage.full) or say("report-not-known")),
                    ("questions", _open_questions(bed)),
                ),
            ),
        )
        for title, lines in parts:
            flow.append(ink.heading(say(f"paper-{title}")))
            flow += [ink.labelled(say(f"paper-col-{name}") + ":", words) for name, words in lines]
            flow += [gap(3), _blank(ink, [say("paper-remarks")], width, 14)]
        flow.append(ink.heading(say("paper-taking-reading")))
        taking = [
            say(f"paper-take-{name}")
            for name in ("levels", "drainage", "running", "abdomen", "traced", "order")
        ]
        flow += [gap(2), _blank(ink, taking, width, 26), gap(8)]
        flow.append(
            _blank(
                ink,
                [
                    say("report-giving"),
                    say("report-taking"),
                    say("report-sign-time"),
                    say("report-sign-read-back"),
                ],
                width,
                26,
            )
        )
    content, _ = lay_out(
        flow,
        title=say("paper-handover"),
        subject=about.ward.name,
        foot=_foot(about, beds[0] if beds else None),
        running_head=say("paper-handover"),
        demo=about.demo,
    )
    return content


def _open_questions(bed: Bed) -> str:
    asked = [finding for finding in bed.book.findings if finding.asks and finding.answer is None]
    return say("paper-questions", count=len(asked))


def _blank(ink: Ink, labels: Sequence[str], width: float, height: float) -> Table:
    """Boxes to write in, each with its label small in the corner."""
    made = Table([[ink.text(label, 5.8, soft=True) for label in labels]], colWidths=[width / len(labels)] * len(labels),
                 rowHeights=[height])  # fmt: skip
    made.setStyle(
        TableStyle(
            [
                ("BOX", (0, 0), (-1, -1), 0.5, face.INK),
                ("INNERGRID", (0, 0), (-1, -1), 0.5, face.INK),
                ("VALIGN", (0, 0), (-1, -1), "TOP"),
                ("TOPPADDING", (0, 0), (-1, -1), 1),
                ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ]
        )
    )
    return made


CHECK_ROWS = 17


def check_sheets(beds: Sequence[Bed], about: Print) -> bytes:
    """A blank check sheet for each bed, for when the program cannot be used; how it stands at its head."""
    face.load()
    ink, width = Ink(), page_width(landscape=True)
    flow: list[Any] = []
    for place, bed in enumerate(beds):
        if place:
            flow.append(PageBreak())
        when = bed.teller.clock.day_hm(about.now)
        left = f"{say('report-bed', bed=bed.name)} · {bed.reference}"
        flow += _head(ink, left, say("paper-check-sheet"), width, say("paper-kept-on-paper", at=when))
        flow += _cautions(ink)
        for name, words in (
            ("order", bed.order),
            ("catheter", bed.catheter),
            ("inflow", bed.inflow),
            ("bags", bed.bags),
            ("drainage", bed.drainage),
            ("look", bed.look),
            ("colour", bed.colour),
            ("due", bed.due),
        ):
            flow.append(ink.labelled(say(f"paper-col-{name}") + ":", words, face.SMALL))
        flow += [gap(4), _check_grid(ink, bed, width), gap(4), _legend(ink, about.scale, width)]
    content, _ = lay_out(
        flow,
        title=say("paper-check-sheet"),
        subject=about.ward.name,
        foot=_foot(about, beds[0] if beds else None),
        running_head=say("paper-check-sheet"),
        demo=about.demo,
        landscape=True,
    )
    return content


def _check_grid(ink: Ink, bed: Bed, width: float) -> Table:
    """Columns in the order in which a patient is looked at; one level column a line in use, at least one."""
    lines = [line.name for line in bed.standing.lines] or ["A"]
    names = ["time", "running", "comfort", "colour", "clots", "in-bag", "emptied"]
    headings = [say(f"paper-check-{name}") for name in names]
    headings += [say("paper-check-left", line=line) for line in lines]
    headings += [say(f"paper-check-{name}") for name in ("rate", "done", "by")]
    weights = [0.8, 1.3, 1.3, 1.3, 0.9, 1.1, 1.1, *([1.1] * len(lines)), 1.0, 3.2, 0.8]
    total = sum(weights)
    body: list[list[Any]] = [[ink.text(words, face.SMALL, lead=1.15) for words in headings]]
    body += [[""] * len(headings) for _ in range(CHECK_ROWS)]
    made = Table(
        body, colWidths=[width * weight / total for weight in weights], rowHeights=[24, *([18] * CHECK_ROWS)]
    )
    made.setStyle(
        TableStyle(
            [
                ("GRID", (0, 0), (-1, -1), 0.4, face.SOFT),
                ("LINEBELOW", (0, 0), (-1, 0), 1, face.INK),
                ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
                ("LEFTPADDING", (0, 0), (-1, -1), 2),
                ("RIGHTPADDING", (0, 0), (-1, -1), 2),
                ("BOTTOMPADDING", (0, 0), (-1, 0), 2),
            ]
        )
    )
    return made


def _legend(ink: Ink, scale: EffluentScale, width: float) -> Table:
    """The ward's colours with their words, to hold beside the tubing."""
    cells: list[Any] = []
    widths: list[float] = []
    for grade in scale.grades:
        cells += ["", ink.text(grade.word, face.SMALL)]
        widths += [26, width / len(scale.grades) - 26]
    made = Table([cells], colWidths=widths, rowHeights=[11])
    style: list[Any] = [("VALIGN", (0, 0), (-1, -1), "MIDDLE"), ("TOPPADDING", (0, 0), (-1, -1), 0)]
    for place, grade in enumerate(scale.grades):
        style.append(("BACKGROUND", (2 * place, 0), (2 * place, 0), HexColor(grade.swatch)))
        style.append(("BOX", (2 * place, 0), (2 * place, 0), 0.5, face.SOFT))
    made.setStyle(TableStyle(style))
    return made
