"""The bed laid out by hand (bedside.py) is imported by name from beside the tests."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
