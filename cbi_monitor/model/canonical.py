"""The one way in which an event is written: canonical bytes, derived ids, total order."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from cbi_monitor.model.events import Event, line_of, rank_of
from cbi_monitor.model.instants import utc

OrderKey = tuple[datetime, int, str, bytes]

# Made once: json.dumps would make one for every event.
_ENCODER = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)


def _plain(value: Any) -> Any:
    if isinstance(value, float) and value.is_integer():
        return int(value)
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    return value


def payload_of(event: Event) -> dict[str, Any]:
    """The fields that were written, as JSON values; absent optional ones and nulls are left out.

    Nulls inside ``fields`` of a correction stay: there they remove a field.
    """
    written = event.model_dump(mode="json", by_alias=True, exclude_unset=True)
    payload = {name: _plain(value) for name, value in written.items() if value is not None}
    payload["event"] = event.event
    if not payload.get("id"):
        payload.pop("id", None)
    return payload


def overlaid(entry: Event, fields: Mapping[str, Any]) -> dict[str, Any]:
    """An entry's payload with some fields said anew, as a correction says them; null removes one.

    Both spellings of a volume are one field here too.
    """
    payload = payload_of(entry)
    for name, value in fields.items():
        written = "volume" if name == "volume_ml" and name not in type(entry).model_fields else name
        if value is None:
            payload.pop(written, None)
        else:
            payload[written] = value
    return payload


def bytes_of(payload: dict[str, Any]) -> bytes:
    """Canonical JSON: UTF-8, keys sorted, no spaces, whole numbers without a point. Raises ValueError on NaN."""
    return _ENCODER.encode(payload).encode()


def canonical_bytes(event: Event) -> bytes:
    """Canonical bytes of one event; reading them back gives an equal event."""
    return bytes_of(payload_of(event))


def derived_id(payload: dict[str, Any], nth: int) -> str:
    """The id of an entry that came without one: a UUIDv8 (RFC 9562) of its payload and its count among equals.

    ``nth`` counts from 0 the entries of the same payload before it in the file, so that importing twice adds nothing.
    """
    bare = {name: value for name, value in payload.items() if name != "id"}
    digest = bytearray(hashlib.sha256(bytes_of(bare) + b"\x00" + str(nth).encode()).digest()[:16])
    digest[6] = (digest[6] & 0x0F) | 0x80
    digest[8] = (digest[8] & 0x3F) | 0x80
    return str(UUID(bytes=bytes(digest)))


def with_derived_ids(events: Iterable[Event]) -> list[Event]:
    """The same events, each with an id."""
    seen: dict[bytes, int] = {}
    result: list[Event] = []
    for event in events:
        if event.id:
            result.append(event)
            continue
        payload = payload_of(event)
        key = bytes_of(payload)
        nth = seen.get(key, 0)
        seen[key] = nth + 1
        result.append(event.model_copy(update={"id": derived_id(payload, nth)}))
    return result


def order_key(event: Event) -> OrderKey:
    """The total order, the same on every machine: (at, rank of the kind, line, canonical bytes)."""
    return (utc(event.at), rank_of(event), line_of(event), canonical_bytes(event))
