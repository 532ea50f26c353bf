"""Typeface, sizes and ink of all papers.

The face is Bitstream Vera, which reportlab ships: the same bytes come on every machine, and it has the real minus sign
(U+2212), which the base fonts of PDF lack. It has no thin spaces and few letters
beyond western European ones; ``printable`` says what is done about those.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from reportlab.lib.colors import HexColor
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

BODY, BOLD, SLANTED = "Vera", "VeraBd", "VeraIt"
INK = HexColor("#1c2421")
SOFT = HexColor("#56625c")
LINE = HexColor("#b9c0b6")
LANE = HexColor("#eef1ec")
IRRIGANT = HexColor("#2f7f86")
EFFLUENT = HexColor("#7a5a9e")
DOUBT = HexColor("#d5dfd0")

SMALL, TEXT, HEAD, LARGE, TITLE = 6.6, 7.4, 8.6, 12.0, 13.0


@lru_cache(maxsize=1)
def _letters() -> frozenset[int]:
    font = TTFont(BODY, "Vera.ttf")
    return frozenset(font.face.charToGlyph)


@lru_cache(maxsize=1)
def load() -> None:
    """Make the face known to reportlab."""
    for name, file in ((BODY, "Vera.ttf"), (BOLD, "VeraBd.ttf"), (SLANTED, "VeraIt.ttf")):
        pdfmetrics.registerFont(TTFont(name, file))
    pdfmetrics.registerFontFamily(BODY, normal=BODY, bold=BOLD, italic=SLANTED, boldItalic=BOLD)


def printable(text: str) -> tuple[str, bool]:
    """``text`` in letters that the face has, and whether any letter had to be written otherwise.

    Special spaces become spaces. A letter that the face lacks is written without its mark where the bare letter
    is there (ő as o), else by its code (``<U+03B1>``): nothing is dropped in silence.
    """
    letters, out, changed = _letters(), [], False
    for c in unicodedata.normalize("NFC", text):
        if ord(c) in letters or c == "\n":
            out.append(c)
        elif c.isspace() or unicodedata.category(c) in ("Zs", "Cc"):
            out.append(" ")
        elif unicodedata.category(c) in ("Mn", "Cf"):
            changed = True
        else:
            bare = "".join(b for b in unicodedata.normalize("NFKD", c) if ord(b) in letters)
            out.append(bare or f"<U+{ord(c):04X}>")
            changed = True
    return "".join(out), changed
