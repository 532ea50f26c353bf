"""The ward's files as they stand in force: loaded once, looked at again when a file changes, the last good one kept.

A file that does not pass changes nothing: the last good one stays, and ``refusals`` says what is wrong with the new
one until it is mended.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar
from zoneinfo import ZoneInfo

from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.model.ward import EffluentScale, WardRules
from cbi_monitor.settings import load_scale, load_thresholds, load_ward

if TYPE_CHECKING:
    from cbi_monitor.alerts.thresholds import Thresholds

T = TypeVar("T")
Stamp = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class WardFiles:
    """Where the ward's files lie; None: the shipped one stands in."""

    ward: Path | None = None
    scale: Path | None = None
    thresholds: Path | None = None


def _stamp(path: Path | None) -> Stamp | None:
    if path is None:
        return None
    try:
        seen = path.stat()
    except OSError:
        return None
    return (seen.st_mtime_ns, seen.st_size, seen.st_ino)


def _text(path: Path | None, shipped: str) -> str:
    if path is None:
        return resources.files("cbi_monitor.settings").joinpath("shipped", shipped).read_text("utf-8")
    return path.read_text("utf-8")


class InForce:
    """Ward file, effluent scale and thresholds as they are in force."""

    ward: WardRules
    scale: EffluentScale
    thresholds: Thresholds
    thresholds_text: str
    thresholds_hash: str
    zone: ZoneInfo

    def __init__(self, files: WardFiles | None = None) -> None:
        """Load all three. Raises Refused with every fault of every file: at the start there is no last good one."""
        self.files = files or WardFiles()
        self._stamps: dict[str, Stamp | None] = {}
        self._refused: dict[str, tuple[Refusal, ...]] = {}
        for name in ("ward", "scale", "thresholds"):
            self._load(name)
        if self._refused:
            raise Refused(self.refusals)

    @property
    def refusals(self) -> tuple[Refusal, ...]:
        """What is wrong with a file as it lies there now; empty when the files and what is in force agree."""
        return tuple(refusal for name in sorted(self._refused) for refusal in self._refused[name])

    def refresh(self) -> bool:
        """Look whether a file has changed and take it if it passes. True when something in force, or the list of
        refusals, is now another. The last good file stays where the new one is refused or gone."""
        changed = False
        for name in ("ward", "scale", "thresholds"):
            path = getattr(self.files, name)
            if path is not None and _stamp(path) != self._stamps.get(name):
                before = self._refused.get(name)
                changed = self._load(name) or before != self._refused.get(name) or changed
        return changed

    def _load(self, name: str) -> bool:
        path: Path | None = getattr(self.files, name)
        self._stamps[name] = _stamp(path)
        try:
            if name == "ward":
                new_ward = _read(load_ward, path)
                new_zone = _zone(new_ward.zone, path)
                self.ward, self.zone = new_ward, new_zone
            elif name == "scale":
                self.scale = _read(load_scale, path)
            else:
                thresholds = _read(load_thresholds, path)
                text = _text(path, "thresholds.toml")
                self.thresholds, self.thresholds_text = thresholds, text
                self.thresholds_hash = hashlib.sha256(text.encode()).hexdigest()
        except Refused as refused:
            self._refused[name] = refused.refusals
            return False
        self._refused.pop(name, None)
        return True


def _read(load: Callable[[Path | None], T], path: Path | None) -> T:
    try:
        return load(path)
    except OSError as fault:
        what = f"cannot be read ({fault.strerror or fault})"
        raise Refused((Refusal(str(path), 0, 0, "", what, "name a file that is there and may be read"),)) from fault


def _zone(name: str, path: Path | None) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (OSError, ValueError, KeyError) as fault:
        refusal = Refusal(
            str(path or "ward.toml"), 0, 0, "zone", f"{name!r} is no time zone", 'write an IANA name, like "Europe/London"'
        )
        raise Refused((refusal,)) from fault
