"""The end-of-shift report on paper, read back with pypdf."""

from __future__ import annotations

import io
import re
from datetime import timedelta
from typing import Any

import pytest
from pypdf import PdfReader

from cbi_monitor.alerts.replay import replay
from cbi_monitor.exports.borders import hour_borders
from cbi_monitor.exports.curves import shift_curves
from cbi_monitor.exports.figures import ml, signed
from cbi_monitor.exports.pdf.drawing import draw
from cbi_monitor.exports.pdf.face import printable
from cbi_monitor.exports.pdf.sheet import page_width
from cbi_monitor.exports.report import Prepared
from cbi_monitor.exports.shift_parts import hours_part
from cbi_monitor.exports.tables import gross_in, gross_out
from cbi_monitor.exports.told import word
from cbi_monitor.model import events as e
from cbi_monitor.model.canonical import with_derived_ids
from cbi_monitor.settings import load_thresholds
from cbi_monitor.wording import say
from tests.exports.sessions import (
    DEMOS,
    SCALE,
    WARD,
    at,
    check,
    demo,
    demo_report,
    demo_shifts,
    entry,
    opening,
    quiet,
    report_of,
)


def _pdf(made: Prepared) -> bytes:
    return next(iter(made.render(["pdf"]).values()))


def _text(content: bytes) -> str:
    text = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(content)).pages)
    return re.sub(r"\s+", " ", text)


def _pages(content: bytes) -> int:
    return len(PdfReader(io.BytesIO(content)).pages)


@pytest.mark.parametrize("name", DEMOS)
def test_the_totals_equal_the_ledgers(name: str) -> None:
    for number in range(len(demo_shifts(name))):
        made = demo_report(name, number)
        text, total = _text(_pdf(made)), made.told.sum()
        if total is None:
            assert say("report-nothing-closed") in text
            continue
        assert f"{say('report-gross-in')} {ml(gross_in(total))}" in text
        assert f"{say('report-gross-out')} {ml(gross_out(total))}" in text
        assert f"{say('report-net')} {signed(total.net_ml)}" in text
        if total.net_ml is not None and total.net_low_ml is not None and total.net_high_ml is not None:
            assert f"{ml(total.net_low_ml)} to {ml(total.net_high_ml)}" in text
        for line in made.tables["hours"].records():
            if line["net_urine_ml"] is not None:
                assert f" {signed(float(str(line['net_urine_ml'])))} " in text


@pytest.mark.parametrize("name", DEMOS)
def test_the_cautions_stand_on_it_word_for_word(name: str) -> None:
    text = _text(_pdf(demo_report(name, 0)))
    for key in ("caution-aid", "caution-quiet", "caution-thresholds", "caution-stop"):
        assert say(key) in text
    assert say("report-demo-note") in text


def test_same_input_same_bytes() -> None:
    first, second = report_of(quiet(), at(0), at(12)), report_of(quiet(), at(0), at(12))
    assert first.render(["pdf", "csv", "xlsx", "fhir"]) == second.render(["pdf", "csv", "xlsx", "fhir"])
    assert _pdf(first) != _pdf(report_of(quiet(), at(0), at(12), printed_at=at(12) + timedelta(minutes=1)))


def test_a_quiet_shift_takes_one_page_and_a_troubled_one_two() -> None:
    assert _pages(_pdf(report_of(quiet(), at(0), at(12)))) == 1
    assert _pages(_pdf(demo_report("clot_block", 1))) == 2


def test_title_language_and_outline() -> None:
    reader = PdfReader(io.BytesIO(_pdf(report_of(quiet(), at(0), at(12)))))
    assert reader.metadata is not None
    assert reader.metadata.title == "End-of-shift report: bladder irrigation, Bed 7A"
    root: Any = reader.trailer["/Root"]
    assert root["/Lang"] == "en-GB"
    outline: list[Any] = reader.outline
    assert say("report-alerts") in [entry.title for entry in outline]


def test_the_text_is_no_picture_and_the_minus_is_a_minus() -> None:
    events = [*quiet(), *with_derived_ids(check(5, 500, 2400))]
    text = _text(_pdf(report_of(events, at(0), at(12))))
    assert "\u2212420" in text  # 80 drained, 500 in


def test_what_happened_is_told_with_calls_answers_and_orders() -> None:
    events = [
        *quiet(),
        *with_derived_ids(
            [
                entry(e.Washout, 2.2, pushes=3, syringe_ml=50.0, returned_ml=140.0, returned_to="dish", clots="large"),
                entry(e.Leaked, 2.3, volume=60.0, extent="pad"),
                entry(e.BladderScanned, 2.3, volume_ml=310.0),
                entry(e.LabResult, 2.5, name="hb", value=104.0, unit="g/L"),
                entry(e.Called, 2.4, whom="urology", how="phone", about="clots", told="pain 7", answer="coming",
                      order_taken="wash out", read_back=True),
                entry(e.Called, 2.45, whom="registrar", how="phone", about="clots", told="pain 7", no_answer=True),
            ]
        ),
    ]  # fmt: skip
    text = _text(_pdf(report_of(events, at(0), at(12))))
    for said in ("3 × 50 mL in", "140 mL back", "clots: LARGE", "60 mL; pad", "310 mL", "hb 104 g/L", "answer: coming",
                 "order: wash out", "NO ANSWER"):  # fmt: skip
        assert said in text


def test_alerts_stand_as_they_were_shown_with_who_went() -> None:
    shown = "Go to the bed now. 280 mL (150 to 410) more in than out since 13:10."
    events = [
        *quiet(),
        *with_derived_ids(
            [
                entry(
                    e.AlertShown,
                    2.1,
                    alert="a1",
                    condition="retention",
                    subject="bladder",
                    priority="high",
                    text=shown,
                ),
                entry(
                    e.AlertAnswered, 2.15, alert="a1", kind="going", action="turned the patient", by="J.O."
                ),
                entry(
                    e.AlertCleared,
                    2.5,
                    alert="a1",
                    condition="retention",
                    subject="bladder",
                    priority="high",
                    text="x",
                ),
                entry(
                    e.AlertShown,
                    3.1,
                    alert="a2",
                    condition="clots",
                    subject="clots",
                    priority="low",
                    text="Small clots.",
                ),
            ]
        ),
    ]
    text = _text(_pdf(report_of(events, at(0), at(12))))
    assert shown in text
    assert "!!! high" in text
    assert "J.O. going: turned the patient" in text
    assert "not answered" in text
    assert "not cleared" in text
    assert "computed later" not in text


def test_without_a_record_of_watching_it_does_not_claim_that_nothing_was_wrong() -> None:
    assert say("report-not-watched") in _text(_pdf(report_of(quiet(), at(0), at(12))))


def test_a_questioned_output_is_named_and_the_net_is_not_known() -> None:
    events = with_derived_ids(
        [*opening(), *check(1, 2500, 580), *check(2, 2800, 1160), *check(3, 2300, 1740)]
    )
    text = _text(_pdf(report_of(events, at(0), at(12))))
    assert "QUESTIONED from 08:00 to 09:00" in text
    assert say("report-finding-unanswered") in text


def test_late_corrected_struck_out_and_unsigned_entries_are_listed() -> None:
    events = quiet()
    note = entry(e.Note, 1.5, text="asleep", recorded=at(3), id="n1")
    unsigned = entry(e.Note, 1.6, text="claimed by nobody", by=None, id="n2")
    struck = entry(e.StruckOut, 3.5, target="n2", reason="other bed", id="s1")
    read = next(x for x in events if isinstance(x, e.DrainageRead))
    mended = entry(e.Corrected, 3.6, target=read.id, fields={"contents_ml": 570}, reason="misread", id="c1")
    text = _text(_pdf(report_of([*events, note, unsigned, struck, mended], at(0), at(12))))
    assert "08:30 note: late entry, typed 10:00 by K.M." in text
    assert "struck out (other bed; K.M., 10:30)" in text
    assert "contents ml is now 570" in text
    assert "Unsigned: 08:36 note" in text


def test_a_report_in_the_middle_of_a_shift_tells_up_to_when_it_counts() -> None:
    text = _text(_pdf(report_of(quiet(), at(0), at(12), printed_at=at(4.5))))
    assert say("report-not-closed", at="11:00", end="11:30") in text


def test_names_taken_out() -> None:
    events = [
        *quiet(),
        entry(e.Called, 2.4, whom="Dr Example", how="phone", about="clots", told="pain 7", id="k"),
    ]
    made = report_of(events, at(0), at(12), nameless=True)
    everything = b"".join(made.render(["csv", "fhir"]).values()).decode() + _text(_pdf(made)) + made.stem
    for name in ("K.M.", "ref 4471", "Dr Example", "bed-7", "7A"):
        assert name not in everything
    assert made.told.sum() == report_of(events, at(0), at(12)).told.sum()


def test_letters_that_the_face_lacks_are_never_dropped_in_silence() -> None:
    assert printable("ő\u2009α") == ("o <U+03B1>", True)
    assert printable("−40 to 7 µmol, ≈ 3 × 50 “né”") == ("−40 to 7 µmol, ≈ 3 × 50 “né”", False)


def test_alerts_computed_afterwards_say_so_and_are_called_unseen() -> None:
    thresholds = load_thresholds()
    events = list(demo("clot_block"))
    told = replay(events, WARD, SCALE, thresholds, session=events[0].session)
    span = demo_shifts("clot_block")[1]
    made = report_of(events, span.start, span.end, computed=told.alerts)
    text = _text(_pdf(made))
    lines = [line for line in made.told.alerts if made.told.inside(line.raised_at)]
    assert any(line.priority == "high" for line in lines)
    assert all(line.text in text for line in lines)
    assert text.count("[computed later]") >= len(lines)
    assert say("report-computed") in text
    assert say("report-not-answered-shown") not in text


@pytest.mark.parametrize("name", DEMOS)
def test_the_darkest_colour_of_a_shift_keeps_its_word_on_the_strip(name: str) -> None:
    for number in range(len(demo_shifts(name))):
        told = demo_report(name, number).told
        curves = shift_curves(
            told.book, told.ward, told.scale, told.teller, told.from_, told.as_of or told.end
        )
        if curves is None or not curves.colours:
            continue
        drawing = draw(curves, page_width(), 76.0)
        words = [shape.text for shape in drawing.contents if hasattr(shape, "text")]
        darkest = max(curves.colours, key=lambda colour: colour.weight)
        assert any(word.startswith(darkest.word) for word in words)


@pytest.mark.parametrize("name", DEMOS)
def test_no_hour_hides_its_darkest_colour_or_its_worst_clots(name: str) -> None:
    for number in range(len(demo_shifts(name))):
        told = demo_report(name, number).told
        hours = hours_part(told)
        if hours.grid is None or told.as_of is None:
            continue
        borders = hour_borders(told.ward, told.from_, told.as_of)
        for start, end, line in zip(borders, borders[1:], hours.grid.rows, strict=False):
            graded = [g for g in told.book.of(e.EffluentGraded) if start < g.at <= end]
            if not graded:
                continue
            darkest = max(graded, key=lambda g: told.scale.step(g.grade) or 0)
            assert told.teller.grade(darkest.grade) in line[-1]
            if any(g.clots == "large" for g in graded):
                assert word("clots_large") in line[-1]
