"""The demo ward, looked round by the keyboard: the board, the bed that needs someone first, a check, light and dark."""

from __future__ import annotations

import pytest

from tests.nurse_stories.hands import AtTheDesk

pytestmark = pytest.mark.story


def test_looking_round_the_demo_ward(real_screen) -> None:
    """I am new here: I look at the board, go to the first bed, chart a check, make it dark, and leave."""
    with AtTheDesk(real_screen, "demo-ward", ["demo"]) as nurse:
        assert real_screen.windows("DEMO"), "the window's title does not say DEMO"
        nurse.picture("board")
        nurse.keys("Down", "Up", "Return")
        nurse.picture("first-bed")
        nurse.types("sc3n")
        nurse.picture("check-typed")
        nurse.keys("ctrl+Return")
        nurse.picture("check-saved")
        nurse.keys("F2")
        nurse.picture("going")
        nurse.keys("ctrl+d")
        nurse.picture("dark")
        nurse.keys("Escape")
        nurse.picture("board-dark")
        nurse.keys("ctrl+d")
        said = nurse.closes()
    assert "Traceback" not in said, said
    assert len(nurse.taken) == 7
