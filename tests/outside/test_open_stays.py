"""Three real intensive-care stays with irrigation, against net urine as public research SQL computed it.

Source: MIMIC-III Clinical Database Demo 1.4 (PhysioNet, ODbL 1.0); the oracle is ``urine_output.sql`` of
MIT-LCP/mimic-code (commit 8bcbd19, MIT), run unmodified on the same tables: irrigant in is negated, everything charted
at one time is summed, negatives are kept. The dates were shifted into the 2100s and 2200s by the data's owner. None of
it is part of the project: the folder is named by CBI_OPEN_DATA.
"""

from __future__ import annotations

import csv
from collections import Counter, defaultdict
from datetime import UTC, datetime, timedelta
from itertools import accumulate
from pathlib import Path

import pytest

from cbi_monitor.alerts.replay import replay
from cbi_monitor.journal.charts import ReadChart, read_chart
from cbi_monitor.journal.codec import read_session_file, write_session_file
from cbi_monitor.ledger.account import Row
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model.canonical import payload_of
from cbi_monitor.model.events import BY_NAME, Event
from cbi_monitor.model.instants import format_instant, parse_instant
from cbi_monitor.resources import folder
from cbi_monitor.settings import load_chart_map, load_scale, load_thresholds, load_ward

OUTPUTS = "mimiciii_demo14_gu_outputevents.csv"
OBSERVATIONS = "mimiciii_demo14_gu_chartevents.csv"
STAYS = "mimiciii_demo14_gu_stays.csv"
ORACLE = "oracle_mimiciii_demo14_urine_output.csv"


@pytest.fixture(scope="module")
def outputs(open_data: Path) -> ReadChart:
    chart_map = load_chart_map(folder("demo_sessions") / "maps" / "intensive_care_flowsheet.toml")
    return read_chart(open_data / OUTPUTS, chart_map, open_data / STAYS)


@pytest.fixture(scope="module")
def observations(open_data: Path) -> ReadChart:
    chart_map = load_chart_map(folder("demo_sessions") / "maps" / "intensive_care_observations.toml")
    return read_chart(open_data / OBSERVATIONS, chart_map)


@pytest.fixture(scope="module")
def oracle(open_data: Path) -> dict[str, dict[datetime, int]]:
    """Running net urine, mL, by stay and charted time."""
    charted: dict[str, dict[datetime, float]] = defaultdict(dict)
    with (open_data / ORACLE).open(encoding="utf-8") as file:
        for row in csv.DictReader(file):
            at = datetime.fromisoformat(row["charttime"]).replace(tzinfo=UTC)
            charted[f"stay-{row['stay_id']}"][at] = float(row["urineoutput"])
    running = {}
    for stay, volumes in charted.items():
        times = sorted(volumes)
        sums = accumulate(volumes[at] for at in times)
        running[stay] = {at: int(total) for at, total in zip(times, sums, strict=True)}
    return running


def ledgers(chart: ReadChart) -> dict[str, Ledger]:
    ward, scale = load_ward(), load_scale()
    found: dict[str, Ledger] = {}
    for stay, events in by_stay(chart.events).items():
        found[stay] = Ledger(stay, ward, scale)
        found[stay].fold_all(events)
    return found


def by_stay(events: tuple[Event, ...]) -> dict[str, list[Event]]:
    stays: dict[str, list[Event]] = defaultdict(list)
    for event in events:
        stays[event.session].append(event)
    return stays


def test_the_oracle_is_whole(oracle: dict[str, dict[datetime, int]]) -> None:
    assert sum(len(times) for times in oracle.values()) == 166


def test_running_net_urine_to_the_millilitre_at_every_charted_time(
    outputs: ReadChart, oracle: dict[str, dict[datetime, int]]
) -> None:
    compared = 0
    for stay, ledger in ledgers(outputs).items():
        told = {row.end: row.running_ml for row in ledger.rows}
        assert told == oracle[stay]
        compared += len(told)
    assert compared == 166


def test_one_row_a_charted_time(outputs: ReadChart, oracle: dict[str, dict[datetime, int]]) -> None:
    for stay, ledger in ledgers(outputs).items():
        assert [row.end for row in ledger.rows] == sorted(oracle[stay])
        assert {row.state for row in ledger.rows} == {"closed"}
        assert all(row.start < row.end for row in ledger.rows)


def test_rows_agree_with_the_table_added_up_by_hand(outputs: ReadChart, open_data: Path) -> None:
    """In and out of each row straight off the table, without the map's help."""
    sides: dict[tuple[str, datetime], Counter[str]] = defaultdict(Counter)
    names = {"227488": "in", "227489": "out", "226559": "out", "226584": "otherwise"}
    with (open_data / OUTPUTS).open(encoding="utf-8") as file:
        for line in csv.DictReader(file):
            at = datetime.fromisoformat(line["charttime"]).replace(tzinfo=UTC)
            sides[(f"stay-{line['icustay_id']}", at)][names[line["itemid"]]] += int(float(line["value"]))
    for stay, ledger in ledgers(outputs).items():
        for row in ledger.rows:
            side = sides[(stay, row.end)]
            assert (row.irrigant_in_ml, row.drained_ml, row.otherwise_ml) == (
                side["in"],
                side["out"],
                side["otherwise"],
            )


def _lines(open_data: Path) -> dict[int, dict[str, str]]:
    with (open_data / OUTPUTS).open(encoding="utf-8") as file:
        return dict(enumerate(csv.DictReader(file), start=2))


def test_the_28000_ml_are_among_the_findings_by_line(outputs: ReadChart, open_data: Path) -> None:
    (line,) = [number for number, row in _lines(open_data).items() if float(row["value"]) == 28_000]
    found = {finding.source for ledger in ledgers(outputs).values() for finding in ledger.findings}
    assert f"{OUTPUTS}:{line}" in found
    kinds = [
        f for ledger in ledgers(outputs).values() for f in ledger.findings if f.source == f"{OUTPUTS}:{line}"
    ]
    assert any(finding.kind == "unlikely_emptying" for finding in kinds)


def test_rows_stored_before_their_time_are_findings_by_line(outputs: ReadChart, open_data: Path) -> None:
    early = {f"{OUTPUTS}:{n}" for n, row in _lines(open_data).items() if row["storetime"] < row["charttime"]}
    found = {
        finding.source
        for ledger in ledgers(outputs).values()
        for finding in ledger.findings
        if finding.kind == "recorded_before"
    }
    assert len(early) == 45
    assert found == early
    assert outputs.report.stored_before == 45


def test_nothing_of_the_table_is_lost(outputs: ReadChart, open_data: Path) -> None:
    report = outputs.report
    assert report.rows == sum(report.taken.values()) == len(_lines(open_data)) == 261
    assert not report.unmapped
    assert not report.without_details


def test_observations_beside_the_volumes_change_no_volume(
    outputs: ReadChart, observations: ReadChart, oracle: dict[str, dict[datetime, int]]
) -> None:
    report = observations.report
    assert (
        sum(report.taken.values()) + sum(report.left_out.values()) + sum(report.left_out_words.values())
        == 423
    )
    together = ReadChart((*outputs.events, *observations.events), outputs.report)
    for stay, ledger in ledgers(together).items():
        assert {row.end: row.running_ml for row in ledger.rows} == oracle[stay]


def test_the_same_through_a_session_file(
    outputs: ReadChart, oracle: dict[str, dict[datetime, int]], tmp_path: Path
) -> None:
    for stay, events in by_stay(outputs.events).items():
        write_session_file(tmp_path / "stay.jsonl", events)
        ledger = Ledger(stay, load_ward(), load_scale())
        ledger.fold_all(read_session_file(tmp_path / "stay.jsonl"))
        assert {row.end: row.running_ml for row in ledger.rows} == oracle[stay]


def _moved(event: Event, by: timedelta) -> Event:
    """The same entry at another date, under the same id."""
    payload = payload_of(event)
    for name in ("at", "recorded"):
        if name in payload:
            payload[name] = format_instant(parse_instant(payload[name]) + by)
    return BY_NAME[event.event].model_validate(payload)


def _figures(row: Row) -> tuple[object, ...]:
    return (
        row.state,
        row.net_ml,
        row.net_low_ml,
        row.net_high_ml,
        row.running_ml,
        row.behind_ml,
        row.may_hold,
    )


def test_dates_shifted_by_centuries_change_only_dates(outputs: ReadChart) -> None:
    """Moved by whole weeks to our days, every figure stays: nothing asks which year it is."""
    for stay, events in by_stay(outputs.events).items():
        back = timedelta(weeks=round((events[0].at - datetime(2026, 3, 2, tzinfo=UTC)).days / 7))
        far, near = Ledger(stay, load_ward(), load_scale()), Ledger(stay, load_ward(), load_scale())
        far.fold_all(events)
        near.fold_all(_moved(event, -back) for event in events)
        assert [row.end - back for row in far.rows] == [row.end for row in near.rows]
        assert [_figures(row) for row in far.rows] == [_figures(row) for row in near.rows]


@pytest.mark.parametrize("stay", ["stay-221684", "stay-256746", "stay-265505"])
def test_replay_has_its_own_clock(outputs: ReadChart, observations: ReadChart, stay: str) -> None:
    """No real block is recorded in these stays, so the number of alerts says nothing about how good they are."""
    events = by_stay((*outputs.events, *observations.events))[stay]
    told = replay(events, load_ward(), load_scale(), load_thresholds())
    assert told.alerts
    first = min(event.at for event in events)
    last = max(max(event.at, event.recorded or event.at) for event in events)
    assert all(first <= alert.raised_at <= last for alert in told.alerts)
    back = timedelta(weeks=4850)
    near = replay([_moved(event, -back) for event in events], load_ward(), load_scale(), load_thresholds())
    assert [(a.condition, a.priority, a.raised_at - back) for a in told.alerts] == [
        (a.condition, a.priority, a.raised_at) for a in near.alerts
    ]
