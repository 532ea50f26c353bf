"""The last good file stays in force: within a run, across restarts, whatever happens to the newer one."""

from __future__ import annotations

import hashlib
import os
from pathlib import Path
from unittest.mock import patch

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cbi_monitor.model.findings import Refused
from cbi_monitor.settings import SCALE, THRESHOLDS, WARD, Kept, load_thresholds, read_bytes

GOOD = THRESHOLDS.shipped
OTHER = GOOD.replace("going_quiet_minutes = 5", "going_quiet_minutes = 7")
BAD = GOOD.replace("going_quiet_minutes = 5", 'going_quiet_minutes = "five"')


def write(path: Path, text: str) -> None:
    path.write_bytes(text.encode())


@pytest.fixture
def path(tmp_path: Path) -> Path:
    file = tmp_path / "thresholds.toml"
    write(file, GOOD)
    return file


def quiet(kept: Kept) -> float:
    return float(kept.value.life.going_quiet_minutes)


def test_without_a_path_the_shipped_one_is_in_force() -> None:
    kept = Kept(WARD)
    assert kept.origin == "shipped"
    assert not kept.refresh()
    assert kept.text == WARD.shipped
    assert kept.sha256 == hashlib.sha256(WARD.shipped.encode()).hexdigest()
    assert kept.notice == ""


def test_a_newer_good_file_is_taken(path: Path) -> None:
    kept = Kept(THRESHOLDS, path)
    assert kept.origin == "file"
    assert not kept.refresh()
    write(path, OTHER)
    assert kept.refresh()
    assert quiet(kept) == 7
    assert kept.text == OTHER
    assert kept.sha256 == hashlib.sha256(OTHER.encode()).hexdigest()
    assert not kept.refresh()


def test_a_newer_bad_file_changes_nothing_and_is_named(path: Path) -> None:
    kept = Kept(THRESHOLDS, path)
    write(path, BAD)
    assert kept.refresh()
    assert (quiet(kept), kept.text, kept.origin) == (5, GOOD, "last_good")
    (slip,) = kept.refusals
    assert slip.field == "life.going_quiet_minutes"
    assert "last read without a fault stays in force" in kept.notice
    assert "thresholds.toml" in kept.notice
    assert not kept.refresh()
    write(path, OTHER)
    assert kept.refresh()
    assert (quiet(kept), kept.refusals, kept.origin, kept.notice) == (7, (), "file", "")


def test_a_mended_file_equal_to_the_last_good_one_clears_the_notice(path: Path) -> None:
    kept = Kept(THRESHOLDS, path)
    write(path, BAD)
    kept.refresh()
    write(path, GOOD)
    assert kept.refresh()
    assert kept.refusals == ()
    assert kept.origin == "file"


def test_a_file_that_is_gone_leaves_the_last_good_one(path: Path) -> None:
    kept = Kept(THRESHOLDS, path)
    path.unlink()
    assert kept.refresh()
    assert quiet(kept) == 5
    assert "cannot be opened" in str(kept.refusals[0])
    assert not kept.refresh()
    write(path, OTHER)
    assert kept.refresh()
    assert quiet(kept) == 7


def test_same_size_and_same_time_are_noticed_at_the_next_look(path: Path) -> None:
    """Two writes within one tick of the file's clock: the first look after a change always reads once more."""
    kept = Kept(THRESHOLDS, path)
    before = path.stat()
    write(path, OTHER)
    os.utime(path, ns=(before.st_atime_ns, before.st_mtime_ns))
    assert kept.refresh()
    assert quiet(kept) == 7


def test_a_quiet_file_costs_one_stat(path: Path) -> None:
    kept = Kept(THRESHOLDS, path)
    kept.refresh()
    with patch("cbi_monitor.settings.kept.bytes_of_file", side_effect=AssertionError("read")):
        for _ in range(3):
            assert not kept.refresh()


# --- across restarts ------------------------------------------------------------------------------------------------


def test_the_last_good_one_outlives_a_restart(path: Path, tmp_path: Path) -> None:
    state = tmp_path / "state"
    write(path, OTHER)
    Kept(THRESHOLDS, path, state)
    write(path, BAD)
    again = Kept(THRESHOLDS, path, state)
    assert (quiet(again), again.text, again.origin) == (7, OTHER, "last_good")
    assert again.refusals
    path.unlink()
    assert quiet(Kept(THRESHOLDS, path, state)) == 7


def test_the_copy_is_private_and_alone(path: Path, tmp_path: Path) -> None:
    state = tmp_path / "state"
    Kept(THRESHOLDS, path, state)
    (copy,) = state.iterdir()
    assert copy.stat().st_mode & 0o777 == 0o600


def test_without_any_good_one_the_shipped_is_in_force(path: Path, tmp_path: Path) -> None:
    write(path, BAD)
    kept = Kept(THRESHOLDS, path, tmp_path / "state")
    assert (kept.origin, kept.value) == ("shipped", load_thresholds())
    assert "shipped values are in force" in kept.notice
    assert kept.refresh() is False
    write(path, OTHER)
    assert kept.refresh()
    assert kept.origin == "file"


@pytest.mark.parametrize("harm", ["digit", "cut", "empty", "seal"])
def test_a_damaged_copy_is_not_believed(path: Path, tmp_path: Path, harm: str) -> None:
    state = tmp_path / "state"
    write(path, OTHER)
    Kept(THRESHOLDS, path, state)
    (copy,) = state.iterdir()
    data = copy.read_bytes()
    harmed = {
        "digit": data.replace(b"going_quiet_minutes = 7", b"going_quiet_minutes = 9"),
        "cut": data[:-40],
        "empty": b"",
        "seal": data[70:],
    }[harm]
    assert harmed != data
    copy.write_bytes(harmed)
    write(path, BAD)
    kept = Kept(THRESHOLDS, path, state)
    assert kept.origin == "shipped"
    assert quiet(kept) == 5


def test_two_files_do_not_share_a_copy(path: Path, tmp_path: Path) -> None:
    state = tmp_path / "state"
    other = tmp_path / "b" / "thresholds.toml"
    other.parent.mkdir()
    write(other, OTHER)
    Kept(THRESHOLDS, path, state)
    Kept(THRESHOLDS, other, state)
    write(path, BAD)
    write(other, BAD)
    assert quiet(Kept(THRESHOLDS, path, state)) == 5
    assert quiet(Kept(THRESHOLDS, other, state)) == 7


def test_a_copy_that_cannot_be_saved_is_said(path: Path, tmp_path: Path) -> None:
    state = tmp_path / "state"
    state.write_text("a file where the folder should be")
    kept = Kept(THRESHOLDS, path, state)
    assert kept.origin == "file"
    assert "could not be saved" in kept.notice


def test_other_kinds_are_kept_too(tmp_path: Path) -> None:
    path = tmp_path / "effluent.toml"
    write(path, SCALE.shipped.replace('word = "pink"', 'word = "rosé"'))
    kept = Kept(SCALE, path, tmp_path)
    assert kept.value.grades[2].word == "rosé"


# --- whatever comes -------------------------------------------------------------------------------------------------

VERSIONS = st.lists(
    st.one_of(
        st.sampled_from([GOOD, OTHER, BAD, "", "[", GOOD[:-9], GOOD + "[life]\n"]).map(str.encode),
        st.binary(max_size=40),
        st.none(),
        st.just(b"restart"),
    ),
    max_size=8,
)


@given(VERSIONS)
def test_in_force_is_always_the_last_good_one(
    tmp_path_factory: pytest.TempPathFactory, versions: list[bytes | None]
) -> None:
    folder = tmp_path_factory.mktemp("kept")
    path, state = folder / "t.toml", folder / "state"
    write(path, GOOD)
    kept, last = Kept(THRESHOLDS, path, state), GOOD
    for version in versions:
        if version == b"restart":
            kept = Kept(THRESHOLDS, path, state)
        elif version is None:
            path.unlink(missing_ok=True)
            kept.refresh()
        else:
            path.write_bytes(version)
            kept.refresh()
            try:
                last = read_bytes(THRESHOLDS, version, "").text
            except Refused:
                assert kept.refusals
            else:
                assert not kept.refusals
        assert kept.text == last
        assert kept.value == read_bytes(THRESHOLDS, last.encode(), "").value
        assert kept.sha256 == hashlib.sha256(last.encode()).hexdigest()
