"""Files written whole or not at all, and never over another one unasked."""

from __future__ import annotations

import os
import secrets
from pathlib import Path


class AlreadyThere(Exception):
    """A file of that name exists and nobody said that it may be overwritten; nothing was written."""

    def __init__(self, paths: tuple[Path, ...]) -> None:
        self.paths = paths
        names = ", ".join(str(path) for path in paths)
        super().__init__(
            f"already there, not overwritten: {names}; take another folder, or say that it may be overwritten"
        )


def refuse_existing(paths: list[Path], *, overwrite: bool) -> None:
    """Raise AlreadyThere with every one of ``paths`` that exists, unless ``overwrite``."""
    if not overwrite:
        there = tuple(path for path in paths if path.exists())
        if there:
            raise AlreadyThere(there)


def write_whole(path: Path, content: bytes, *, overwrite: bool = False) -> Path:
    """Write ``content`` to ``path``: into a new file beside it, on disk, then renamed.

    A fault (disk full, no right) leaves what was there before and no half file; OSError goes on to the caller.
    Without ``overwrite`` an existing file is kept, even one that appears while we write: AlreadyThere.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    refuse_existing([path], overwrite=overwrite)
    beside = path.with_name(f".{path.name}.{secrets.token_hex(4)}.part")
    try:
        handle = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with os.fdopen(handle, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        if overwrite:
            beside.replace(path)
        else:
            try:
                os.link(beside, path)
            except FileExistsError:
                raise AlreadyThere((path,)) from None
            except OSError:
                # Some shares know no hard links; the check above is then all there is.
                refuse_existing([path], overwrite=False)
                beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    _sync_folder(path.parent)
    return path


def _sync_folder(folder: Path) -> None:
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:
        return  # Windows and some shares do not open folders; the file itself is on disk
    try:
        os.fsync(handle)
    except OSError:
        return  # a share that cannot sync a folder; the file itself is on disk
    finally:
        os.close(handle)
