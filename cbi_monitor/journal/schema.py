"""One line of a session file as JSON Schema 2020-12, for whoever writes session files with another program."""

from __future__ import annotations

from typing import Any

from cbi_monitor.model.events import (
    KINDS,
    NEVER_CORRECTED,
    BagHung,
    Corrected,
    DrainageBagPlaced,
    Event,
    InflowSet,
    OutflowSeen,
    Washout,
)

DIALECT = "https://json-schema.org/draft/2020-12/schema"

Schema = dict[str, Any]


def session_schema() -> Schema:
    """The schema of one line: one of all kinds of event, told apart by ``event``.

    What entries are together (targets, lines, one opening) is not for a schema: reading the file checks that.
    """
    kinds = {kind.model_fields["event"].default: _of(kind) for kind in KINDS}
    return {
        "$schema": DIALECT,
        "$id": "urn:cbi-monitor:session-line:1",
        "title": "One line of a session file of continuous bladder irrigation",
        "description": "Volumes are millilitres, masses grams, times ISO 8601 with their offset from UTC.",
        "oneOf": [{"$ref": f"#/$defs/{name}"} for name in kinds],
        "$defs": kinds,
    }


def _of(kind: type[Event]) -> Schema:
    schema = kind.model_json_schema(mode="validation", by_alias=True)
    schema.pop("title", None)
    properties = schema["properties"]
    for told in properties.values():
        told.pop("title", None)
        told.pop("default", None)
    # The reader lets an id be left out, not empty; every line says its kind.
    properties["id"]["description"] = "Left out: derived from the line."
    schema["required"] = sorted({*schema.get("required", ()), "event"})
    schema["allOf"] = _together(kind)
    if "volume" in properties and "volume_ml" not in properties:
        properties["volume_ml"] = {**properties["volume"], "description": "Another spelling of volume."}
        schema["allOf"].append({"not": {"required": ["volume", "volume_ml"]}})
    if not schema["allOf"]:
        del schema["allOf"]
    return schema


def _given(*names: str) -> Schema:
    """These fields are there and not null."""
    return {"required": list(names), "properties": {name: {"not": {"type": "null"}} for name in names}}


def _said(name: str, value: bool | str) -> Schema:
    return {"required": [name], "properties": {name: {"const": value}}}


def _not_both(first: str, second: str) -> Schema:
    return {"not": {"allOf": [_given(first), _given(second)]}}


def _both_or_neither(first: str, second: str) -> Schema:
    return {"anyOf": [_given(first, second), {"not": {"anyOf": [_given(first), _given(second)]}}]}


def _together(kind: type[Event]) -> list[Schema]:
    """What the fields of one entry must keep to together."""
    rules: list[Schema] = []
    measures: tuple[str, ...] = getattr(kind, "measures", ())
    if measures:
        ways = [_said("not_measured", True), *(_given(name) for name in measures)]
        if "volume" in measures:
            ways.append(_given("volume_ml"))
        implied = {"extent": _given("extent"), "found_empty": _said("found_empty", True)}
        stands_for = [rule for name, rule in implied.items() if name in kind.model_fields]
        # An extent or "found empty" alone stands for a measure; more than one measure never.
        rules.append({"anyOf": [*ways, *stands_for]})
        rules.append({"anyOf": [{"oneOf": ways}, {"not": {"anyOf": ways}}]})
    if kind is Washout:
        rules.append({"oneOf": [_said("not_measured", True), _given("instilled_ml"), _given("pushes")]})
        rules.append(_both_or_neither("pushes", "syringe_ml"))
    if kind is InflowSet:
        rules.append({"oneOf": [_given("ml_per_h"), _given("drops_per_min"), _given("setting")]})
        rules.append(_both_or_neither("drops_per_min", "drops_per_ml"))
    if kind is BagHung:
        rules.append(_not_both("measured_ml", "measured_g"))
    if kind is DrainageBagPlaced:
        rules.append(_not_both("old_contents_ml", "old_mass_g"))
    if kind is OutflowSeen:
        rules.append({"not": {"allOf": [_said("running", True), _said("how", "none")]}})
        rules.append({"not": {"allOf": [_said("running", False), _said("how", "steady")]}})
    if kind is Corrected:
        never: Schema = dict.fromkeys(NEVER_CORRECTED, False)
        rules.append({"properties": {"fields": {"minProperties": 1, "properties": never}}})
    return rules
