"""Maps of other charts: read like the ward's files, and checked against the events they speak of."""

from __future__ import annotations

import codecs
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Union, get_args, get_origin
from zoneinfo import ZoneInfo, available_timezones

from cbi_monitor.model.chart_map import ChartItem, ChartMap, fixed_zone
from cbi_monitor.model.events import BY_NAME, META_KINDS, Event
from cbi_monitor.resources import folder
from cbi_monitor.settings.checks import Breach
from cbi_monitor.settings.faults import guess, listed
from cbi_monitor.settings.reading import Kind, read

_COMMON = frozenset(Event.model_fields)


def load_chart_map(path: Path) -> ChartMap:
    """The map of another chart. Raises Refused with file:line:column of every fault."""
    return read(CHART_MAP, path).value


def shipped_maps() -> tuple[Path, ...]:
    """The example maps, by name."""
    return tuple(sorted((folder("demo_sessions") / "maps").glob("*.toml")))


def _example() -> str:
    return (folder("demo_sessions") / "maps" / "intensive_care_flowsheet.toml").read_bytes().decode("utf-8")


def map_breaches(chart_map: ChartMap) -> Iterator[Breach]:
    """Events, fields, units, encodings and zones that a map names and that are not there."""
    yield from _form(chart_map)
    for code, item in chart_map.items.items():
        yield from _item(("items", code), item, chart_map)
    for code in chart_map.left_out or {}:
        if code in chart_map.items:
            facts = {"given": f'"{code}"', "other": f"items.{code}"}
            yield Breach(("left_out", code), "same", "map-item-twice", facts)


def _form(chart_map: ChartMap) -> Iterator[Breach]:
    form = chart_map.chart
    try:
        codecs.lookup(form.encoding)
    except LookupError:
        yield Breach(("chart", "encoding"), "map-encoding", None, {"given": f'"{form.encoding}"'})
    if fixed_zone(form.zone) is None:
        try:
            ZoneInfo(form.zone)
        except (OSError, ValueError, LookupError):
            near = guess(form.zone, available_timezones())
            facts = {"given": f'"{form.zone}"', "guess": near or ""}
            yield Breach(("chart", "zone"), "zone", "zone-guess" if near else "map-zone", facts)
    if (chart_map.columns.marked_wrong is None) != (chart_map.columns.wrong_words is None):
        yield Breach(("columns",), "map-together", None, {"one": "marked_wrong", "other": "wrong_words"})
    sessions = chart_map.sessions
    if sessions is not None:
        if (sessions.sex is None) != (sessions.sex_words is None):
            yield Breach(("sessions",), "map-together", None, {"one": "sex", "other": "sex_words"})
        if (sessions.closed is None) != (sessions.closed_reason is None):
            yield Breach(("sessions",), "map-together", None, {"one": "closed", "other": "closed_reason"})


def _item(path: tuple[str, str], item: ChartItem, chart_map: ChartMap) -> Iterator[Breach]:
    kind = BY_NAME.get(item.event)
    if kind is None or kind in META_KINDS:
        known = [name for name, one in BY_NAME.items() if one not in META_KINDS]
        near = guess(item.event, known)
        facts = {"given": f'"{item.event}"', "known": listed(known), "guess": f'"{near}"'}
        yield Breach((*path, "event"), "map-event", "word-guess" if near else "word", facts)
        return
    fields = [name for name in kind.model_fields if name not in _COMMON]
    if item.value_to not in fields:
        yield _no_field((*path, "value_to"), item.value_to, item.event, fields)
    elif _is_number(kind, item.value_to) != (item.unit is not None):
        which = "map-needs-unit" if item.unit is None else "map-no-unit"
        yield Breach((*path, "value_to"), which, None, {"field": item.value_to, "event": item.event})
    for name in item.fields or {}:
        if name not in fields or name == item.value_to:
            yield _no_field(
                (*path, "fields", name), name, item.event, [one for one in fields if one != item.value_to]
            )
    if item.unit is not None and item.unit not in chart_map.units:
        facts = {"given": f'"{item.unit}"', "known": listed(chart_map.units)}
        yield Breach((*path, "unit"), "map-unit", None, facts, (("units",),))


def _no_field(path: tuple[str, ...], given: str, event: str, fields: list[str]) -> Breach:
    near = guess(given, fields)
    facts = {"given": f'"{given}"', "event": event, "known": listed(fields), "guess": f'"{near}"'}
    return Breach(path, "map-field", "word-guess" if near else "word", facts)


def _is_number(kind: type[Event], field: str) -> bool:
    return _numeric(kind.model_fields[field].annotation)


def _numeric(shape: Any) -> bool:
    if hasattr(shape, "__metadata__"):
        return _numeric(get_args(shape)[0])
    if get_origin(shape) in (Union, types.UnionType):
        return any(_numeric(kind) for kind in get_args(shape))
    return shape in (int, float)


CHART_MAP: Kind[ChartMap] = Kind("map", ChartMap, "intensive_care_flowsheet.toml", map_breaches, _example)
