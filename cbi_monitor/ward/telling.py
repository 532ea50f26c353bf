"""Findings, remarks and alerts in the ward's words: facts become text by the ward's clock, sentences come by key."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo
from typing import Any

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.alerts.readings import Reading
from cbi_monitor.model.findings import Fact, Finding, Remark
from cbi_monitor.model.ward import EffluentScale
from cbi_monitor.wording import say


@dataclass(frozen=True)
class Words:
    """Says things by the ward's clock and by its effluent scale."""

    zone: tzinfo
    scale: EffluentScale

    def facts(self, facts: Mapping[str, Fact]) -> dict[str, Any]:
        """The figures of a sentence: times as the ward's clock shows them, volumes whole, grades by their word."""
        return {name: self._fact(name, value) for name, value in facts.items()}

    def _fact(self, name: str, value: Fact) -> Any:
        if isinstance(value, datetime):
            return f"{value.astimezone(self.zone):%H:%M}"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if value is None:
            return "unknown"
        if isinstance(value, float):
            return round(value) if abs(value) >= 10 or value.is_integer() else round(value, 2)
        if isinstance(value, str) and name.endswith("grade"):
            known = self.scale.grade(value)
            return known.word if known is not None else value
        return value

    def alert(self, state: AlertState) -> str:
        """An alert as it is shown: what was seen, as of when, how sure, and the first act."""
        return " ".join((self.says(state.reading), self.first_act(state.reading)))

    def says(self, reading: Reading) -> str:
        """What was seen, as of when, how sure."""
        return say(reading.says, **self.facts(reading.facts))

    def first_act(self, reading: Reading) -> str:
        """The first act."""
        return say(reading.first_act, **self.facts(reading.facts))

    def finding(self, finding: Finding) -> str:
        """A finding's sentence."""
        facts = self.facts(finding.facts)
        facts.setdefault("at", self._fact("at", finding.at))
        return say(f"finding-{finding.kind.replace('_', '-')}", **facts)

    def remark(self, remark: Remark) -> str:
        """A remark's sentence."""
        return say(f"remark-{remark.kind.replace('_', '-')}", **self.facts(remark.facts))
