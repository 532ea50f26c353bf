"""The ward's three files as they stand in force: looked at again while the program runs, the last good one kept.

A file that does not pass changes nothing: the last good one stays (a shipped one where none ever was), and ``refusals``
and ``notices`` say so until it is mended.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.settings import SCALE, THRESHOLDS, WARD, Kept


@dataclass(frozen=True, slots=True)
class WardFiles:
    """Where the ward's files lie; None: the shipped one stands in."""

    ward: Path | None = None
    scale: Path | None = None
    thresholds: Path | None = None


class InForce:
    """Ward file, effluent scale and thresholds as they are in force."""

    def __init__(
        self, files: WardFiles | None = None, *, strict: bool = False, state: Path | None = None
    ) -> None:
        """Read the files.

        ``strict``: raise Refused with every fault of every file instead of falling back (for commands that reckon
        once). ``state``: a folder in which the last good files are kept for the next start.
        """
        self.files = files or WardFiles()
        self._ward = Kept(WARD, self.files.ward, state)
        self._scale = Kept(SCALE, self.files.scale, state)
        self._thresholds = Kept(THRESHOLDS, self.files.thresholds, state)
        self.zone = ZoneInfo(self.ward.zone)
        if strict and self.refusals:
            raise Refused(self.refusals)

    @property
    def _all(self) -> tuple[Kept[Any], ...]:
        return (self._ward, self._scale, self._thresholds)

    @property
    def ward(self) -> WardRules:
        """How the ward measures, checks and names things."""
        return self._ward.value

    @property
    def scale(self) -> EffluentScale:
        """The ward's effluent scale."""
        return self._scale.value

    @property
    def thresholds(self) -> Thresholds:
        """Every number that can raise an alert."""
        return self._thresholds.value

    @property
    def thresholds_text(self) -> str:
        """The text of the threshold file that is in force, as the journal keeps it."""
        return self._thresholds.text

    @property
    def thresholds_hash(self) -> str:
        """SHA-256 of that text, in hexadecimal digits."""
        return self._thresholds.sha256

    @property
    def refusals(self) -> tuple[Refusal, ...]:
        """What is wrong with the files as they lie there now; empty when they and what is in force agree."""
        return tuple(refusal for kept in self._all for refusal in kept.refusals)

    @property
    def notices(self) -> tuple[str, ...]:
        """A line for the screen for each file that differs from what is in force."""
        return tuple(kept.notice for kept in self._all if kept.notice)

    def refresh(self) -> bool:
        """Look whether a file has changed and take it if it passes; one ``stat`` a file where nothing has.

        True when something in force, or what is wrong with a file, is now another.
        """
        changed = [kept.refresh() for kept in self._all]
        if any(changed):
            self.zone = ZoneInfo(self.ward.zone)
        return any(changed)
