"""How good the alerts are, on simulated bladders whose truth is known. Prints tables; times and asserts nothing.

    python tests/benchmarks/alert_quality.py                  all tables, 300 beds a cell
    python tests/benchmarks/alert_quality.py --beds 30        a quick look
    python tests/benchmarks/alert_quality.py --only A B       only these tables (A, B, rules, reported, ward, urine)

The shipped thresholds and ward rules are used, with the instruments that the scene's ward would write in its own file.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cache
from multiprocessing import Pool
from pathlib import Path
from statistics import mean, median
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))

from bed_in_the_loop import Night, WardFor, careful_ward, coarse_ward, live, night_ward
from customary_rules import RULES, Said, apply_rules

from cbi_monitor.practice import Scene, scenes
from cbi_monitor.settings import load_scale, load_thresholds, load_ward

RATES = (300.0, 600.0, 1000.0)
URINES = (1.0, 0.3, 1.0, 3.0)
OVERFILLS = (0.0, 0.042)


def shipped_ward(ward: Any) -> Any:
    """The ward file as shipped."""
    return ward


WARDS: dict[str, WardFor] = {
    "careful": careful_ward,
    "night": night_ward,
    "coarse": coarse_ward,
    "shipped": shipped_ward,
}


@dataclass(frozen=True, slots=True)
class Job:
    """One bed to run: how its scene is made, and under which ward."""

    name: str
    make: str
    seed: int
    options: tuple[tuple[str, Any], ...] = ()
    ward: str = "night"
    looks: bool = True
    stop_when_found: bool = True
    urine_every_h: float = 0.0

    def scene(self) -> Scene:
        """The scene of this bed."""
        maker: Callable[..., Scene] = getattr(scenes, self.make)
        return maker(self.seed, **dict(self.options))


@cache
def _settings(ward: str) -> tuple[Any, Any, Any]:
    return WARDS[ward](load_ward()), load_scale(), load_thresholds()


def run(job: Job) -> Night:
    """One bed under the real watch."""
    ward, scale, thresholds = _settings(job.ward)
    return live(
        job.name,
        job.scene(),
        job.seed,
        ward,
        scale,
        thresholds,
        looks=job.looks,
        stop_when_found=job.stop_when_found,
        urine_every_h=job.urine_every_h,
    )


def run_rules(job: Job) -> tuple[str, dict[str, Said]]:
    """One bed under the customary rules."""
    return job.name, apply_rules(job.scene(), job.seed)


def mixed(seed: int) -> tuple[tuple[str, Any], ...]:
    """Rate, urine and overfill by turns, so that every mixture comes up."""
    return (
        ("rate", RATES[seed % 3]),
        ("urine", URINES[seed // 3 % 4]),
        ("over_label", OVERFILLS[seed // 12 % 2]),
    )


# --- the tables -------------------------------------------------------------------------------------------------


def jobs_a(beds: int) -> list[Job]:
    """Table A: the careful reader at 15, 30 and 60 minutes, and hourly with looks."""
    rows = [
        ("15 min", 15.0, False),
        ("30 min", 30.0, False),
        ("60 min", 60.0, False),
        ("60 min, looks", 60.0, True),
    ]
    return [
        Job(f"{name} {'block' if blocked else 'free'}", "careful_reader", seed,
            (("every", every), ("blocked", blocked), ("looks", looks), *mixed(seed)), "careful", looks)
        for name, every, looks in rows
        for blocked in (True, False)
        for seed in range(beds)
    ]  # fmt: skip


def jobs_b(beds: int) -> list[Job]:
    """Table B: a real night."""
    return [
        Job(
            f"real night {'block' if blocked else 'free'}",
            "real_night",
            seed,
            (("blocked", blocked), *mixed(seed)),
        )
        for blocked in (True, False)
        for seed in range(beds)
    ]


def jobs_reported(beds: int) -> list[Job]:
    """What is reported too."""
    jobs = []
    for make in ("slow_block", "partial_block", "dripping_block", "comes_and_goes", "by_passing"):
        jobs += [Job(make, make, seed) for seed in range(beds)]
    for make in ("forgotten_emptying", "forgotten_bag"):
        jobs += [Job(make, make, seed) for seed in range(beds)]
        jobs += [Job(f"{make}, then a block", make, seed, (("blocked", True),)) for seed in range(beds)]
    jobs += [Job("anuric", "anuric", seed) for seed in range(max(100, beds))]
    jobs += [Job("residual 900 mL", "retained_at_opening", seed) for seed in range(beds)]
    jobs += [Job("absorbing", "absorbing", seed) for seed in range(beds)]
    for make, ward in (("coarse_marks", "coarse"), ("weighed", "shipped"), ("typed_times_off", "night"),
                       ("whole_bags", "shipped")):  # fmt: skip
        for blocked in (False, True):
            name = f"{make}{', block' if blocked else ''}"
            jobs += [Job(name, make, seed, (("blocked", blocked),), ward) for seed in range(beds)]
    jobs += [
        Job("full drainage bag", "full_drainage_bag", seed, stop_when_found=False) for seed in range(beds)
    ]
    return jobs


WARD_BEDS = (
    *(("real_night", (("rate", rate), ("urine", urine))) for rate in RATES for urine in (0.3, 1.0, 3.0)),
    *(("real_night", (("blocked", True), ("rate", rate))) for rate in (300.0, 600.0)),
    ("slow_block", ()), ("partial_block", ()), ("dripping_block", ()), ("comes_and_goes", ()),
    ("forgotten_emptying", ()), ("forgotten_bag", ()), ("anuric", ()), ("weighed", ()), ("whole_bags", ()),
)  # fmt: skip


def jobs_ward(beds: int) -> list[Job]:
    """Wards of twenty mixed beds over a day."""
    wards = max(1, beds // 30)
    return [
        Job(f"ward {ward}", make, 1000 * ward + place, options,
            "shipped" if make in {"weighed", "whole_bags"} else "night", stop_when_found=False)
        for ward in range(wards)
        for place, (make, options) in enumerate(WARD_BEDS)
    ]  # fmt: skip


def jobs_urine(beds: int) -> list[Job]:
    """Low urine: weighed at a true 0.3 and 1.0, and the same by marks of 100 mL."""
    beds = max(100, beds)
    return [
        Job(f"{make} {urine} mL/kg/h", make, seed, (("urine", urine),), ward, urine_every_h=0.5)
        for make, ward in (("weighed", "shipped"), ("real_night", "night"))
        for urine in (0.3, 1.0)
        for seed in range(beds)
    ]


# --- printing ---------------------------------------------------------------------------------------------------


def spread(values: list[float]) -> str:
    """Median, 95th of a hundred, most."""
    if not values:
        return "-"
    ordered = sorted(values)
    return f"{median(ordered):.0f} / {ordered[int(0.95 * (len(ordered) - 1))]:.0f} / {ordered[-1]:.0f}"


def per_day(count: float, hours: float) -> float:
    """Per patient-day."""
    return 24.0 * count / hours if hours else 0.0


def grouped(nights: Iterable[Night]) -> dict[str, list[Night]]:
    """By name, in the order in which the names first come."""
    groups: dict[str, list[Night]] = defaultdict(list)
    for night in nights:
        groups[night.name].append(night)
    return groups


def print_blocks(nights: list[Night]) -> list[dict[str, Any]]:
    """False alerts from both kinds of bed up to the block, and what was found of the blocks."""
    print(
        f"{'':34}{'beds':>6}{'false/day':>11}{'missed':>8}{'bladder mL: median / 95 % / most':>36}{'highest':>9}"
    )
    told = []
    for name, beds in grouped(nights).items():
        blocked = [one for one in beds if one.block_at is not None]
        found = [one.found_ml for one in blocked if one.found_ml is not None]
        false = per_day(sum(one.false for one in beds), sum(one.hours for one in beds))
        missed = len(blocked) - len(found)
        worst = max((one.worst_ml for one in blocked), default=0.0)
        ways = Counter(one.found_by for one in blocked if one.found_by)
        print(f"{name:34}{len(beds):6}{false:11.3f}{missed:8}{spread(found):>36}{worst:9.0f}  {dict(ways)}")
        told.append({"name": name, "beds": len(beds), "false_per_day": false, "missed": missed,
                     "median_ml": median(found) if found else None, "most_ml": max(found, default=None)})  # fmt: skip
    return told


def print_reported(nights: list[Night]) -> list[dict[str, Any]]:
    """The blocks table, then what was asked about and what was high."""
    told = print_blocks(nights)
    print()
    for name, beds in grouped(nights).items():
        hours = sum(one.hours for one in beds)
        highs = sum(
            a.priority == "high" and (n.block_at is None or a.at < n.block_at) for n in beds for a in n.alerts
        )
        line = f"{name:34} false highs of any kind/day {per_day(highs, hours):.3f}"
        if any(one.forgotten for one in beds):
            right = [asked_rightly(one) for one in beds if one.forgotten]
            line += f"   forgotten volumes asked about rightly: {sum(right)} of {len(right)}"
        kinds = Counter(a.condition for n in beds for a in n.alerts)
        print(line + "   " + ", ".join(f"{kind} {count}" for kind, count in kinds.most_common(6)))
    return told


def asked_rightly(night: Night) -> bool:
    """Some question or alert names a volume within 250 mL or a quarter of the forgotten one, not before it happened."""
    for _, at, ml in night.forgotten:
        near = max(250.0, 0.25 * abs(ml))
        said = [(when, facts) for _, when, facts in night.asked]
        said += [(a.at, a.facts) for a in night.alerts if a.condition == "unrecorded_volume"]
        for when, facts in said:
            numbers = [abs(value) for value in facts.values() if isinstance(value, int | float)]
            if when >= at and any(abs(number - abs(ml)) <= near for number in numbers):
                return True
    return False


def print_ward(nights: list[Night]) -> list[dict[str, Any]]:
    """Alerts an hour over twenty beds, tasks apart, floods and chattering."""
    told = []
    for name, beds in grouped(nights).items():
        alerts = sorted((a for one in beds for a in one.alerts if not a.spoken), key=lambda a: a.at)
        hours = max(one.hours for one in beds)
        hours = max(hours, 24.0)
        flood = (
            max(sum(0 <= (b.at - a.at).total_seconds() < 600 for b in alerts) for a in alerts)
            if alerts
            else 0
        )
        chatter = 0
        for one in beds:
            by = defaultdict(list)
            for alert in one.alerts:
                by[alert.condition].append(alert.at)
            chatter += sum(
                sum((times[i + 2] - times[i]).total_seconds() < 3600 for i in range(len(times) - 2))
                for times in by.values()
            )
        kinds = Counter(f"{a.condition} {a.priority}" for a in alerts)
        print(
            f"{name}: {len(beds)} beds, {len(alerts) / hours:.2f} alerts/h, most in 10 min {flood}, "
            f"three of a kind within an hour {chatter}, looks/h {sum(n.looks for n in beds) / hours:.1f}, "
            f"checks/h {sum(n.checks for n in beds) / hours:.1f}"
        )
        print("   " + ", ".join(f"{kind} {count}" for kind, count in kinds.most_common(12)))
        told.append({"name": name, "alerts_per_hour": len(alerts) / hours, "most_in_10_min": flood})
    return told


def print_urine(nights: list[Night]) -> list[dict[str, Any]]:
    """When low urine was said, and what the window told at its best."""
    told = []
    for name, beds in grouped(nights).items():
        said = []
        for one in beds:
            hours = [
                (a.at - one.start).total_seconds() / 3600 for a in one.alerts if a.condition == "low_urine"
            ]
            said.append(min(hours) if hours else None)
        called = [hour for hour in said if hour is not None]
        known = [(low, high) for one in beds for _, low, _, high, why in one.urine if not why]
        width = mean(high - low for low, high in known) if known else float("nan")
        unsure = sum(low < 0.5 < high for low, high in known) / len(known) if known else float("nan")
        print(
            f"{name:34} low said on {len(called)} of {len(beds)} beds, first after {spread(called)} h; "
            f"range on average {width:.2f} mL/kg/h wide, spans the limit {100 * unsure:.0f} % of the time"
        )
        told.append({"name": name, "said": len(called), "beds": len(beds), "first_h": called})
    return told


def print_rules(said: list[tuple[str, dict[str, Said]]]) -> list[dict[str, Any]]:
    """The customary rules on the same careful reader."""
    told = []
    groups: dict[str, list[dict[str, Said]]] = defaultdict(list)
    for name, rules in said:
        groups[name].append(rules)
    for name, beds in groups.items():
        for rule in RULES:
            mine = [bed[rule] for bed in beds]
            false = per_day(sum(one.false for one in mine), sum(one.hours for one in mine))
            found = [one.found_ml for one in mine if one.found_ml is not None]
            print(f"{name:24}{rule:38} false/day {false:7.2f}   bladder mL {spread(found):>20}")
            told.append({"name": name, "rule": rule, "false_per_day": false})
    return told


TABLES: dict[str, tuple[str, Callable[[int], list[Job]], Callable[[list[Night]], list[dict[str, Any]]]]] = {
    "A": ("A, a careful reader", jobs_a, print_blocks),
    "B": ("B, a real night", jobs_b, print_blocks),
    "reported": ("Reported too", jobs_reported, print_reported),
    "ward": ("Wards of twenty mixed beds, 24 h", jobs_ward, print_ward),
    "urine": ("Low urine at 600 mL/h", jobs_urine, print_urine),
}


def main() -> int:
    """Runs the tables asked for."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--beds", type=int, default=300, help="beds a cell (default 300)")
    parser.add_argument("--workers", type=int, default=2, help="processes (default 2)")
    parser.add_argument("--only", nargs="+", choices=[*TABLES, "rules"], default=[*TABLES, "rules"])
    parser.add_argument("--json", type=Path, help="also write the figures here")
    asked = parser.parse_args()
    told: dict[str, Any] = {}
    with Pool(asked.workers) as pool:
        for key, (title, make, show) in TABLES.items():
            if key in asked.only:
                told[key] = _table(pool, title, make(asked.beds), show)
        if "rules" in asked.only:
            print("\nCustomary rules, the same careful reader")
            jobs = [job for job in jobs_a(asked.beds) if not job.looks]
            told["rules"] = print_rules(pool.map(run_rules, jobs, chunksize=4))
    if asked.json:
        asked.json.write_text(json.dumps(told, indent=1, default=str))
    return 0


def _table(pool: Any, title: str, jobs: list[Job], show: Callable[[list[Night]], Any]) -> Any:
    started = time.perf_counter()
    nights = []
    for done, night in enumerate(pool.imap(run, jobs, chunksize=2), start=1):
        nights.append(night)
        if sys.stderr.isatty():
            print(f"\r{title}: {done} of {len(jobs)}", end="", file=sys.stderr)
    print(f"\n{title}   ({len(jobs)} beds in {time.perf_counter() - started:.0f} s)")
    return show(nights)


if __name__ == "__main__":
    sys.exit(main())
