"""What screens say: never that a bed drains, never a soothing word as a state; every sentence that is asked for is there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from fluent.syntax import FluentParser, ast

import cbi_monitor.screens
from cbi_monitor import resources
from cbi_monitor.wording import say
from cbi_monitor.wording.catalogue import Catalogue

ROOM = Path(cbi_monitor.screens.__file__).parent
FTL = Path(cbi_monitor.__file__).parent / "wording" / "en" / "screens.ftl"
STATE = re.compile(r"\b(draining|fine|normal|safe|ok|okay|stable|all right|well)\b", re.IGNORECASE)
ALLOWED = (
    # who saw it, and when: the one form in which the word may stand
    re.compile(r"seen draining", re.IGNORECASE),
    # that nobody did, that it does not, and the key that says so
    re.compile(r"not draining", re.IGNORECASE),
    # the caution itself
    re.compile(r"a quiet screen is not a draining catheter", re.IGNORECASE),
)


def texts(node: ast.BaseNode) -> list[str]:
    """Every piece of text of a message, each variant of it."""
    found: list[str] = []
    if isinstance(node, ast.TextElement):
        found.append(node.value)
    for name in ("value", "elements", "expression", "variants", "attributes"):
        inner = getattr(node, name, None)
        for one in inner if isinstance(inner, list) else [inner]:
            if isinstance(one, ast.BaseNode):
                found += texts(one)
    return found


def messages() -> list[tuple[str, str]]:
    parsed = FluentParser().parse(FTL.read_text("utf-8"))
    assert not [entry for entry in parsed.body if isinstance(entry, ast.Junk)], "a sentence can't be read"
    return [(e.id.name, " ".join(texts(e))) for e in parsed.body if isinstance(e, ast.Message)]


def offends(text: str) -> bool:
    for allowed in ALLOWED:
        text = allowed.sub("", text)
    return bool(STATE.search(text))


@pytest.mark.parametrize(
    "bad", ["Bed 7A is draining", "draining well", "Everything fine", "Normal urine", "safe"]
)
def test_the_reader_of_sentences_can_fail(bad) -> None:
    assert offends(bad)


def test_no_screen_says_that_a_bed_drains_or_is_fine() -> None:
    said = messages()
    assert len(said) > 400
    assert [(key, text) for key, text in said if offends(text)] == []


def test_no_sentence_stands_twice() -> None:
    keys = [key for key, _ in messages()]
    assert sorted({key for key in keys if keys.count(key) > 1}) == []


def test_every_sentence_that_is_asked_for_is_there() -> None:
    catalogue = Catalogue("en")
    missing = []
    for path in ROOM.rglob("*.py"):
        asked = re.findall(r"say\(\s*\"([a-z0-9-]+)\"", path.read_text("utf-8"))
        missing += [f"{path.name}: {key}" for key in asked if not catalogue.has(key)]
    assert missing == []


def test_every_sentence_of_a_form_is_there() -> None:
    catalogue = Catalogue("en")
    forms = resources.forms()
    assert len(forms) >= 7
    for form in forms:
        text = form.read_text("utf-8")
        for key in re.findall(r'name="says?(?:_name|_hint)?" stdset="0"><string notr="true">([^<]+)<', text):
            assert catalogue.has(key), f"{form.name}: {key}"


def test_forms_hold_no_sentence_of_their_own() -> None:
    for form in resources.forms():
        text = form.read_text("utf-8")
        assert 'name="text"><string' not in text, form.name
        assert "<string>" not in text, f"{form.name}: a translatable text"


def test_every_alert_has_its_few_words() -> None:
    from cbi_monitor.alerts.thresholds import Thresholds

    conditions = [name for name in Thresholds.model_fields if name not in ("life", "load")]
    catalogue = Catalogue("en")
    known = [name for name in conditions if catalogue.has(f"board-cleared-{name.replace('_', '-')}")]
    missing = [name for name in conditions if name not in known and name not in NOT_CONDITIONS]
    assert missing == []
    for name in known:
        assert catalogue.has(f"board-alert-{name.replace('_', '-')}")


NOT_CONDITIONS: frozenset[str] = frozenset()


def test_every_field_of_an_entry_has_a_name() -> None:
    from cbi_monitor.model.events import KINDS, Event

    catalogue = Catalogue("en")
    missing = {
        name
        for kind in KINDS
        for name in kind.model_fields
        if name not in Event.model_fields
        and not catalogue.has(f"fieldname-{name.strip('_').replace('_', '-')}")
    }
    assert missing == set()


def test_figures_carry_their_range() -> None:
    assert say("screens-range", low="200", high="480") == "200 to 480"
