"""Alerts, findings and remarks in the ward's words: facts become text by the ward's clock, sentences come by key."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from cbi_monitor.alerts.life import AlertState
from cbi_monitor.model.findings import Fact, Finding, Remark
from cbi_monitor.wording import say
from cbi_monitor.wording.alerts import AlertWords


class Words(AlertWords):
    """Says alerts (see ``AlertWords``), findings and remarks by the ward's clock and effluent scale."""

    def alert(self, state: AlertState, near: datetime | None = None) -> str:
        """An alert as it is shown now: what was seen, as of when, how sure, and the first act."""
        return self.text(state.reading, near)

    def finding(self, finding: Finding) -> str:
        """A finding's sentence. Volumes stay as charted."""
        facts = self._charted(finding.facts, finding.at)
        facts.setdefault("at", self.clock(finding.at))
        return say(f"finding-{finding.kind.replace('_', '-')}", **facts)

    def remark(self, remark: Remark) -> str:
        """A remark's sentence. Volumes stay as charted."""
        return say(f"remark-{remark.kind.replace('_', '-')}", **self._charted(remark.facts, None))

    def _charted(self, facts: Mapping[str, Fact], near: datetime | None) -> dict[str, Any]:
        return {name: self._plain(name, value, near) for name, value in facts.items()}

    def _plain(self, name: str, value: Fact, near: datetime | None) -> Any:
        if isinstance(value, float) and not value.is_integer() and abs(value) < 10:
            return round(value, 2)
        if isinstance(value, (int, float)) and not isinstance(value, bool):
            return round(value)
        return self._fact(name, value, near)
