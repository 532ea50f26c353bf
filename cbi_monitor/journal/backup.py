"""Backing a journal up and restoring it: verified, never over something that is there, for the owner only.

A backup is one file in SQLite's plain mode (no ``-wal`` beside it), made by SQLite's online backup, so that saving goes
on meanwhile.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import sqlite3
from collections.abc import Callable
from pathlib import Path

from cbi_monitor.journal.codec import sync_folder
from cbi_monitor.journal.integrity import verify
from cbi_monitor.journal.opening import OWNER_ONLY, fault_of, opened, told
from cbi_monitor.journal.port import Fault, Verdict
from cbi_monitor.journal.words import refusal
from cbi_monitor.model.findings import Refused

Progress = Callable[[int, int], None]
"""Told how many pages are done, of how many."""


def backup(journal: Path | str, target: Path | str, *, progress: Progress | None = None) -> Verdict:
    """Copy a journal, whole and verified, into a file that is not there yet. What is saved meanwhile may be in it.

    Raises Refused where the target is there already, or the copy does not verify (the journal itself is damaged);
    Fault where there is no journal, a newer program wrote it, or the disk fails. Nothing half-written stays.
    """
    return _copy(Path(journal), Path(target), "backup", progress)


def restore(backup_file: Path | str, journal: Path | str, *, progress: Progress | None = None) -> Verdict:
    """Put a backup in the place of a journal, where none is. The backup is verified first.

    Raises Refused where a journal stands there already or the backup does not verify; Fault where there is no backup, a
    newer program wrote it, or the disk fails.
    """
    return _copy(Path(backup_file), Path(journal), "restore", progress)


def _copy(source: Path, target: Path, doing: str, progress: Progress | None) -> Verdict:
    for there in (target, target.with_name(target.name + "-wal")):
        if there.exists() or there.is_symlink():
            raise Refused((refusal(f"{doing}-there-already", where=str(there)),))
    beside = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        verdict = _copied(source, beside, progress)
        if not verdict.whole:
            places = tuple(
                refusal(f"{doing}-not-whole", where=str(source), line=one.seq, text=one.text)
                for one in verdict.breaks
            )
            raise Refused(places)
        _flush(beside)
        _put(beside, target, doing)
    except Fault as fault:
        fault.place = fault.place or str(source)
        raise told(fault, doing) from fault.__cause__
    except (sqlite3.Error, OSError) as cause:
        raise told(fault_of(cause, target), doing) from cause
    finally:
        for rest in ("", "-journal", "-wal", "-shm"):
            beside.with_name(beside.name + rest).unlink(missing_ok=True)
    return verdict


def _copied(source: Path, beside: Path, progress: Progress | None) -> Verdict:
    """The copy, made and verified; for a journal that another program has open too."""
    step = None if progress is None else lambda _, left, pages: progress(pages - left, pages)
    beside.parent.mkdir(parents=True, exist_ok=True)
    os.close(os.open(beside, os.O_CREAT | os.O_EXCL | os.O_RDWR, OWNER_ONLY))
    with (
        contextlib.closing(opened(source, create=False, read_only=True, busy_seconds=5)) as here,
        contextlib.closing(sqlite3.connect(beside, isolation_level=None)) as there,
    ):
        here.backup(there, pages=-1 if progress is None else 256, progress=step)
        there.execute("PRAGMA journal_mode = DELETE")
        return verify(there)


def _flush(file: Path) -> None:
    handle = os.open(file, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _put(beside: Path, target: Path, doing: str) -> None:
    """Give the finished file its name, unless somebody took the name meanwhile."""
    try:
        os.link(beside, target)
    except FileExistsError:
        raise Refused((refusal(f"{doing}-there-already", where=str(target)),)) from None
    except OSError:
        # A file system without hard links: hold the name first, then move over our own empty file.
        try:
            os.close(os.open(target, os.O_CREAT | os.O_EXCL, OWNER_ONLY))
        except FileExistsError:
            raise Refused((refusal(f"{doing}-there-already", where=str(target)),)) from None
        beside.replace(target)
    sync_folder(target.parent)
