"""A FHIR R4 bundle (type ``collection``) of one session and span: what other systems may read, in their terms.

- ``Patient`` carries only the local reference, ``Procedure`` the irrigation (SNOMED CT 78533007).
- Every hour and the whole span give ``Observation`` resources: irrigant in, gross drainage, gross out, net urine.
- LOINC is used only where a code truly means this figure: 9187-6 urine output (9188-4 in 1 h, 9192-6 in 24 h) for net
  urine; 9103-3 intake total and 9257-7 output total only where other fluids were charted too; 29463-7 body weight.
  Irrigant in, gross drainage, effluent grade, clots, bladder volume by ultrasound and the figures reckoned here carry
  codes of a local code system, as no LOINC code was found; it travels in the bundle with a definition of each. Gross
  drainage is never coded as urine.
- Units are UCUM. A negative net stays negative. A range is given as two ``component`` values; where there is no net,
  the observation has a ``dataAbsentReason`` and no value.
- The session's entries travel as ``DocumentReference`` in the form of a session file, so that the same bundle read back
  gives the same ledger.

Plain dicts are built here; tests validate them with ``fhir.resources`` (R4B, whose structures these resources share).
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from cbi_monitor.exports.borders import hour_borders
from cbi_monitor.exports.shift_types import Told
from cbi_monitor.exports.tables import gross_in, gross_out
from cbi_monitor.ledger.account import Row
from cbi_monitor.model import events as e
from cbi_monitor.model.canonical import canonical_bytes
from cbi_monitor.model.instants import hours, utc
from cbi_monitor.model.volumes import whole
from cbi_monitor.wording import say

LOCAL = "urn:cbi-monitor:codes"
GRADES = "urn:cbi-monitor:ward-effluent-scale"
LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"
UCUM = "http://unitsofmeasure.org"
ABSENT = "http://terminology.hl7.org/CodeSystem/data-absent-reason"
SESSION_FILE = "application/x-ndjson"

LOCAL_CODES = (
    "irrigant-in",
    "gross-drainage",
    "gross-out",
    "net-urine",
    "net-urine-low",
    "net-urine-high",
    "more-in-than-out",
    "effluent-grade",
    "clots",
    "bladder-volume-by-ultrasound",
)


def bundle(told: Told, session: str) -> dict[str, Any]:
    """The bundle as a dict. Same input, same dict."""
    patient = _entry("Patient", f"{session}/patient", _patient(told))
    subject = {"reference": patient["fullUrl"]}
    entries = [
        patient,
        _entry("CodeSystem", "codes", _code_system()),
        _entry("CodeSystem", "grades", _scale(told)),
    ]
    entries.append(_entry("Procedure", f"{session}/irrigation", _procedure(told, subject)))
    for name, resource in _observations(told, subject):
        entries.append(_entry("Observation", f"{session}/{name}", resource))
    entries.append(_entry("DocumentReference", f"{session}/entries", _document(told, subject)))
    made: dict[str, Any] = {
        "resourceType": "Bundle",
        "type": "collection",
        "timestamp": _instant(told, told.printed_at),
        "entry": entries,
    }
    if told.demo:
        made["meta"] = {
            "tag": [{"system": "http://terminology.hl7.org/CodeSystem/v3-ActReason", "code": "HTEST"}],
        }
    return made


def bundle_bytes(told: Told, session: str) -> bytes:
    """The bundle as JSON in UTF-8, keys sorted."""
    return json.dumps(bundle(told, session), ensure_ascii=False, sort_keys=True, indent=1).encode() + b"\n"


def session_file_in(content: bytes) -> bytes:
    """The session file that a bundle of ours carries. Raises ValueError, in words, where there is none."""
    try:
        read = json.loads(content)
    except ValueError as fault:
        raise ValueError(f"not JSON: {fault}; give a FHIR bundle that was exported here") from None
    if not isinstance(read, dict) or read.get("resourceType") != "Bundle":
        raise ValueError("not a FHIR Bundle; give a bundle that was exported here")
    for entry in read.get("entry", []):
        resource = entry.get("resource", {})
        if resource.get("resourceType") != "DocumentReference":
            continue
        for part in resource.get("content", []):
            attached = part.get("attachment", {})
            if attached.get("contentType") == SESSION_FILE and "data" in attached:
                data = base64.b64decode(attached["data"], validate=True)
                if base64.b64encode(
                    hashlib.sha1(data, usedforsecurity=False).digest()
                ).decode() != attached.get("hash"):
                    raise ValueError(
                        "the session file in this bundle does not fit its hash: it was changed on the way"
                    )
                return data
    raise ValueError("no session file in this bundle; other systems' bundles are read with a map, as CSV")


def _entry(kind: str, name: str, resource: dict[str, Any]) -> dict[str, Any]:
    digest = bytearray(hashlib.sha256(f"{kind}/{name}".encode()).digest()[:16])
    digest[6] = (digest[6] & 0x0F) | 0x80
    digest[8] = (digest[8] & 0x3F) | 0x80
    identity = str(UUID(bytes=bytes(digest)))
    return {"fullUrl": f"urn:uuid:{identity}", "resource": {"resourceType": kind, "id": identity, **resource}}


def _instant(told: Told, at: datetime) -> str:
    return told.teller.clock.iso(at)


def _patient(told: Told) -> dict[str, Any]:
    opened = told.as_stood.of(e.SessionOpened)
    if not opened:
        return {"active": True}
    return {
        "identifier": [
            {"use": "usual", "system": "urn:cbi-monitor:local-reference", "value": opened[0].patient}
        ]
    }


def _code_system() -> dict[str, Any]:
    return {
        "url": LOCAL,
        "name": "CbiMonitorCodes",
        "status": "active",
        "content": "complete",
        "concept": [
            {"code": code, "display": say(f"fhir-{code}"), "definition": say(f"fhir-{code}-means")}
            for code in LOCAL_CODES
        ],
    }


def _scale(told: Told) -> dict[str, Any]:
    """The ward's own effluent scale, palest first."""
    return {
        "url": GRADES,
        "name": "WardEffluentScale",
        "status": "active",
        "content": "complete",
        "concept": [
            {"code": grade.key, "display": grade.word, **({"definition": grade.hint} if grade.hint else {})}
            for grade in told.scale.grades
        ],
    }


def _procedure(told: Told, subject: Mapping[str, str]) -> dict[str, Any]:
    closed = told.as_stood.of(e.SessionClosed)
    period = {"start": _instant(told, told.opened_at or told.start)}
    if closed:
        period["end"] = _instant(told, closed[-1].at)
    made: dict[str, Any] = {
        "status": "completed" if closed else "in-progress",
        "code": {"coding": [{"system": SNOMED, "code": "78533007"}], "text": say("fhir-irrigation")},
        "subject": dict(subject),
        "performedPeriod": period,
        "note": [{"text": say("caution-aid")}],
    }
    return made


def _coded(*codings: tuple[str, str], text: str) -> dict[str, Any]:
    return {"coding": [{"system": system, "code": code} for system, code in codings], "text": text}


def _quantity(value: float, unit: str = "mL") -> dict[str, Any]:
    return {"value": value, "unit": unit, "system": UCUM, "code": unit}


def _measure(
    told: Told,
    subject: Mapping[str, str],
    codings: tuple[tuple[str, str], ...],
    text: str,
    start: datetime,
    end: datetime,
    value: float | None,
    *,
    low: float | None = None,
    high: float | None = None,
    note: str = "",
) -> dict[str, Any]:
    made: dict[str, Any] = {
        "status": "final",
        "code": _coded(*codings, text=text),
        "subject": dict(subject),
        "effectivePeriod": {"start": _instant(told, start), "end": _instant(told, end)},
    }
    if value is None:
        made["dataAbsentReason"] = {
            "coding": [{"system": ABSENT, "code": "unknown"}],
            "text": say("report-not-known"),
        }
    else:
        made["valueQuantity"] = _quantity(value)
        ends = [("net-urine-low", low), ("net-urine-high", high)]
        component = [
            {
                "code": _coded((LOCAL, code), text=say(f"fhir-{code}")),
                "valueQuantity": _quantity(whole(bound)),
            }
            for code, bound in ends
            if bound is not None
        ]
        if component:
            made["component"] = component
    if note:
        made["note"] = [{"text": note}]
    return made


def _urine_codes(row: Row) -> tuple[tuple[str, str], ...]:
    """Urine output, and the code for one hour or a day where the time is exactly that."""
    length = hours(row.end - row.start)
    timed = {1.0: "9188-4", 24.0: "9192-6"}.get(length)
    return ((LOINC, "9187-6"), *(((LOINC, timed),) if timed else ()))


def _of_row(
    told: Told, subject: Mapping[str, str], row: Row, name: str
) -> Iterable[tuple[str, dict[str, Any]]]:
    note = say("fhir-prorated") if row.prorated else ""
    period = (row.start, row.end)

    def local(code: str, value: float | None) -> tuple[str, dict[str, Any]]:
        made = _measure(told, subject, ((LOCAL, code),), say(f"fhir-{code}"), *period, value, note=note)
        return f"{name}/{code}", made

    yield local("irrigant-in", row.irrigant_in_ml)
    yield local("gross-drainage", row.drained_ml)
    yield local("gross-out", gross_out(row))
    means = say("fhir-at-least") if row.at_least else say("fhir-net-note")
    yield (
        f"{name}/net-urine",
        _measure(
            told,
            subject,
            (*_urine_codes(row), (LOCAL, "net-urine")),
            say("fhir-net-urine"),
            *period,
            row.net_ml,
            low=row.net_low_ml,
            high=row.net_high_ml,
            note=" ".join(part for part in (means, note) if part),
        ),
    )


def _observations(told: Told, subject: Mapping[str, str]) -> Iterable[tuple[str, dict[str, Any]]]:
    total, as_of = told.sum(), told.as_of
    if total is not None and as_of is not None:
        for number, row in enumerate(told.book.spans(hour_borders(told.ward, told.from_, as_of))):
            yield from _of_row(told, subject, row, f"hour-{number}")
        yield from _of_row(told, subject, total, "span")
        if total.other_in_ml or total.other_out_ml:
            yield from _totals(told, subject, total)
        if total.behind_ml is not None:
            yield (
                "span/behind",
                _measure(
                    told,
                    subject,
                    ((LOCAL, "more-in-than-out"),),
                    say("fhir-more-in-than-out"),
                    total.start,
                    total.end,
                    whole(total.behind_ml),
                ),
            )
    seen = [event for event in told.book.of(e.EffluentGraded) if told.inside(event.at)]
    for number, event in enumerate(seen):
        yield f"grade-{number}", _graded(told, subject, event)
    for number, scan in enumerate(event for event in told.book.of(e.BladderScanned) if told.inside(event.at)):
        made = _at(
            told, subject, ((LOCAL, "bladder-volume-by-ultrasound"),), "bladder-volume-by-ultrasound", scan.at
        )
        made["valueQuantity"] = _quantity(scan.volume_ml)
        yield f"scan-{number}", made
    weighed = [
        w for w in (*told.as_stood.of(e.SessionOpened), *told.as_stood.of(e.SessionDetails)) if w.weight_kg
    ]
    for number, details in enumerate(weighed):
        made = _at(told, subject, ((LOINC, "29463-7"),), "body-weight", details.at)
        made["valueQuantity"] = _quantity(details.weight_kg or 0.0, "kg")
        if details.weight_from in ("stated", "guessed"):
            made["note"] = [{"text": say(f"told-word-{details.weight_from}")}]
        yield f"weight-{number}", made


def _totals(told: Told, subject: Mapping[str, str], row: Row) -> Iterable[tuple[str, dict[str, Any]]]:
    """Intake and output with all other fluids that were charted, irrigation on both sides."""
    into, out = gross_in(row), gross_out(row)
    period = (row.start, row.end)
    for name, code, value in (
        ("intake", "9103-3", None if into is None else into + row.other_in_ml),
        ("output", "9257-7", None if out is None else out + row.other_out_ml),
    ):
        text = say(f"fhir-{name}")
        yield (
            f"span/{name}",
            _measure(told, subject, ((LOINC, code),), text, *period, value, note=say("fhir-gross-note")),
        )


def _at(
    told: Told, subject: Mapping[str, str], codings: tuple[tuple[str, str], ...], text: str, at: datetime
) -> dict[str, Any]:
    return {
        "status": "final",
        "code": _coded(*codings, text=say(f"fhir-{text}")),
        "subject": dict(subject),
        "effectiveDateTime": _instant(told, at),
    }


def _graded(told: Told, subject: Mapping[str, str], event: e.EffluentGraded) -> dict[str, Any]:
    made = _at(told, subject, ((LOCAL, "effluent-grade"),), "effluent-grade", event.at)
    known = told.scale.grade(event.grade)
    coding = {"coding": [{"system": GRADES, "code": event.grade}]} if known else {}
    made["valueCodeableConcept"] = {**coding, "text": told.teller.grade(event.grade)}
    if event.clots is not None:
        clots = {"text": say(f"told-word-clots-{event.clots}")}
        made["component"] = [
            {"code": _coded((LOCAL, "clots"), text=say("fhir-clots")), "valueCodeableConcept": clots}
        ]
    return made


def _document(told: Told, subject: Mapping[str, str]) -> dict[str, Any]:
    """The entries up to the end of the span as a session file: with corrections and strike-outs, in canonical bytes."""
    laid: list[e.Event] = []
    for entry in told.entries:
        if utc(entry.at) <= told.end:
            laid += [entry.event, *entry.corrections, *((entry.struck,) if entry.struck else ())]
    laid += [strike for strike in told.correction_strikes if strike.target in {event.id for event in laid}]
    data = b"".join(canonical_bytes(event) + b"\n" for event in laid)
    digest = hashlib.sha1(data, usedforsecurity=False).digest()  # FHIR R4 Attachment.hash is SHA-1
    return {
        "status": "current",
        "type": {"text": say("fhir-session-file")},
        "subject": dict(subject),
        "content": [
            {
                "attachment": {
                    "contentType": SESSION_FILE,
                    "data": base64.b64encode(data).decode(),
                    "hash": base64.b64encode(digest).decode(),
                    "title": say("fhir-session-file"),
                }
            }
        ],
    }
