"""Each value of the shipped files says what it means, in which unit, and where it comes from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from cbi_monitor.settings import (
    THRESHOLDS,
    WARD,
    Explained,
    Kind,
    differences,
    explain,
    load_thresholds,
    tables,
)

UNITS = {
    "_ml": "mL", "_minutes": "minutes", "_hours": "hours", "_ml_per_h": "mL/h", "_ml_per_kg_per_h": "mL/kg/h",
    "_points": "points of 10", "_u": "standard uncertainties", "_count": "count", "_mmhg": "mmHg",
    "_per_min": "beats a minute", "_g_per_l": "g/L", "_mmol_per_l": "mmol/L", "_french": "Ch (Fr)",
    "_steps": "steps of the ward's scale",
}  # fmt: skip


@pytest.mark.parametrize("kind", [WARD, THRESHOLDS], ids=lambda kind: kind.name)
def test_every_shipped_value_has_meaning_unit_and_source(kind: Kind[Any]) -> None:
    values = explain(kind)
    assert len(values) > 90
    for value in values:
        assert value.meaning, value.path
        assert value.unit, value.path
        assert value.source, value.path
        assert not value.changed


@pytest.mark.parametrize("value", explain(THRESHOLDS), ids=lambda value: value.path)
def test_unit_in_the_comment_is_the_unit_in_the_name(value: Explained) -> None:
    endings = [ending for ending in UNITS if value.path.endswith(ending)]
    if endings:
        assert value.unit == UNITS[max(endings, key=len)]
    elif value.path.endswith("_part"):
        assert value.unit.startswith("part")
    else:
        assert value.path in (
            "wrong_fluid.right_without_order",
            "catheter_out.unplanned_reasons",
            "catheter_mismatch.allergen_words",
        )


def test_every_table_says_what_it_is_about() -> None:
    told = tables(THRESHOLDS)
    assert set(told) == set(type(load_thresholds()).model_fields)
    assert all(told.values())


def test_lines_and_values_are_those_of_the_file() -> None:
    lines = THRESHOLDS.shipped.split("\n")
    for value in explain(THRESHOLDS):
        assert lines[value.line - 1] == f"{value.path.partition('.')[2]} = {value.written()}"


def test_a_wards_own_file(tmp_path: Path) -> None:
    own = THRESHOLDS.shipped.replace("medium_behind_ml = 120", "medium_behind_ml = 150")
    own = own.replace(
        "# Medium from this much behind.\n# Unit: mL. Source: common practice, no source.\n", ""
    )
    own = own.replace(
        "# High from this much behind, whatever the patient says.\n# Unit: mL. Source: common practice, no source.\n",
        "# Agreed in March.\n# Unit: mL. Source: ward meeting,\n# see the minutes.\n",
    )
    path = tmp_path / "own.toml"
    path.write_text(own, "utf-8")
    told = {value.path: value for value in explain(THRESHOLDS, path)}
    medium = told["retention.medium_behind_ml"]
    assert (medium.value, medium.shipped, medium.changed) == (150, 120, True)
    assert (medium.unit, medium.meaning, medium.source) == ("mL", "Medium from this much behind.", "")
    high = told["retention.high_behind_ml"]
    assert (high.meaning, high.source) == ("Agreed in March.", "ward meeting, see the minutes")
    assert high.table == "retention"


def test_differences() -> None:
    shipped = load_thresholds()
    life = shipped.life.model_copy(update={"going_quiet_minutes": 7.0})
    fluids = shipped.wrong_fluid.model_copy(update={"right_without_order": ("saline_0_9", "water")})
    own = shipped.model_copy(update={"life": life, "wrong_fluid": fluids})
    found = {difference.path: (difference.here, difference.there) for difference in differences(own, shipped)}
    assert found == {
        "wrong_fluid.right_without_order": (["saline_0_9", "water"], ["saline_0_9"]),
        "life.going_quiet_minutes": (7.0, 5.0),
    }
    assert differences(shipped, shipped) == []
