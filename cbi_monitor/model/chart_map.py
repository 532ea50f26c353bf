"""How another chart's table becomes events: the content of a map file as a type.

No defaults here: a map says everything that its chart needs; what may be absent is absent (None).
"""

from __future__ import annotations

import re
from datetime import timedelta, timezone
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

Words = Annotated[str, Field(min_length=1, max_length=500)]
Factor = Annotated[float, Field(gt=0, le=1e6, allow_inf_nan=False)]
Fixed = str | bool | int | float

_OFFSET = re.compile(r"([+-])(\d\d):([0-5]\d)")


def fixed_zone(text: str) -> timezone | None:
    """The offset that a text like ``+01:00`` names; None where it is none (then it may be a zone's name)."""
    found = _OFFSET.fullmatch(text)
    if found is None or int(found[2]) > 14:
        return None
    span = timedelta(hours=int(found[2]), minutes=int(found[3]))
    return timezone(-span if found[1] == "-" else span)


class _Piece(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class ChartForm(_Piece):
    """The table's form.

    ``zone``: an IANA name, or an offset like ``+01:00``, for times that say none. ``time_format``: as Python's
    ``strptime`` has it; absent: ISO 8601. ``clock_going_back``: which of the two hours a time is in that a clock showed
    twice. ``opens_sessions``: whether each session gets its opening from this chart.
    """

    encoding: Words
    delimiter: Annotated[str, Field(min_length=1, max_length=1)]
    decimal: Literal[".", ","]
    zone: Words
    time_format: Words | None = None
    clock_going_back: Literal["first", "second", "refuse"]
    session_prefix: Annotated[str, Field(max_length=100)]
    opens_sessions: bool


class ChartColumns(_Piece):
    """The names of the columns. ``marked_wrong``: a column whose words (``wrong_words``) take an entry back."""

    session: Words
    charted: Words
    stored: Words | None = None
    item: Words
    value: Words
    unit: Words | None = None
    by: Words | None = None
    marked_wrong: Words | None = None
    wrong_words: tuple[str, ...] | None = None


class ChartSessions(_Piece):
    """A second table with one row a session: its file, beside the chart, and its columns."""

    file: Words
    id: Words
    patient: Words | None = None
    bed: Words | None = None
    weight_kg: Words | None = None
    age_years: Words | None = None
    sex: Words | None = None
    sex_words: dict[str, Literal["male", "female", "other", "unknown"]] | None = None
    operation: Words | None = None
    opened: Words | None = None
    closed: Words | None = None
    closed_reason: Words | None = None


class ChartItem(_Piece):
    """What one item code becomes.

    ``value_to``: the event's field that takes the value: a number where ``unit`` is given, else a text, by ``values``
    (the chart's word to ours) or as it stands, after ``text_before``. ``leave_out``: words of the chart that are
    counted and not taken. ``fields``: what is the same for every row.
    """

    words: Words
    event: Words
    value_to: Words
    unit: Words | None = None
    values: dict[str, Words] | None = None
    leave_out: tuple[str, ...] | None = None
    text_before: Words | None = None
    fields: dict[str, Fixed] | None = None


class ChartMap(_Piece):
    """The whole map. ``units``: for each unit of an item, the chart's spellings and what one of them amounts to.

    ``left_out``: item codes that are known, counted, and not taken, with the reason.
    """

    chart: ChartForm
    columns: ChartColumns
    sessions: ChartSessions | None = None
    units: dict[str, dict[str, Factor]]
    items: Annotated[dict[str, ChartItem], Field(min_length=1)]
    left_out: dict[str, Words] | None = None
