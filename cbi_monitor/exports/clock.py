"""Instants as text by the ward's clock. No clock is read here."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from cbi_monitor.wording import say


class WardClock:
    """Writes instants by the ward's zone, 24-h."""

    def __init__(self, zone: str) -> None:
        """``zone``: an IANA name. Raises ZoneInfoNotFoundError."""
        self.zone = ZoneInfo(zone)

    def local(self, at: datetime) -> datetime:
        """The same instant by the ward's clock."""
        return at.astimezone(self.zone)

    def hm(self, at: datetime) -> str:
        """``07:05``."""
        return f"{self.local(at):%H:%M}"

    def hm_said(self, at: datetime) -> str:
        """``01:30``, or where the clock shows that hour twice ``01:30 (GMT)``: which of the two."""
        local = self.local(at)
        # A real instant never falls into the hour that the clock skips, so a difference means: shown twice.
        if local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset():
            return f"{local:%H:%M} ({local.tzname()})"
        return f"{local:%H:%M}"

    def day(self, at: datetime) -> str:
        """``Sun 1 Mar 2026``."""
        local = self.local(at)
        return say(
            "report-day",
            weekday=say(f"report-weekday-{local.isoweekday()}"),
            day=str(local.day),
            month=say(f"report-month-{local.month}"),
            year=str(local.year),
        )

    def day_hm(self, at: datetime) -> str:
        """``Sun 1 Mar 2026 07:05``."""
        return f"{self.day(at)} {self.hm_said(at)}"

    def near(self, at: datetime, beside: datetime) -> str:
        """The time alone when it is within 20 hours before or after ``beside``, else with its date."""
        if abs(at - beside) <= timedelta(hours=20):
            return self.hm_said(at)
        local = self.local(at)
        return f"{local.day} {say(f'report-month-{local.month}')} {self.hm_said(at)}"

    def iso(self, at: datetime) -> str:
        """ISO 8601 with the ward's offset."""
        return self.local(at).isoformat(timespec="seconds")

    def stamp(self, at: datetime) -> str:
        """For file names: ``2026-03-01_0705``, with the zone's letters in an hour that comes twice."""
        local = self.local(at)
        return f"{local:%Y-%m-%d_%H%M}" + (f"{local.tzname()}" if "(" in self.hm_said(at) else "")
