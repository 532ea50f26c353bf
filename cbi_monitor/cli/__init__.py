"""The command line: ``cbi-monitor``. Puts the parts together for people at a terminal and for other programs.

Exit status: 0 done (findings are no failure), 1 something was refused or the disk failed (each named on stderr),
2 wrong use, 130 stopped with Ctrl-C.
"""

from __future__ import annotations

import contextlib
import os
import sys
from collections.abc import Sequence

from cbi_monitor.cli.faults import WrongUse
from cbi_monitor.cli.parser import make_parser, run_of
from cbi_monitor.model.findings import Refused

DONE, REFUSED, WRONG_USE, STOPPED = 0, 1, 2, 130


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status."""
    parser = make_parser()
    args = parser.parse_args(argv)
    try:
        run = run_of(args)
        if args.journal is not None or args.run[0] in ("journal", "opening"):
            _log_to_file()
        status = run(args)
        sys.stdout.flush()
        return status
    except Refused as refused:
        for refusal in refused.refusals:
            print(refusal, file=sys.stderr)
        return REFUSED
    except WrongUse as wrong:
        print(f"cbi-monitor: {wrong}", file=sys.stderr)
        return WRONG_USE
    except BrokenPipeError:
        # The reader (head, less) has seen enough. Python would complain once more when it closes stdout.
        with contextlib.suppress(OSError):
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except KeyboardInterrupt:
        print(file=sys.stderr)
        return STOPPED
    except Exception as fault:
        said = _told_fault(fault)
        if said is None:
            raise
        print(f"cbi-monitor: {said}", file=sys.stderr)
        return REFUSED


def _log_to_file() -> None:
    """What is logged goes into the log file, never among a command's output."""
    from cbi_monitor.ward.log import log_to
    from cbi_monitor.ward.places import log_file

    log_to(log_file())


def _told_fault(fault: Exception) -> str | None:
    """The sentence for a fault of the disk or of a journal; None for a fault of the program."""
    if isinstance(fault, OSError):
        name = f"{fault.filename}: " if fault.filename else ""
        return f"{name}{fault.strerror or fault}"
    from cbi_monitor.journal.port import Fault

    return str(fault) if isinstance(fault, Fault) else None
