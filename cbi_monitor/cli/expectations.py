"""``cbi-monitor thresholds test``: whether the ward's sessions raise the alerts that it expects."""

from __future__ import annotations

import argparse
import sys

from cbi_monitor.cli.output import progress
from cbi_monitor.cli.sources import in_force
from cbi_monitor.ward.expectations import check
from cbi_monitor.wording import say


def run(args: argparse.Namespace) -> int:
    """Each difference on stderr; the status says whether there was one."""
    rules = in_force(args)
    checked = differences = 0
    for file in progress(args.files, len(args.files), say("cli-progress-files")):
        outcome = check(file, rules)
        checked += outcome.checked
        differences += len(outcome.differences)
        for difference in outcome.differences:
            print(difference, file=sys.stderr)
    print(say("cli-expectations", checked=checked, differences=differences))
    return 1 if differences else 0
