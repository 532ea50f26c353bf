"""Where the files are that lie outside the package: the windows' forms and the demo sessions.

An installed program carries them as ``cbi_monitor/_forms`` and ``cbi_monitor/_demo_sessions``; in a checkout they are
``ui_forms/`` and ``demo_sessions/`` beside the package. Standard library only: any room above may ask.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent
_INSTALLED_AS = {"ui_forms": "_forms", "demo_sessions": "_demo_sessions"}


def folder(name: str) -> Path:
    """The folder ``ui_forms`` or ``demo_sessions``. Raises FileNotFoundError where neither place has it."""
    places = (_PACKAGE / _INSTALLED_AS[name], _PACKAGE.parent / name)
    for place in places:
        if place.is_dir():
            return place
    looked = " nor ".join(str(place) for place in places)
    raise FileNotFoundError(f"{name} is neither in {looked}; install cbi-monitor again")


def form(name: str) -> Path:
    """The form of that name (``check_slip`` for ``check_slip.ui``). Raises FileNotFoundError, naming those that are."""
    return _file("ui_forms", name, ".ui")


def forms() -> tuple[Path, ...]:
    """Every form, by name."""
    return tuple(sorted(folder("ui_forms").glob("*.ui")))


def demo_session(name: str) -> Path:
    """The demo session of that name, a session file. Raises FileNotFoundError, naming those there are."""
    return _file("demo_sessions", name, ".jsonl")


def demo_sessions() -> tuple[Path, ...]:
    """Every demo session, by name; each has its expected balance and alerts beside it."""
    return tuple(sorted(folder("demo_sessions").glob("*.jsonl")))


def _file(kind: str, name: str, suffix: str) -> Path:
    place = folder(kind) / f"{name}{suffix}"
    if not place.is_file():
        there = ", ".join(sorted(file.stem for file in folder(kind).glob(f"*{suffix}"))) or "none"
        raise FileNotFoundError(f"no {name}{suffix} in {folder(kind)}; there is: {there}")
    return place
