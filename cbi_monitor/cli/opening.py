"""``cbi-monitor`` and ``cbi-monitor demo``: a window, or without a display the demo as pictures, report and table."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from cbi_monitor.app import Places, has_display, open_demo, open_ward
from cbi_monitor.cli.balance import balance_text
from cbi_monitor.cli.report import span_of_shift, write
from cbi_monitor.cli.sources import Chart
from cbi_monitor.ward.bed import Bed
from cbi_monitor.ward.clock import FixedClock, SystemClock
from cbi_monitor.ward.demo import demo_desk
from cbi_monitor.ward.desk import Desk
from cbi_monitor.ward.settings_in_force import InForce, WardFiles
from cbi_monitor.wording import say


def _files(args: argparse.Namespace) -> WardFiles:
    return WardFiles(ward=args.ward, scale=args.effluent, thresholds=args.thresholds)


def app(args: argparse.Namespace) -> int:
    """The ward's own journal in a window."""
    return open_ward(Places(args.journal, _files(args)))


def demo(args: argparse.Namespace) -> int:
    """The demo ward in a window; without a display, or where asked for, as files."""
    if has_display() and not args.render:
        return open_demo(_files(args))
    return render(args.out, _files(args))


def render(folder: Path, files: WardFiles) -> int:
    """Draw board and bedside chart in light and dark, write a report, print the balance, and name every file."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    now = SystemClock().now()
    desk = demo_desk(now, FixedClock(now), in_force=InForce(files, strict=True))
    bed = desk.beds()[0]
    folder.mkdir(parents=True, exist_ok=True)
    paths = [*draw(desk, bed, folder), *_report(desk, bed, folder)]
    print(say("cli-demo-balance", bed=bed.label, reference=bed.reference))
    print(balance_text(bed.ledger.rows, desk.words))
    print(say("cli-balance-units"))
    print(say("caution-short"))
    print()
    print(say("cli-demo-written"))
    for path in paths:
        print(f"  {path.resolve()}")
    desk.journal.close()
    return 0


def draw(desk: Desk, bed: Bed, folder: Path) -> list[Path]:
    """Pictures of the real window: board and bedside chart, light and dark. Raises OSError where one is not written."""
    from cbi_monitor.screens.main_window import application, open_window

    window = open_window(desk)
    qt = application()
    made: list[Path] = []
    for theme, dark in (("light", False), ("dark", True)):
        window.set_theme(dark, chosen=False)
        window.show_board()
        for name in ("board", "bedside"):
            if name == "bedside":
                window.open_bed(bed.session)
            qt.processEvents()
            path = folder / f"{name}_{theme}.png"
            if not window.grab().save(str(path)):
                raise OSError(None, say("cli-not-written"), str(path))
            made.append(path)
    window.close()
    return made


def _report(desk: Desk, bed: Bed, folder: Path) -> list[Path]:
    events = tuple(desk.journal.events(bed.session))
    chart = Chart("", bed.session, events)
    span = span_of_shift(chart, desk.in_force.ward, None)
    printed_at = desk.clock.now()
    return write(
        chart, desk.in_force, span, folder, ["pdf"], overwrite=True, demo=True, printed_at=printed_at
    )
