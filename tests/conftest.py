"""What every test stands on: no screen, no user's own files, an odd time zone; a real screen for the stories."""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import hypothesis
import pytest

# Before anything loads Qt: widgets are tested without a screen. Stories start the program as another process.
os.environ["QT_QPA_PLATFORM"] = "offscreen"
# The machine's own zone must never matter: times are shown in the ward's zone. So the tests live far from any ward.
os.environ["TZ"] = "Asia/Kathmandu"
time.tzset()

hypothesis.settings.register_profile("house", deadline=None)  # two slow cores are no fault of the code
hypothesis.settings.register_profile("ci", parent=hypothesis.settings.get_profile("house"), derandomize=True)
hypothesis.settings.load_profile("ci" if os.environ.get("CI") else "house")


@pytest.fixture(scope="session", autouse=True)
def _own_folders(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test reads or writes the journal, settings or cache of whoever runs it."""
    home = tmp_path_factory.mktemp("home")
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_DATA_HOME", "XDG_CONFIG_HOME", "XDG_STATE_HOME", "XDG_CACHE_HOME"):
            patch.setenv(name, str(home / name.lower()))
        yield


@pytest.fixture(scope="session")
def open_data() -> Path:
    """The folder of the open research records; the test is skipped where CBI_OPEN_DATA does not name one."""
    named = os.environ.get("CBI_OPEN_DATA")
    if not named:
        pytest.skip("CBI_OPEN_DATA names no folder with the open research records")
    folder = Path(named)
    if not folder.is_dir():
        pytest.fail(f"CBI_OPEN_DATA names {folder}, which is no folder")
    return folder


@dataclass(frozen=True, slots=True)
class RealScreen:
    """A virtual screen with a window manager. ``env`` is for programs that shall open windows on it."""

    display: str
    width: int
    height: int
    env: dict[str, str]

    def windows(self, title: str) -> list[str]:
        """Ids of the windows that are on the screen and whose title holds this."""
        found = subprocess.run(
            ["xdotool", "search", "--onlyvisible", "--name", title],
            env=self.env,
            capture_output=True,
            text=True,
            check=False,
        )
        return found.stdout.split()


@pytest.fixture(scope="session")
def real_screen() -> Iterator[RealScreen]:
    """A screen of 1920 × 1080 for the nurse's stories. Fails, never skips, where its programs are missing."""
    for program in ("Xvfb", "openbox", "xdotool"):
        if shutil.which(program) is None:
            pytest.fail(f"{program} is missing: bash packaging/test brings it")
    from pyvirtualdisplay.display import Display  # loaded by stories only

    width, height = 1920, 1080
    with Display(backend="xvfb", size=(width, height), color_depth=24, manage_global_env=False) as display:
        env = {**os.environ, **display.env(), "QT_QPA_PLATFORM": "xcb", "LIBGL_ALWAYS_SOFTWARE": "1"}
        env.pop("WAYLAND_DISPLAY", None)
        manager = subprocess.Popen(["openbox", "--sm-disable"], env=env, stderr=subprocess.DEVNULL)
        try:
            _wait_for_manager(env)
            yield RealScreen(display.new_display_var, width, height, env)
        finally:
            manager.terminate()
            manager.wait(10)


def _wait_for_manager(env: dict[str, str]) -> None:
    for _ in range(100):
        asked = subprocess.run(
            ["xprop", "-root", "_NET_SUPPORTING_WM_CHECK"],
            env=env,
            capture_output=True,
            text=True,
            check=False,
        )
        if "window id" in asked.stdout:
            return
        time.sleep(0.1)
    pytest.fail("the window manager did not start within 10 s")
