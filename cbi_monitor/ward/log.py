"""The log of faults: one JSON object a line in a file that only its owner reads; never on a command's output."""

from __future__ import annotations

import logging
import logging.handlers
import os
import sys
from pathlib import Path
from typing import Any

LARGEST = 1_000_000
KEPT = 3


def logger(name: str) -> Any:
    """A logger by its name. What logs is loaded with the first fault: the window must not wait for it."""
    import structlog

    return structlog.get_logger(name)


def log_to(path: Path) -> None:
    """Send what is logged into this file; a few old ones are kept beside it.

    Where the disk does not take it the log goes to stderr: a fault is never lost for want of a file.
    """
    import structlog

    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        os.close(os.open(path, os.O_CREAT | os.O_APPEND | os.O_WRONLY, 0o600))
        handler: logging.Handler = logging.handlers.RotatingFileHandler(
            path, maxBytes=LARGEST, backupCount=KEPT, encoding="utf-8"
        )
    except OSError as fault:
        sys.stderr.write(f"{path}: {fault.strerror or fault}\n")
        handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(message)s"))
    root = logging.getLogger("cbi_monitor")
    for old in list(root.handlers):
        root.removeHandler(old)
        old.close()
    root.addHandler(handler)
    root.setLevel(logging.INFO)
    root.propagate = False
    structlog.configure(
        processors=[
            structlog.stdlib.add_logger_name,
            structlog.stdlib.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.format_exc_info,
            structlog.processors.JSONRenderer(),
        ],
        wrapper_class=structlog.stdlib.BoundLogger,
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=False,
    )
