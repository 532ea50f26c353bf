"""Events of every kind as Hypothesis makes them: from each class's own fields, then kept to what fields say together.

``events(session=...)`` gives any readable event by itself. ``charts(session=...)`` gives whole sessions that a journal
accepts: lines with bags on them, corrections and strike-outs of entries that are there. ``payloads(kind)`` gives what
stands in a file for one kind.
"""

from __future__ import annotations

import types
import typing
from datetime import UTC, datetime, timedelta, timezone
from typing import Any, Literal
from uuid import UUID

from annotated_types import Ge, Gt, Le, MaxLen, MinLen
from hypothesis import strategies as st
from pydantic.fields import FieldInfo
from pydantic.types import StringConstraints

from cbi_monitor.journal import codec
from cbi_monitor.model.events import KINDS, Corrected, Event, StruckOut

START = datetime(2026, 3, 29, tzinfo=UTC)  # the day on which the clocks of many countries go forward
COMMON = ("event", "session", "at", "recorded", "by", "id", "check", "for_whom", "source")

_TEXT = st.text(st.characters(codec="utf-8"), min_size=1, max_size=12)
_OFFSETS = st.sampled_from(
    [0, 60, -300, 345, 765, -720]
)  # minutes; Nepal and the Chatham Islands have odd ones


def instants(start: datetime = START, hours: float = 72) -> st.SearchStrategy[datetime]:
    """Aware times within some hours of a start, on whole seconds or finer, in any offset."""
    seconds = st.integers(0, int(hours * 3600))
    finer = st.sampled_from([0, 0, 0, 1, 500_000])
    return st.builds(
        lambda s, us, offset: (start + timedelta(seconds=s, microseconds=us)).astimezone(
            timezone(timedelta(minutes=offset))
        ),
        seconds,
        finer,
        _OFFSETS,
    )


def _text_instants() -> st.SearchStrategy[str]:
    return instants().map(lambda at: at.isoformat())


def _numbers(limits: dict[str, float], whole: bool) -> st.SearchStrategy[Any]:
    low, high = limits.get("ge", limits.get("gt", -5000)), min(limits.get("le", 5000), 5000)
    wholes = st.integers(int(low) + ("gt" in limits), int(high))
    if whole:
        return wholes
    halves = st.integers(int(low) * 8 + ("gt" in limits), int(high) * 8).map(lambda n: n / 8)
    return wholes | halves


def _of(annotation: Any, metadata: tuple[Any, ...] = ()) -> st.SearchStrategy[Any]:
    """What may stand in a file for a field annotated like this."""
    origin = typing.get_origin(annotation)
    if origin is typing.Annotated:
        inner, *more = typing.get_args(annotation)
        return _of(inner, (*metadata, *more))
    if origin is Literal:
        return st.sampled_from(typing.get_args(annotation))
    if origin in (typing.Union, types.UnionType):
        return st.one_of(*(_of(part, metadata) for part in typing.get_args(annotation)))
    if annotation is types.NoneType:
        return st.none()
    if annotation is bool:
        return st.booleans()
    if annotation is datetime:
        return _text_instants()
    if annotation in (float, int):
        return _numbers(_limits(metadata), annotation is int)
    if annotation is str:
        limits = _limits(metadata)
        return _TEXT if limits.get("min", 0) else _TEXT | st.just("")
    if origin is tuple:
        return st.lists(_of(typing.get_args(annotation)[0]), max_size=3)
    if origin is dict:
        return st.dictionaries(_TEXT, _of(typing.get_args(annotation)[1]), max_size=3)
    if annotation is Any:
        return st.none() | st.booleans() | st.integers(-9, 9) | _TEXT
    raise TypeError(f"no strategy for {annotation!r}")


def _limits(metadata: tuple[Any, ...]) -> dict[str, float]:
    found: dict[str, float] = {}
    for piece in metadata:
        inner = piece.metadata if isinstance(piece, FieldInfo) else [piece]
        for one in inner:
            match one:
                case Ge(ge=limit):
                    found["ge"] = limit
                case Gt(gt=limit):
                    found["gt"] = limit
                case Le(le=limit):
                    found["le"] = limit
                case MinLen(min_length=length):
                    found["min"] = length
                case MaxLen(max_length=length):
                    found["max"] = length
                case StringConstraints(min_length=length) if length:
                    found["min"] = length
    return found


@st.composite
def payloads(
    draw: st.DrawFn, kind: type[Event], session: str = "s", *, with_id: bool = True
) -> dict[str, Any]:
    """What may stand on a line for one kind of event; readable by itself."""
    name = kind.model_fields["event"].default
    payload: dict[str, Any] = {"event": name, "session": session, "at": draw(_text_instants())}
    if with_id:
        payload["id"] = str(UUID(int=draw(st.integers(1, 2**128 - 1))))
    for field, told in kind.model_fields.items():
        if field in ("event", "session", "at", "id"):
            continue
        if told.is_required() or draw(st.integers(0, 2)) == 0:
            payload[told.alias or field] = draw(_of(told.annotation, tuple(told.metadata)))
    return draw(_brought_together(kind, payload))


@st.composite
def _brought_together(draw: st.DrawFn, kind: type[Event], payload: dict[str, Any]) -> dict[str, Any]:
    """The payload, kept to what its fields say together."""
    ways: list[tuple[str, ...]] = [(name,) for name in getattr(kind, "measures", ())]
    match payload["event"]:
        case "washout":
            ways = [("instilled_ml",), ("pushes", "syringe_ml")]
        case "inflow_set":
            ways = [("ml_per_h",), ("drops_per_min", "drops_per_ml"), ("setting",)]
        case "bag_hung" if payload.get("measured_ml") is not None:
            payload.pop("measured_g", None)
        case "drainage_bag_placed" if payload.get("old_contents_ml") is not None:
            payload.pop("old_mass_g", None)
        case "outflow_seen" if payload.get("how") in ("none", "steady"):
            payload["running"] = payload["how"] == "steady"
        case "corrected":
            field = draw(st.sampled_from(["at", "line", "label_ml", "left_ml", "volume", "text"]))
            payload["fields"] = {field: draw(_of(Any))}
    if ways:
        for way in ways:
            for name in way:
                payload.pop(name, None)
        can_be_unmeasured = "not_measured" in kind.model_fields
        payload.pop("not_measured", None)
        way = draw(st.sampled_from([*ways, ("not_measured",)] if can_be_unmeasured else ways))
        for name in way:
            told = kind.model_fields[name]
            value = True if name == "not_measured" else None
            while value is None:
                value = draw(_of(told.annotation, tuple(told.metadata)))
            payload[name] = value
    return payload


@st.composite
def events(draw: st.DrawFn, session: str = "s", kinds: tuple[type[Event], ...] = KINDS) -> Event:
    """One readable event of any kind, with an id."""
    kind = draw(st.sampled_from(kinds))
    return codec.read_event(draw(payloads(kind, session)))


@st.composite
def charts(draw: st.DrawFn, session: str = "s", most: int = 12) -> list[Event]:
    """The entries of one session that a journal accepts, in the order in which they may come in."""
    chart: list[Event] = []
    ids = draw(st.lists(st.uuids(), min_size=most + 4, max_size=most + 4, unique=True).map(iter))

    def written(**payload: Any) -> Event:
        return codec.read_event({"session": session, "id": str(next(ids)), **payload})

    start = START.isoformat()
    chart.append(written(event="session_opened", at=start, patient=draw(_TEXT)))
    lines = draw(st.lists(st.sampled_from(["A", "B"]), max_size=2, unique=True))
    chart.extend(
        written(event="bag_hung", at=start, line=line, label_ml=3000, fluid="saline_0.9") for line in lines
    )
    usual = tuple(
        kind for kind in KINDS if kind.model_fields["event"].default not in ("session_opened", "bag_hung")
    )
    for _ in range(draw(st.integers(0, most))):
        kind = draw(st.sampled_from(usual))
        payload = draw(payloads(kind, session)) | {"id": str(next(ids))}
        if kind is StruckOut:
            payload["target"] = draw(st.sampled_from([e.id for e in chart if not isinstance(e, StruckOut)]))
        elif kind is Corrected:
            first = [e for e in chart if not isinstance(e, (Corrected, StruckOut))]
            payload["target"] = draw(st.sampled_from([e.id for e in first]))
            payload["fields"] = {"by": draw(_TEXT | st.none())}
        elif "line" in payload:
            if not lines:
                continue
            payload["line"] = draw(st.sampled_from(lines))
        chart.append(codec.read_event(payload))
    return chart
