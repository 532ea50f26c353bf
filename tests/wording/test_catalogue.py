"""The catalogue: every sentence parses, own words lie over ours, a missing figure is said."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import pytest
from fluent.syntax import FluentParser, ast

from cbi_monitor.wording.catalogue import Catalogue, MissingSentence, messages_of


def files() -> list[Path]:
    return sorted(Path(str(resources.files("cbi_monitor.wording") / "en")).glob("*.ftl"))


@pytest.mark.parametrize("file", files(), ids=lambda file: file.name)
def test_every_message_parses_alone_as_it_does_in_its_file(file: Path):
    text = file.read_text(encoding="utf-8")
    whole = FluentParser(with_spans=False).parse(text)
    assert not [entry for entry in whole.body if isinstance(entry, ast.Junk)]
    keys = [
        ("-" if isinstance(entry, ast.Term) else "") + entry.id.name
        for entry in whole.body
        if isinstance(entry, (ast.Message, ast.Term))
    ]
    cut = messages_of(text)
    assert list(cut) == keys
    for key, part in cut.items():
        alone = FluentParser(with_spans=False).parse(part)
        assert len(alone.body) == 1
        entry = next(
            one for one in whole.body if getattr(getattr(one, "id", None), "name", None) == key.lstrip("-")
        )
        assert alone.body[0].value.equals(entry.value)


def test_no_key_stands_in_two_files():
    seen: dict[str, str] = {}
    for file in files():
        for key in messages_of(file.read_text(encoding="utf-8")):
            assert key not in seen, f"{key} stands in {seen.get(key)} and {file.name}"
            seen[key] = file.name


def test_own_words_lie_over_ours(tmp_path: Path):
    own = tmp_path / "own.ftl"
    own.write_text("caution-short = Look at the patient.\n", encoding="utf-8")
    assert Catalogue("en", own).say("caution-short", {}) == "Look at the patient."
    assert "quiet screen" in Catalogue("en").say("caution-short", {})


def test_a_missing_figure_or_key_is_said():
    with pytest.raises(MissingSentence, match="finding-above-bag"):
        Catalogue().say("finding-above-bag", {"line": "A"})
    with pytest.raises(MissingSentence):
        Catalogue().say("no-such-sentence", {})
