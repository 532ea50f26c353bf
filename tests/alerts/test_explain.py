"""Every condition in words, with the numbers in force; and every sentence that a reading can name."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from bedside import TH

import cbi_monitor.alerts
from cbi_monitor.alerts.conditions import ALL_CONDITIONS
from cbi_monitor.alerts.explain import explain, explain_life, speakers
from cbi_monitor.wording import Catalogue

WORDS = Catalogue("en")


@pytest.mark.parametrize("condition", ALL_CONDITIONS)
def test_every_number_of_a_condition_stands_in_its_words(condition: str) -> None:
    """A number that can raise an alert and is not told would be a secret one."""
    key, facts = explain(condition, TH)
    whole = WORDS.say(key, facts)
    for name, value in facts.items():
        changed = {**facts, name: f"{value}!" if isinstance(value, str) else 9876.5}
        assert WORDS.say(key, changed) != whole, f"{name} does not stand in {key}"


def test_numbers_in_force_are_told_not_the_shipped_ones() -> None:
    other = TH.model_copy(update={"retention": TH.retention.model_copy(update={"medium_behind_ml": 137.0})})
    assert "137" in WORDS.say(*explain("retention", other))
    assert "137" not in WORDS.say(*explain("retention", TH))


def test_an_unknown_condition_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ValueError, match="retention"):
        explain("retension", TH)


def test_answers_and_speakers_are_told() -> None:
    assert "10" in WORDS.say(*explain_life(TH))
    assert "no_outflow" in speakers("retention")
    assert speakers("no_outflow") == ("catheter_out", "drainage_clamped_running")


@pytest.mark.parametrize("condition", ALL_CONDITIONS)
def test_every_condition_has_a_title(condition: str) -> None:
    title = WORDS.say(f"alert-{condition.replace('_', '-')}-title", {})
    assert 3 <= len(title) <= 32


def test_every_key_that_a_condition_names_has_its_sentence() -> None:
    folder = Path(cbi_monitor.alerts.__file__).parent / "conditions"
    keys = set()
    for file in folder.glob("*.py"):
        keys |= set(re.findall(r'"((?:alert|first-act)-[a-z-]+)"', file.read_text("utf-8")))
    keys |= {f"alert-catheter-mismatch-says-{what}" for what in ("allergy", "ways", "gauge")}
    missing = sorted(key for key in keys if not WORDS.has(key))
    assert missing == []
    assert len(keys) > 60


def test_only_something_observed_begins_with_stop_the_inflow() -> None:
    """What is reckoned sends somebody to the bed; what was seen, or is charted as clamped or out, says stop."""
    text = (Path(cbi_monitor.alerts.__file__).parents[1] / "wording" / "en" / "alerts.ftl").read_text("utf-8")
    starts = {
        line.split(" = ")[0]
        for line in text.splitlines()
        if re.match(r"first-act-[a-z-]+ = Stop the inflow", line)
    }
    assert starts == {"first-act-stop-inflow", "first-act-clamped", "first-act-catheter-out"}
    assert (
        "first-act-go-now = Go to the bed now. Not dripping steadily, sore, or bladder up: stop the inflow."
        in text
    )


@pytest.mark.parametrize("word", ["fine", "normal", "safe", "all right", "OK"])
def test_no_sentence_reassures(word: str) -> None:
    text = (Path(cbi_monitor.alerts.__file__).parents[1] / "wording" / "en" / "alerts.ftl").read_text("utf-8")
    assert not re.search(rf"\b{word}\b", text)
