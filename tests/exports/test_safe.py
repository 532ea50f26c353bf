"""Files are written whole or not at all and never over another one unasked."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from cbi_monitor.exports import safe
from cbi_monitor.exports.safe import AlreadyThere, write_whole


def test_writes_and_leaves_nothing_beside(tmp_path: Path) -> None:
    write_whole(tmp_path / "new folder" / "a.csv", b"one")
    assert [path.name for path in (tmp_path / "new folder").iterdir()] == ["a.csv"]
    assert (tmp_path / "new folder" / "a.csv").read_bytes() == b"one"


def test_keeps_what_is_there(tmp_path: Path) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(b"old")
    with pytest.raises(AlreadyThere, match="not overwritten"):
        write_whole(file, b"new")
    assert file.read_bytes() == b"old"
    write_whole(file, b"new", overwrite=True)
    assert file.read_bytes() == b"new"


def test_a_file_that_appears_meanwhile_is_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "a.csv"
    real = os.fsync

    def another_program_writes(handle: int) -> None:
        real(handle)
        if not file.exists():
            file.write_bytes(b"theirs")

    monkeypatch.setattr(safe.os, "fsync", another_program_writes)
    with pytest.raises(AlreadyThere):
        write_whole(file, b"ours")
    assert file.read_bytes() == b"theirs"


def test_a_full_disk_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "a.csv"
    file.write_bytes(b"old")

    def full(_handle: int) -> None:
        raise OSError(errno.ENOSPC, "no space left")

    monkeypatch.setattr(safe.os, "fsync", full)
    with pytest.raises(OSError, match="no space"):
        write_whole(file, b"new", overwrite=True)
    assert file.read_bytes() == b"old"
    assert [path.name for path in tmp_path.iterdir()] == ["a.csv"]
