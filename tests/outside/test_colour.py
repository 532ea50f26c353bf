"""Colour difference against the published pairs, and whether the shipped swatches can be told apart."""

from __future__ import annotations

import csv
from itertools import combinations, pairwise
from pathlib import Path

import pytest
from coloraide import Color

from cbi_monitor.model.ward import Grade
from cbi_monitor.settings import load_scale

PANELS = {"light": "#ffffff", "dark": "#1b211e"}
"""The panel that swatches stand on, by theme."""

LEAST = 5.0
"""ΔE00 from which two patches side by side are plainly two colours (common practice, no source; 1 is just visible)."""


def de00(one: str, other: str) -> float:
    return float(Color(one).delta_e(other, method="2000"))


def test_34_published_pairs(open_data: Path) -> None:
    """Sharma, Wu, Dalal: The CIEDE2000 color-difference formula, Color Res. Appl. 30 (2005), table 1; four decimals."""
    with (open_data / "ciede2000_sharma2005_34pairs.csv").open(encoding="utf-8") as file:
        pairs = list(csv.DictReader(file))
    assert len(pairs) == 34
    for pair in pairs:
        one = Color("lab-d65", [float(pair[name]) for name in ("L1", "a1", "b1")])
        other = Color("lab-d65", [float(pair[name]) for name in ("L2", "a2", "b2")])
        found = one.delta_e(other, method="2000", space="lab-d65")
        assert found == pytest.approx(float(pair["dE00"]), abs=5e-5), pair["pair"]


GRADES = load_scale().grades


@pytest.mark.parametrize(
    ("one", "other"), list(combinations(GRADES, 2)), ids=lambda grade: getattr(grade, "key", "")
)
def test_shipped_swatches_can_be_told_apart(one: Grade, other: Grade) -> None:
    assert de00(one.swatch, other.swatch) >= 2 * LEAST


@pytest.mark.parametrize("theme", PANELS)
@pytest.mark.parametrize("grade", GRADES, ids=lambda grade: grade.key)
def test_swatches_stand_out_from_the_panel(theme: str, grade: Grade) -> None:
    """Every swatch has an outline too; this is the colour itself against its panel."""
    assert de00(grade.swatch, PANELS[theme]) >= LEAST


def test_each_step_is_darker_than_the_one_before() -> None:
    lightness = [Color(grade.swatch).convert("lab-d65")["lightness"] for grade in GRADES]
    assert all(paler > darker + 5 for paler, darker in pairwise(lightness))


def test_told_apart_by_those_who_see_no_red_or_green() -> None:
    """Neighbours stay apart for the three kinds of colour blindness (coloraide's own filters)."""
    for kind in ("protan", "deutan", "tritan"):
        seen = [Color(grade.swatch).filter(kind) for grade in GRADES]
        for one, other in pairwise(seen):
            assert one.delta_e(other, method="2000") >= LEAST, (kind, one, other)
