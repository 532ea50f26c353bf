"""Findings, remarks and alerts in the ward's words: facts become text by the ward's clock, sentences come by key."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, tzinfo
from typing import Any

from cbi_monitor.model.findings import Fact, Finding, Remark
from cbi_monitor.wording import say


def facts_said(facts: Mapping[str, Fact], zone: tzinfo) -> dict[str, Any]:
    """The figures of a sentence: times as the ward's clock shows them, volumes whole, yes and no as words."""
    return {name: _fact(value, zone) for name, value in facts.items()}


def _fact(value: Fact, zone: tzinfo) -> Any:
    if isinstance(value, datetime):
        return f"{value.astimezone(zone):%H:%M}"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return round(value) if abs(value) >= 10 or value.is_integer() else round(value, 2)
    return "unknown" if value is None else value


def finding_said(finding: Finding, zone: tzinfo) -> str:
    """A finding's sentence."""
    return _said("finding", finding.kind, finding.facts, finding.at, zone)


def remark_said(remark: Remark, zone: tzinfo) -> str:
    """A remark's sentence; a finding that stands as a remark on its row has the finding's."""
    return _said("remark", remark.kind, remark.facts, None, zone)


def _said(what: str, kind: str, facts: Mapping[str, Fact], at: datetime | None, zone: tzinfo) -> str:
    said = facts_said(facts, zone)
    if at is not None:
        said.setdefault("at", _fact(at, zone))
    return say(f"{what}-{kind.replace('_', '-')}", **said)
