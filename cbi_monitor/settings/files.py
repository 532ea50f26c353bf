"""The ward's files as types: the ward file, the effluent scale, the thresholds."""

from __future__ import annotations

from pathlib import Path

from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.settings.reading import SCALE, THRESHOLDS, WARD, read


def load_ward(path: Path | None = None) -> WardRules:
    """The ward file; None: the shipped one. Raises Refused with file:line:column of every fault."""
    return read(WARD, path).value


def load_scale(path: Path | None = None) -> EffluentScale:
    """The effluent scale; None: the shipped one. Raises Refused with file:line:column of every fault."""
    return read(SCALE, path).value


def load_thresholds(path: Path | None = None) -> Thresholds:
    """The threshold file; None: the shipped one. Raises Refused with file:line:column of every fault."""
    return read(THRESHOLDS, path).value
