"""Where the program keeps things on a workstation: the journal, the ward's files, the log. Only paths."""

from __future__ import annotations

from pathlib import Path

from platformdirs import PlatformDirs

_DIRS = PlatformDirs("cbi_monitor", appauthor=False)


def journal_file() -> Path:
    """The ward's own journal."""
    return Path(_DIRS.user_data_dir) / "ward.db"


def settings_folder() -> Path:
    """Where ``ward.toml``, ``effluent.toml`` and ``thresholds.toml`` of the ward are looked for."""
    return Path(_DIRS.user_config_dir)


def state_folder() -> Path:
    """Where the last good files and what a crash interrupted are kept."""
    return Path(_DIRS.user_state_dir)


def log_file() -> Path:
    """The log of faults."""
    return Path(_DIRS.user_log_dir) / "cbi_monitor.log"


def heartbeat_file(journal: Path) -> Path:
    """The sign of life beside a journal."""
    return journal.with_name(journal.name + ".watched")
