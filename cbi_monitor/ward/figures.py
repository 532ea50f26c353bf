"""Figures as a nurse types them: ``1200``, ``1,200``, ``1 200``, ``~300`` (about), ``?`` (not measured)."""

from __future__ import annotations

import re
from dataclasses import dataclass

_PLAIN = re.compile(r"\d+(\.\d+)?", re.ASCII)
_GROUPED = re.compile(r"\d{1,3}([, ]\d{3})+(\.\d+)?", re.ASCII)


class Unreadable(ValueError):
    """No figure can be made of what was typed."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One typed figure; ``value`` is None where it was not measured."""

    value: float | None
    about: bool = False

    def fields(self, name: str) -> dict[str, float | bool]:
        """As fields of an event whose volume is called ``name``."""
        if self.value is None:
            return {"not_measured": True}
        return {name: self.value, "about": True} if self.about else {name: self.value}


def read_figure(typed: str, *, doubtful: bool = True) -> Figure | None:
    """The figure typed, None for an empty field. Never negative. ``doubtful``: "~" and "?" may be used.

    Raises Unreadable.
    """
    text = typed.strip().replace(" ", " ")
    if not text:
        return None
    if doubtful and text == "?":
        return Figure(None)
    about = doubtful and text.startswith("~")
    if about:
        text = text[1:].strip()
    if not (_PLAIN.fullmatch(text) or _GROUPED.fullmatch(text)):
        raise Unreadable(typed)
    return Figure(float(text.replace(",", "").replace(" ", "")), about)
