"""One call writes a report into a folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from cbi_monitor.exports.report import write_report
from cbi_monitor.exports.safe import AlreadyThere
from tests.exports.sessions import HASH, SCALE, WARD, at, quiet


def test_names_and_no_overwriting(tmp_path: Path) -> None:
    paths = write_report(
        quiet(), WARD, SCALE, HASH, at(0), at(12), tmp_path, ["pdf", "csv"], printed_at=at(12)
    )
    assert (tmp_path / "bed-7_2026-03-02_0700_2026-03-02_1900_report.pdf") in paths
    assert all(path.stat().st_size for path in paths)
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    paths[0].unlink()
    with pytest.raises(AlreadyThere) as caught:
        write_report(quiet(), WARD, SCALE, HASH, at(0), at(12), tmp_path, ["pdf", "csv"], printed_at=at(12))
    assert len(caught.value.paths) == len(paths) - 1
    assert not paths[0].exists()  # nothing was written, not even the one that was missing
    again = write_report(
        quiet(), WARD, SCALE, HASH, at(0), at(12), tmp_path, ["pdf", "csv"], printed_at=at(12), overwrite=True
    )
    assert {path: path.read_bytes() for path in again} == before


def test_wrong_use_is_said_in_words(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="write pdf, csv, xlsx, fhir"):
        write_report(quiet(), WARD, SCALE, HASH, at(0), at(12), tmp_path, ["doc"], printed_at=at(12))
    with pytest.raises(ValueError, match="after its start"):
        write_report(quiet(), WARD, SCALE, HASH, at(12), at(0), tmp_path, ["pdf"], printed_at=at(12))
    assert not list(tmp_path.iterdir())
