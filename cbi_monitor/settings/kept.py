"""A file of the ward as it is in force: taken when it passes, looked at again cheaply, the last good one kept.

A newer file with a fault changes nothing: the last good one stays in force, in this run and, by a copy in a state
folder, after a restart too; ``refusals`` says what is wrong until it is mended.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import secrets
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, Literal, TypeVar

from pydantic import BaseModel

from cbi_monitor.model.findings import Refusal, Refused
from cbi_monitor.settings.reading import Kind, Read, bytes_of_file, read, read_bytes
from cbi_monitor.wording import say

M = TypeVar("M", bound=BaseModel)
Origin = Literal["shipped", "file", "last_good"]

_SEAL = "# Copy of the last file that was read without a fault; do not edit. sha256 "


@dataclass(frozen=True, slots=True)
class _Stamp:
    modified_ns: int
    size: int
    inode: int


def _stamp(path: Path) -> _Stamp | None:
    try:
        seen = path.stat()
    except (OSError, ValueError):
        return None
    return _Stamp(seen.st_mtime_ns, seen.st_size, seen.st_ino)


class Kept(Generic[M]):
    """One of the ward's files as it is in force.

    ``value``, ``text`` and ``sha256`` (of the text) always belong together. ``origin``: the file itself; the
    ``last_good`` one (kept in this run or, after a restart, as a copy); the shipped one, where no path is given or
    nothing else was ever good. ``refusals``: what is wrong with the file as it lies there now; empty when that is in
    force.
    """

    def __init__(self, kind: Kind[M], path: Path | None = None, state: Path | None = None) -> None:
        """Read the file. Raises nothing for what is in it: with a fault the last good or the shipped one is in force.

        ``path`` None: the shipped file. ``state``: the folder for the copy; None: nothing outlives this run.
        """
        self.kind = kind
        self.path = path
        self.refusals: tuple[Refusal, ...] = ()
        self.copy_failed = ""
        self._copy = _copy_path(kind, path, state) if path is not None and state is not None else None
        self._stamp: _Stamp | None = None
        self._settled = False
        self._digest = ""
        self._in_force: Read[M] = read(kind)
        self.origin: Origin = "shipped"
        if path is not None and not self._take():
            good = self._kept_copy()
            if good is not None:
                self._in_force, self.origin = good, "last_good"

    @property
    def value(self) -> M:
        """What is in force."""
        return self._in_force.value

    @property
    def text(self) -> str:
        """Its text, as it lay in the file."""
        return self._in_force.text

    @property
    def sha256(self) -> str:
        """The hash of that text in UTF-8, in hexadecimal digits."""
        return self._in_force.sha256

    @property
    def notice(self) -> str:
        """The line for the screen while file and force differ; empty when they agree."""
        if self.refusals and self.path is not None:
            key = "settings-shipped-in-force" if self.origin == "shipped" else "settings-last-good-in-force"
            return say(key, file=self.path.name, count=len(self.refusals))
        if self.copy_failed and self.path is not None:
            return say("settings-copy-not-kept", file=self.path.name, why=self.copy_failed)
        return ""

    def refresh(self) -> bool:
        """Look whether the file has changed, and take it if it passes.

        True when what is in force, or what is wrong with the file, is now another. Where nothing changed it costs one
        ``stat``; only the first look after a change reads the file once more, because a file may be written again
        within one tick of its clock.
        """
        if self.path is None:
            return False
        if self._settled and _stamp(self.path) == self._stamp:
            return False
        before = (self.sha256, self.origin, self.refusals)
        self._take()
        return before != (self.sha256, self.origin, self.refusals)

    def _take(self) -> bool:
        """Read the file; True when it is now in force."""
        if self.path is None:
            return False
        stamp, before = _stamp(self.path), self._digest
        self._digest, self._settled = "", False
        try:
            data = bytes_of_file(self.path)
            self._digest = hashlib.sha256(data).hexdigest()
            if self._digest == before:
                self._stamp, self._settled = stamp, True
                return not self.refusals
            new = read_bytes(self.kind, data, str(self.path))
        except Refused as refused:
            self.refusals = refused.refusals
            if self.origin == "file":
                self.origin = "last_good"
            return False
        self.refusals = ()
        self._in_force, self.origin = new, "file"
        self._keep_copy(new.text)
        return True

    # --- the copy that outlives the run ---

    def _keep_copy(self, text: str) -> None:
        self.copy_failed = ""
        if self._copy is None:
            return
        sealed = _SEAL + hashlib.sha256(text.encode()).hexdigest() + "\n" + text
        beside = self._copy.with_name(f".{self._copy.name}.{secrets.token_hex(4)}")
        try:
            self._copy.parent.mkdir(parents=True, exist_ok=True)
            with open(beside, "xb", opener=_private) as file:
                file.write(sealed.encode())
                file.flush()
                os.fsync(file.fileno())
            beside.replace(self._copy)
        except OSError as error:
            # The values are in force all the same; the notice says that the next start may not have them.
            self.copy_failed = error.strerror or str(error)
            with contextlib.suppress(OSError):
                beside.unlink()

    def _kept_copy(self) -> Read[M] | None:
        """The last good text, where the copy is whole and this program still takes it."""
        if self._copy is None:
            return None
        try:
            sealed = bytes_of_file(self._copy)
        except Refused:
            return None
        head, _, body = sealed.partition(b"\n")
        if head.decode("ascii", "replace") != _SEAL + hashlib.sha256(body).hexdigest():
            return None
        try:
            return read_bytes(self.kind, body, str(self._copy))
        except Refused:
            return None


def _private(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _copy_path(kind: Kind[M], path: Path, state: Path) -> Path:
    """One copy a file: two wards on one machine do not share theirs."""
    mark = hashlib.sha256(os.fsencode(path.absolute())).hexdigest()[:12]
    stem = re.sub(r"[^A-Za-z0-9_-]", "_", path.stem)[:40]
    return state / f"{kind.name}-{stem}-{mark}.last-good.toml"
