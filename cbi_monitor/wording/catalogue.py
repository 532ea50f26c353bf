"""The catalogue of sentences: Fluent messages by language, a ward's own words laid over them.

Project Fluent (``fluent.runtime``) was picked over gettext because sentences are asked for by key, numbers and plurals
follow the language, and one file can be laid over another.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Mapping
from datetime import date, datetime
from functools import lru_cache
from importlib import resources
from pathlib import Path
from typing import Any

from fluent.runtime import FluentBundle, FluentResource

_LOCALES = {"en": "en-GB"}


class MissingSentence(LookupError):
    """A sentence is not in the catalogue, or a figure that it needs was not handed in."""


# Parsing all sentences takes most of a second on a slow machine, and a screen needs a few dozen of them: a file is cut
# into its messages by their first column, and a message is parsed when it is first asked for.
_MESSAGE = re.compile(r"^(-?[A-Za-z][A-Za-z0-9_-]*) *=", re.MULTILINE)
_REFERENCE = re.compile(r"\{\s*(-?[A-Za-z][A-Za-z0-9_-]*)\s*[}(.]")


def messages_of(text: str) -> dict[str, str]:
    """The messages of a Fluent file by key, unparsed; comments fall away."""
    starts = list(_MESSAGE.finditer(text))
    ends = [start.start() for start in starts[1:]] + [len(text)]
    return {
        start.group(1): "\n".join(
            line for line in text[start.start() : end].splitlines() if not line.startswith("#")
        )
        for start, end in zip(starts, ends, strict=True)
    }


class Catalogue:
    """All sentences of one language."""

    def __init__(self, language: str = "en", own_words: Path | None = None) -> None:
        """``own_words``: a Fluent file of the ward whose messages replace ours. Raises FileNotFoundError."""
        self.language = language
        self._bundle = FluentBundle([_LOCALES.get(language, language)], use_isolating=False)
        self._texts: dict[str, str] = {}
        self._parsed: set[str] = set()
        folder = resources.files("cbi_monitor.wording") / language
        files = (entry for entry in folder.iterdir() if entry.name.endswith(".ftl"))
        for file in sorted(files, key=lambda entry: entry.name):
            self._texts.update(messages_of(file.read_text(encoding="utf-8")))
        if own_words is not None:
            self._texts.update(messages_of(own_words.read_text(encoding="utf-8")))

    def _parse(self, key: str) -> None:
        if key in self._parsed or key not in self._texts:
            return
        self._parsed.add(key)
        text = self._texts[key]
        self._bundle.add_resource(FluentResource(text))
        for other in _REFERENCE.findall(text):
            self._parse(other)

    def keys(self) -> frozenset[str]:
        """The keys of all sentences."""
        return frozenset(key for key in self._texts if not key.startswith("-"))

    def has(self, key: str) -> bool:
        """Whether there is such a sentence."""
        return key in self._texts

    def say(self, key: str, facts: Mapping[str, Any]) -> str:
        """The sentence with its figures. Raises MissingSentence where the key or a figure is missing."""
        self._parse(key)
        if not self._bundle.has_message(key):
            raise MissingSentence(key)
        message = self._bundle.get_message(key)
        if message.value is None:
            raise MissingSentence(key)
        text, errors = self._bundle.format_pattern(message.value, dict(facts))
        if errors:
            raise MissingSentence(f"{key}: {errors[0]}")
        return str(text)


_lock = threading.Lock()
_current: list[Catalogue] = []


def use_language(language: str, own_words: Path | None = None) -> Catalogue:
    """Make all later ``say`` speak this language, with the ward's own words laid over."""
    catalogue = Catalogue(language, own_words)
    with _lock:
        _current[:] = [catalogue]
        _cached.cache_clear()
    return catalogue


def say(key: str, /, **facts: Any) -> str:
    """A sentence by its key. Times must come as text already in the ward's zone; numbers as numbers."""
    for name, value in facts.items():
        if isinstance(value, (datetime, date)):
            raise TypeError(f"{name}: hand a time in as text of the ward's zone")
    try:
        return _cached(key, tuple(sorted(facts.items())))
    except TypeError:
        return _catalogue().say(key, facts)


def _catalogue() -> Catalogue:
    if not _current:
        use_language("en")
    return _current[0]


@lru_cache(maxsize=20_000)
def _cached(key: str, facts: tuple[tuple[str, Any], ...]) -> str:
    return _catalogue().say(key, dict(facts))
