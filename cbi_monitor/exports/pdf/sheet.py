"""The sheet that all papers share: page frame, page x of y, DEMO mark, paragraphs and tables."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
    TableStyle,
)

from cbi_monitor.exports.pdf import face
from cbi_monitor.exports.shift_types import Grid
from cbi_monitor.wording import say

MARGIN = 11 * mm
FOOT = 9 * mm


@dataclass
class Ink:
    """Makes paragraphs; remembers whether a letter could not be printed as typed."""

    otherwise: bool = False

    def text(
        self,
        words: str,
        size: float = face.TEXT,
        *,
        bold: bool = False,
        soft: bool = False,
        right: bool = False,
        lead: float = 1.28,
    ) -> Paragraph:
        """A paragraph of plain text (no markup is read from it)."""
        shown, changed = face.printable(words)
        self.otherwise |= changed
        style = ParagraphStyle(
            "body",
            fontName=face.BOLD if bold else face.BODY,
            fontSize=size,
            leading=size * lead,
            textColor=face.SOFT if soft else face.INK,
            alignment=TA_RIGHT if right else 0,
            splitLongWords=1,
        )
        return Paragraph(escape(shown).replace("\n", "<br/>"), style)

    def labelled(self, label: str, words: str, size: float = face.TEXT) -> Paragraph:
        """``label`` in soft ink before the words."""
        shown, changed = face.printable(words)
        self.otherwise |= changed
        style = ParagraphStyle(
            "body", fontName=face.BODY, fontSize=size, leading=size * 1.28, textColor=face.INK
        )
        soft = f'<font color="#56625c">{escape(face.printable(label)[0])}</font>'
        return Paragraph(f"{soft} {escape(shown)}", style)

    def titled(self, title: str, words: str, size: float = face.SMALL) -> Paragraph:
        """A short part: its title in bold, its first line beside it; named in the outline of the file."""
        shown, changed = face.printable(words)
        self.otherwise |= changed
        style = ParagraphStyle(
            "body", fontName=face.BODY, fontSize=size, leading=size * 1.3, textColor=face.INK, spaceBefore=4
        )
        bold = f'<font name="{face.BOLD}" size="{face.TEXT}">{escape(face.printable(title)[0])}</font>'
        made = Paragraph(f"{bold}: {escape(shown)}", style)
        made.outline = title
        return made

    def heading(self, words: str) -> Paragraph:
        """A part's title, named in the outline of the file."""
        made = self.text(words, face.HEAD, bold=True)
        made.style.spaceBefore = 5
        made.style.spaceAfter = 1.5
        made.outline = words
        return made

    def grid(self, grid: Grid, width: float, size: float = face.SMALL) -> Table:
        """A table with its headings repeated on every page; empty cells stay empty."""
        total = sum(grid.weights)
        widths = [width * weight / total for weight in grid.weights]
        body: list[list[Any]] = [
            [
                self.text(words, size, soft=True, right=n in grid.right, lead=1.12)
                for n, words in enumerate(grid.headings)
            ]
        ]
        for line, row in enumerate(grid.rows):
            strong = line in grid.strong
            body.append(
                [
                    self.text(words, size, bold=strong, right=n in grid.right, lead=1.2)
                    for n, words in enumerate(row)
                ]
            )
        style = [
            ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
            ("VALIGN", (0, 1), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.6, face.INK),
            ("LINEBELOW", (0, 1), (-1, -1), 0.25, face.LINE),
            ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 1.1),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
        ]
        style += [("LINEABOVE", (0, line + 1), (-1, line + 1), 0.6, face.INK) for line in grid.strong]
        made = Table(body, colWidths=widths, repeatRows=1, hAlign="LEFT")
        made.setStyle(TableStyle(style))
        return made


class _Sheet(BaseDocTemplate):  # type: ignore[misc]
    """Names titled parts in the file's outline."""

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802 - reportlab's name
        outline = getattr(flowable, "outline", None)
        if outline:
            key = f"part-{self.seq.nextf('part')}"
            self.canv.bookmarkPage(key)
            self.canv.addOutlineEntry(face.printable(outline)[0], key, 0)


class _Counted(Canvas):  # type: ignore[misc]
    """Draws the foot when the number of pages is known."""

    foot_of: Callable[[Canvas, int, int], None]

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._kept: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802 - reportlab's name
        self._kept.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        for number, kept in enumerate(self._kept, start=1):
            self.__dict__.update(kept)
            type(self).foot_of(self, number, len(self._kept))
            super().showPage()
        super().save()


def lay_out(
    flow: Sequence[Flowable],
    *,
    title: str,
    subject: str,
    foot: str,
    running_head: str,
    demo: bool,
    landscape: bool = False,
    language: str = "en-GB",
) -> tuple[bytes, int]:
    """The whole file and its number of pages.

    A4; ``foot`` and page x of y on every page, ``running_head`` from the second page on.
    """
    size = (A4[1], A4[0]) if landscape else A4

    def draw_foot(canvas: Canvas, page: int, pages: int) -> None:
        width, height = size
        canvas.saveState()
        canvas.setFillColor(face.SOFT)
        canvas.setFont(face.BODY, 6)
        left = face.printable(foot)[0]
        canvas.drawString(MARGIN, FOOT - 8, left)
        canvas.drawRightString(width - MARGIN, FOOT - 8, say("report-page", page=str(page), pages=str(pages)))
        canvas.drawString(MARGIN, FOOT, say("caution-short"))
        if page > 1:
            canvas.setFont(face.BOLD, 7)
            canvas.setFillColor(face.INK)
            canvas.drawString(MARGIN, height - MARGIN + 7, face.printable(running_head)[0])
        if demo:
            canvas.setFont(face.BOLD, 7)
            canvas.setFillColor(face.INK)
            canvas.drawRightString(width - MARGIN, height - MARGIN + 7, say("report-demo-note"))
        canvas.restoreState()

    def draw_demo(canvas: Canvas, _doc: Any) -> None:
        if not demo:
            return
        width, height = size
        canvas.saveState()
        canvas.setFillGray(0.92)
        canvas.setFont(face.BOLD, 120)
        canvas.translate(width / 2, height / 2)
        canvas.rotate(52)
        canvas.drawCentredString(0, -40, say("report-demo"))
        canvas.restoreState()

    face.load()
    file = io.BytesIO()
    sheet = _Sheet(
        file,
        pagesize=size,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=MARGIN,
        bottomMargin=FOOT + 9,
        title=title,
        subject=subject,
        author="cbi_monitor",
        creator="cbi_monitor",
        lang=language,
        displayDocTitle=True,
        invariant=1,
        pageCompression=1,
    )
    frame = Frame(
        MARGIN,
        FOOT + 9,
        size[0] - 2 * MARGIN,
        size[1] - MARGIN - FOOT - 9 - 2,
        leftPadding=0,
        rightPadding=0,
        topPadding=0,
        bottomPadding=0,
    )
    sheet.addPageTemplates([PageTemplate("page", [frame], onPage=draw_demo)])
    canvas = type("CountedCanvas", (_Counted,), {"foot_of": staticmethod(draw_foot)})
    sheet.build(list(flow), canvasmaker=canvas)
    return file.getvalue(), int(sheet.page)


def page_width(*, landscape: bool = False) -> float:
    """What is left between the margins, in points."""
    return float((A4[1] if landscape else A4[0]) - 2 * MARGIN)


def gap(points: float) -> Spacer:
    """White space."""
    return Spacer(1, points)
