"""What a ward file must keep to beyond the type of each value: names that exist, pairs in order, no two alike."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple
from zoneinfo import ZoneInfo, available_timezones

from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.settings.faults import guess, listed
from cbi_monitor.settings.layout import Path


class Breach(NamedTuple):
    """A rule that is not kept: the key that is blamed, the sentence's kind and facts, the other keys it rests on."""

    path: Path
    kind: str
    write: str | None
    facts: dict[str, str]
    rests_on: tuple[Path, ...] = ()


def ward_breaches(ward: WardRules) -> Iterator[Breach]:
    """Everything in a ward file that its type lets pass and no ward can mean."""
    yield from _zone(ward)
    yield from _shifts(ward)
    yield from _pairs(ward)
    yield from _in_order(ward)
    if ward.default_fluid not in ward.fluids:
        facts = {"given": f'"{ward.default_fluid}"', "known": listed(ward.fluids)}
        yield Breach(("default_fluid",), "fluid-unknown", None, facts, (("fluids",),))
    for table in ("irrigant_tare_g", "drainage_tare_g"):
        for size in getattr(ward.sizes, table):
            if not size.isdecimal() or int(size) == 0:
                yield Breach(("sizes", table, size), "tare-size", None, {})


def scale_breaches(scale: EffluentScale) -> Iterator[Breach]:
    """Two words or two swatches alike, and borders in the wrong order."""
    for field in ("word", "swatch"):
        seen: dict[str, int] = {}
        for nth, grade in enumerate(scale.grades):
            said = str(getattr(grade, field)).casefold()
            if said in seen:
                facts = {"given": f'"{getattr(grade, field)}"', "other": f"grades[{seen[said] + 1}].{field}"}
                yield Breach(("grades", nth, field), "same", None, facts, (("grades", seen[said], field),))
            seen.setdefault(said, nth)
    coloured, red = scale.step(scale.coloured_from), scale.step(scale.red_from)
    if coloured is not None and red is not None and coloured > red:
        facts = {"a": scale.coloured_from, "b": scale.red_from, "large": "red_from", "words": "at-most"}
        example = 'coloured_from = "pink", red_from = "red"'
        yield Breach(
            ("coloured_from",), "out-of-order", None, {**facts, "example": example}, (("red_from",),)
        )


def _zone(ward: WardRules) -> Iterator[Breach]:
    try:
        ZoneInfo(ward.zone)
    except (OSError, ValueError, LookupError):
        near = guess(ward.zone, available_timezones())
        facts = {"given": f'"{ward.zone}"', "guess": near or ""}
        yield Breach(("zone",), "zone", "zone-guess" if near else None, facts)


def _shifts(ward: WardRules) -> Iterator[Breach]:
    for field in ("name", "starts"):
        seen: dict[object, int] = {}
        for nth, shift in enumerate(ward.shifts):
            said = getattr(shift, field)
            if said in seen:
                facts = {"given": f'"{said:%H:%M}"' if field == "starts" else f'"{said}"'}
                facts["other"] = f"shifts[{seen[said] + 1}].{field}"
                yield Breach(("shifts", nth, field), "same", None, facts, (("shifts", seen[said], field),))
            seen.setdefault(said, nth)
    for nth, shift in enumerate(ward.shifts):
        if shift.starts.tzinfo is not None:
            facts = {
                "given": f'"{shift.starts.isoformat()}"',
                "form": '"HH:MM"',
                "example": 'starts = "07:00"',
            }
            yield Breach(("shifts", nth, "starts"), "pattern", None, facts)


def _pairs(ward: WardRules) -> Iterator[Breach]:
    for name in ("slow", "moderate", "fast", "wide_open", "unknown"):
        low, high = getattr(ward.rates, name)
        if low > high:
            yield Breach(("rates", name), "pair", None, {"low": f"{low:g}", "high": f"{high:g}"})


_ORDERED: tuple[tuple[str, str, str, str], ...] = (
    ("check_plan", "first_every", "at-most", "first_for"),
    ("check_plan", "first_every", "at-most", "then_every"),
    ("check_plan", "then_every", "at-most", "later_every"),
    ("check_plan", "after_trouble_every", "at-most", "later_every"),
    ("looks", "not_more_often_than_when_troubled", "at-most", "not_more_often_than"),
    ("looks", "not_more_often_than", "at-most", "at_least_every"),
    ("bladder", "residue_ml", "at-most", "residue_high_ml"),
    ("bladder", "residue_high_ml", "below", "limit_ml"),
    ("bladder", "limit_ml", "below", "most_ml"),
    ("urine", "low", "at-most", "usual"),
    ("urine", "usual", "at-most", "most"),
)


def _in_order(ward: WardRules) -> Iterator[Breach]:
    for table, small, words, large in _ORDERED:
        a, b = getattr(getattr(ward, table), small), getattr(getattr(ward, table), large)
        if not (a < b if words == "below" else a <= b):
            facts = {"a": f"{a:g}", "b": f"{b:g}", "large": large, "words": words}
            yield Breach((table, small), "out-of-order", None, facts, ((table, large),))


Breaches = Callable[..., Iterator[Breach]]
