"""The screen of the nurse's stories is a real one: a window opens on it, is managed, and takes typed keys."""

from __future__ import annotations

import subprocess
import sys
import time

import pytest

WINDOW = """
import sys
from PySide6.QtWidgets import QApplication, QLineEdit

app = QApplication([])
assert app.platformName() == "xcb", app.platformName()
field = QLineEdit()
field.setWindowTitle("a slip to type on")
field.returnPressed.connect(lambda: (print(field.text()), app.quit()))
field.show()
field.activateWindow()
field.setFocus()
sys.exit(app.exec())
"""


@pytest.mark.story
def test_a_window_takes_typed_keys(real_screen) -> None:
    program = subprocess.Popen(
        [sys.executable, "-c", WINDOW], env=real_screen.env, stdout=subprocess.PIPE, text=True
    )
    try:
        for _ in range(200):
            if windows := real_screen.windows("a slip to type on"):
                break
            time.sleep(0.1)
        else:
            pytest.fail("no window came up within 20 s")
        for command in (
            ["windowactivate", "--sync", windows[0]],
            ["type", "--delay", "20", "1200"],
            ["key", "Return"],
        ):
            subprocess.run(["xdotool", *command], env=real_screen.env, check=True, timeout=20)
        said, _ = program.communicate(timeout=20)
    finally:
        program.kill()
        program.communicate()
    assert said.strip() == "1200"
    assert program.returncode == 0
