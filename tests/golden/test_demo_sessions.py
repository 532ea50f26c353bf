"""The demo sessions are what their plot says, byte for byte. ``CBI_BLESS=1`` writes them anew."""

from __future__ import annotations

import os

import pytest

from cbi_monitor.journal.codec import read_session_file, session_bytes
from cbi_monitor.practice.authored import STORIES, Story
from cbi_monitor.resources import folder

BLESS = bool(os.environ.get("CBI_BLESS"))
NAMES = [tell.__name__ for tell in STORIES]
TOLD = {tell.__name__: tell for tell in STORIES}


def story(name: str) -> Story:
    return TOLD[name]()


def same(name: str, suffix: str, now: bytes) -> None:
    """The file beside the demo sessions holds these bytes; blessing writes it."""
    path = folder("demo_sessions") / f"{name}{suffix}"
    if BLESS:
        path.write_bytes(now)
    assert path.read_bytes() == now, f"{path.name} is not what the plot tells; CBI_BLESS=1 writes it anew"


@pytest.mark.parametrize("name", NAMES)
def test_the_chart_is_what_the_plot_tells(name: str) -> None:
    events, _ = story(name).tell()
    same(name, ".jsonl", session_bytes(events))


@pytest.mark.parametrize("name", NAMES)
def test_two_lines_say_what_it_teaches(name: str) -> None:
    told = story(name)
    title = told.name.replace("_", " ").capitalize()
    same(name, ".md", f"# {title}\n\n{told.teaches}\n".encode())
    assert told.teaches.count("\n") == 1


@pytest.mark.parametrize("name", NAMES)
def test_it_lasts_half_a_day_to_three_days_and_reads_back(name: str) -> None:
    events = read_session_file(folder("demo_sessions") / f"{name}.jsonl")
    hours = (events[-1].at - events[0].at).total_seconds() / 3600
    assert 12 <= hours <= 72
    assert events[0].event == "session_opened"
    assert len({event.session for event in events}) == 1
    assert len({event.by for event in events}) >= 2
    assert any(event.event == "handed_over" for event in events)


def test_there_are_seven_beds() -> None:
    beds = {read_session_file(folder("demo_sessions") / f"{name}.jsonl")[0].bed for name in NAMES}
    assert beds == {"7A", "3B", "12", "5C", "1A", "9", "2D"}


def test_the_night_has_its_hour_twice() -> None:
    """Europe/London, 25 October 2026: at 01:00 UTC the clock goes from 02:00 back to 01:00 (IANA time zone data)."""
    events = read_session_file(folder("demo_sessions") / "clock_goes_back.jsonl")
    before = [one for one in events if one.at.utcoffset().total_seconds() == 3600]
    after = [one for one in events if one.at.utcoffset().total_seconds() == 0]
    assert max(one.at for one in before).isoformat() < "2026-10-25T02:00:00+01:00"
    assert min(one.at for one in after).isoformat() >= "2026-10-25T01:00:00+00:00"
    twice = {one.at.hour for one in before if one.at.day == 25} & {one.at.hour for one in after}
    assert twice == {1}
