"""A nurse at a real window: keys by xdotool, pictures of the screen, the program as it is installed."""

from __future__ import annotations

import subprocess
import sys
import time
from dataclasses import dataclass, field
from pathlib import Path
from typing import Self

import pytest

PICTURES = Path(__file__).resolve().parents[2] / "story_output"


@dataclass
class AtTheDesk:
    """The running program and the hands on its keyboard."""

    screen: object
    story: str
    arguments: list[str]
    program: subprocess.Popen | None = None
    taken: list[Path] = field(default_factory=list)

    def __enter__(self) -> Self:
        self.program = subprocess.Popen(
            [sys.executable, "-m", "cbi_monitor", *self.arguments],
            env={**self.screen.env, "QT_LOGGING_RULES": "qt.qpa.*=false"},
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )  # fmt: skip
        self.window("irrigation chart", seconds=60)
        time.sleep(1.0)
        return self

    def __exit__(self, *_: object) -> None:
        if self.program is not None:
            if self.program.poll() is None:
                self.program.terminate()
            if not self.program.stdout.closed:
                self.program.communicate(timeout=20)

    def window(self, title: str, *, seconds: float = 15) -> str:
        """Wait for a window with that in its title; it gets the keys."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            if self.program is not None and self.program.poll() is not None:
                pytest.fail(f"the program ended: {self.program.stdout.read()[-3000:]}")
            if found := self.screen.windows(title):
                self._xdotool("windowactivate", "--sync", found[-1])
                return found[-1]
            time.sleep(0.1)
        return pytest.fail(f"no window with {title!r} within {seconds} s")

    def gone(self, title: str, *, seconds: float = 15) -> None:
        """Wait until no window has that in its title."""
        end = time.monotonic() + seconds
        while self.screen.windows(title):
            if time.monotonic() > end:
                self.picture(f"still-there-{title}")
                pytest.fail(f"{title!r} is still open after {seconds} s")
            time.sleep(0.1)

    def keys(self, *names: str) -> AtTheDesk:
        """Keys by their names: ``F4``, ``ctrl+Return``."""
        for name in names:
            self._xdotool("key", "--clearmodifiers", name)
            time.sleep(0.25)
        return self

    def types(self, text: str) -> AtTheDesk:
        """Text as it is typed; a line break is Enter."""
        for place, part in enumerate(text.split("\n")):
            if place:
                self.keys("Return")
            if part:
                self._xdotool("type", "--delay", "60", "--", part)
        time.sleep(0.2)
        return self

    def picture(self, name: str) -> Path:
        """Keep the screen as it is."""
        PICTURES.mkdir(exist_ok=True)
        path = PICTURES / f"{self.story}-{len(self.taken) + 1:02d}-{name}.png"
        time.sleep(0.4)
        subprocess.run(["import", "-window", "root", str(path)], env=self.screen.env, check=True, timeout=30)
        self.taken.append(path)
        return path

    def closes(self) -> str:
        """Close the window as its frame does; returns what the program said."""
        self.keys("alt+F4")
        said, _ = self.program.communicate(timeout=30)
        return said

    def _xdotool(self, *words: str) -> None:
        subprocess.run(["xdotool", *words], env=self.screen.env, check=True, timeout=30, capture_output=True)
