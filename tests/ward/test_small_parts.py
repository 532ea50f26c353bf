"""Ids, clocks, the ward's files in force, the log, the heartbeat, expectations."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest
import structlog

from cbi_monitor.alerts.replay import replay
from cbi_monitor.journal.codec import read_session_file
from cbi_monitor.model.findings import Refused
from cbi_monitor.resources import demo_session
from cbi_monitor.settings import THRESHOLDS, WARD
from cbi_monitor.ward.clock import FixedClock, ShiftedClock, SystemClock
from cbi_monitor.ward.expectations import check
from cbi_monitor.ward.heartbeat import Heartbeat
from cbi_monitor.ward.ids import IdMaker
from cbi_monitor.ward.log import log_to
from cbi_monitor.ward.settings_in_force import InForce, WardFiles

NOW = datetime(2026, 3, 1, 9, 0, tzinfo=UTC)


def test_ids_are_uuid7_and_rise_also_when_the_clock_stands_or_goes_back() -> None:
    maker = IdMaker()
    made = [maker.new(NOW) for _ in range(5000)] + [maker.new(NOW - timedelta(hours=1)) for _ in range(10)]
    assert made == sorted(set(made))
    first = UUID(made[0])
    assert (first.version, first.variant) == (7, "specified in RFC 4122")
    assert first.int >> 80 == int(NOW.timestamp() * 1000)  # RFC 9562, 5.7: 48 bits of milliseconds first


def test_clocks() -> None:
    clock = FixedClock(NOW)
    assert clock.now() == NOW
    assert clock.move(minutes=15) == NOW + timedelta(minutes=15)
    clock.move_to(datetime(2026, 3, 1, 10, 0, tzinfo=UTC))
    assert ShiftedClock(timedelta(hours=-1), clock).now() == NOW
    assert SystemClock().now().utcoffset() == timedelta(0)
    with pytest.raises(ValueError, match="offset"):
        FixedClock(datetime(2026, 3, 1))  # noqa: DTZ001  that it is naive is the point


def test_files_in_force_strict_or_falling_back(tmp_path: Path) -> None:
    bad = tmp_path / "ward.toml"
    bad.write_text(WARD.shipped.replace('"Europe/London"', '"Europe/Lundon"'), "utf-8")
    with pytest.raises(Refused, match=r"ward\.toml:\d+:\d+: zone"):
        InForce(WardFiles(ward=bad), strict=True)
    fallen_back = InForce(WardFiles(ward=bad))
    assert fallen_back.ward == InForce().ward
    assert fallen_back.refusals
    assert fallen_back.notices
    bad.write_text(WARD.shipped.replace('"Europe/London"', '"Europe/Dublin"'), "utf-8")
    assert fallen_back.refresh()
    assert fallen_back.zone.key == "Europe/Dublin"
    assert not fallen_back.refusals


def test_the_last_good_file_outlives_a_restart(tmp_path: Path) -> None:
    file = tmp_path / "thresholds.toml"
    file.write_text(THRESHOLDS.shipped.replace("needs_u = 3", "needs_u = 4", 1), "utf-8")
    good = InForce(WardFiles(thresholds=file), state=tmp_path / "state").thresholds
    file.write_text("nonsense", "utf-8")
    again = InForce(WardFiles(thresholds=file), state=tmp_path / "state")
    assert again.thresholds == good
    assert again.refusals


def test_faults_go_to_the_log_file_as_json_lines_for_the_owner_only(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "deep" / "cbi_monitor.log"
    log_to(file)
    cause = ValueError("disk")
    structlog.get_logger("cbi_monitor.test").error("fault", reference="ABC123", exc_info=cause)
    (line,) = file.read_text("utf-8").splitlines()
    told = json.loads(line)
    assert (told["event"], told["reference"], told["level"]) == ("fault", "ABC123", "error")
    assert "ValueError: disk" in told["exception"]
    assert file.stat().st_mode & 0o777 == 0o600
    assert capsys.readouterr().out == ""


def test_a_heartbeat_that_cannot_be_left_stops_nothing(tmp_path: Path) -> None:
    beat = Heartbeat(tmp_path / "no" / "such" / "folder")
    beat.beat(NOW)
    assert beat.last() is None


EXPECTED = """
[[session]]
file = "{file}"
expect = [
  {{ condition = "no_outflow", priority = "high", from = 2026-04-11T21:00:00+01:00, to = 2026-04-11T21:30:00+01:00 }},
]
never = [ {{ condition = "low_urine" }} ]
"""


def test_expectations_that_hold_and_that_do_not(tmp_path: Path, rules: InForce) -> None:
    file = tmp_path / "expected.toml"
    session = demo_session("clot_block")
    told = replay(read_session_file(session), rules.ward, rules.scale, rules.thresholds)
    blocked = next(state.raised_at for state in told.alerts if state.condition == "no_outflow")
    early, late = (f"{blocked + timedelta(minutes=by):%Y-%m-%dT%H:%M:%SZ}" for by in (-5, 5))
    text = EXPECTED.format(file=session).replace("2026-04-11T21:00:00+01:00", early)
    text = text.replace("2026-04-11T21:30:00+01:00", late)
    file.write_text(text, "utf-8")
    assert check(file, rules).differences == ()
    assert check(file, rules).checked == 2
    earlier = text.replace(early, "2026-04-11T16:00:00Z").replace(late, "2026-04-11T16:10:00Z")
    earlier = earlier.replace("low_urine", "distress")
    file.write_text(earlier, "utf-8")
    wrong, never = check(file, rules).differences
    assert str(wrong).startswith(f"{file}:5: ")
    assert f"{blocked.astimezone(rules.zone):%H:%M} high" in wrong.text  # when it was raised instead
    assert str(never).startswith(f"{file}:7: ")


@pytest.mark.parametrize(
    ("change", "place", "word"),
    [
        (('"no_outflow"', '"no_outflo"'), ":5:", "no_outflow"),
        (('"high"', '"urgent"'), ":5:", "priority"),
        (("never", "nevr"), ":7:", "nevr"),
        (("+01:00, to", ", to"), ":5:", "timezone"),
        (("[[session]]", "[[session"), ":2:", ""),
    ],
)
def test_faults_of_an_expectations_file(
    change: tuple[str, str], place: str, word: str, tmp_path: Path, rules: InForce
) -> None:
    file = tmp_path / "expected.toml"
    file.write_text(EXPECTED.format(file="x.jsonl").replace(*change), "utf-8")
    with pytest.raises(Refused) as refused:
        check(file, rules)
    said = str(refused.value.refusals[0])
    assert said.startswith(f"{file}{place}")
    assert word in said
