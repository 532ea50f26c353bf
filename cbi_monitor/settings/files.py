"""The ward's files as types: the ward file and the effluent scale."""

from __future__ import annotations

import json
import tomllib
from importlib import resources
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel

from cbi_monitor.alerts.thresholds import Thresholds
from cbi_monitor.model.ward import EffluentScale, WardRules

M = TypeVar("M", bound=BaseModel)


def _load(shape: type[M], path: Path | None, shipped: str) -> M:
    text = (
        resources.files("cbi_monitor.settings").joinpath("shipped", shipped).read_text("utf-8")
        if path is None
        else Path(path).read_text("utf-8")
    )
    return shape.model_validate_json(json.dumps(tomllib.loads(text)), strict=True)


def load_ward(path: Path | None = None) -> WardRules:
    """The ward file; None: the shipped one."""
    return _load(WardRules, path, "ward.toml")


def load_scale(path: Path | None = None) -> EffluentScale:
    """The effluent scale; None: the shipped one."""
    return _load(EffluentScale, path, "effluent.toml")


def load_thresholds(path: Path | None = None) -> Thresholds:
    """The threshold file; None: the shipped one."""
    return _load(Thresholds, path, "thresholds.toml")
