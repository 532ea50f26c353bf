"""Ward summary, handover sheet, blank check sheets, and the bags that a ward will need."""

from __future__ import annotations

import io
import re
from datetime import timedelta

import pytest
from pypdf import PdfReader

from cbi_monitor.exports.bed_words import Bed, bed_at
from cbi_monitor.exports.chart import AlertLine
from cbi_monitor.exports.clock import WardClock
from cbi_monitor.exports.pdf.papers import Print, check_sheets, handover_sheet, ward_summary
from cbi_monitor.exports.supplies import BagsNeeded, bags_needed, by_size
from cbi_monitor.exports.told import Teller
from cbi_monitor.ledger.ledger import Ledger
from cbi_monitor.model import events as e
from cbi_monitor.wording import say
from tests.exports.sessions import DEMOS, HASH, SCALE, WARD, at, demo, entry, quiet

TELLER = Teller(WardClock(WARD.zone), SCALE, WARD)
ABOUT = Print(WARD, SCALE, at(4.1), HASH, "0.1.0", demo=True)


def _bed(events: list[e.Event], hours: float = 4.1, **more: object) -> Bed:
    ledger = Ledger("bed-7", WARD, SCALE)
    ledger.fold_all(events)
    return bed_at(ledger, TELLER, at(hours), **more)  # type: ignore[arg-type]


def _text(content: bytes) -> str:
    return re.sub(r"\s+", " ", " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages))


def test_bags_needed_are_inflow_times_time_less_what_hangs_in_whole_bags() -> None:
    """3,000 mL lasts 6 h at 500 mL/h (calc): 24 h take 12,000 mL; 950 left after 4.1 h, so 4 bags."""
    needed = bags_needed(_bed(quiet()).standing, timedelta(hours=24))
    assert needed is not None
    assert needed.size_ml == 3000
    assert needed.low is not None
    assert needed.high is not None
    assert needed.low <= 4 <= needed.high
    assert bags_needed(_bed(quiet()).standing, timedelta(0)) == BagsNeeded(3000, 0, 0)


def test_a_stopped_bed_needs_none_and_an_unknown_rate_is_not_zero() -> None:
    stopped = [*quiet(), entry(e.InflowStopped, 4.05, reason="order", id="x")]
    assert bags_needed(_bed(stopped).standing, timedelta(hours=24)) is None
    assert by_size([BagsNeeded(3000, 1, 2), BagsNeeded(3000, None, None), BagsNeeded(5000, 1, 1), None]) == [
        BagsNeeded(5000, 1, 1),
        BagsNeeded(3000, None, None),
    ]
    assert by_size([BagsNeeded(3000, 1, 2), BagsNeeded(3000, 2, 4)]) == [BagsNeeded(3000, 3, 6)]


def test_the_ward_summary_takes_one_page_for_twenty_beds() -> None:
    beds = [_bed(quiet()) for _ in range(20)]
    content = ward_summary(beds, ABOUT)
    assert len(PdfReader(io.BytesIO(content)).pages) == 1
    assert content == ward_summary(beds, ABOUT)
    text = _text(content)
    for key in ("caution-aid", "caution-quiet", "caution-thresholds", "caution-stop"):
        assert say(key) in text


def test_alerts_that_stand_are_told_and_unasked_ones_are_not_called_none() -> None:
    line = AlertLine("a", "clots", "clots", "high", at(2), None, "Large clots twice.", "", (), "shown")
    cleared = AlertLine("b", "clots", "clots", "low", at(1), at(2), "Small clots.", "", (), "shown")
    text = _text(handover_sheet([_bed(quiet(), alerts=[cleared, line])], ABOUT))
    assert "!!! Large clots twice." in text
    assert "Small clots." not in text
    assert f"{say('paper-col-alerts')}: {say('report-not-known')}" in _text(
        handover_sheet([_bed(quiet())], ABOUT)
    )
    assert f"{say('paper-col-alerts')}: {say('paper-none')}" in _text(
        handover_sheet([_bed(quiet(), alerts=[])], ABOUT)
    )


def test_check_sheet_has_a_column_for_each_line_in_use_and_the_last_levels() -> None:
    events = [
        *quiet(),
        entry(e.BagHung, 4.02, line="B", label_ml=3000.0, fluid="saline_0_9", clamped=True, id="b"),
    ]
    text = _text(check_sheets([_bed(events, next_due=at(4.5))], ABOUT))
    assert "A left, mL" in text
    assert "B left, mL" in text
    assert "1,000 mL at 11:00" in text
    assert f"{say('paper-col-due')}: 11:30" in text


@pytest.mark.parametrize("name", DEMOS)
def test_every_demo_session_prints_at_its_end(name: str) -> None:
    events = list(demo(name))
    ledger = Ledger(events[0].session, WARD, SCALE)
    ledger.fold_all(events)
    now = max(event.at for event in events)
    bed = bed_at(ledger, TELLER, now)
    about = Print(WARD, SCALE, now, HASH, "0.1.0")
    for paper in (ward_summary, handover_sheet, check_sheets):
        text = _text(paper([bed], about))
        assert bed.reference in text
        assert not re.search(r"\b(is draining|fine|normal|safe)\b", text)
