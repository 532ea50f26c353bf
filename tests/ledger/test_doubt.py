"""u of rows and running totals against the `uncertainties` library (PyPI), which carries correlations exactly.

JCGM 100:2008 (GUM), 5.1.2 and 5.2: each reading is one variable; a level read in between enters two rows.
"""

from __future__ import annotations

import random

import pytest
from uncertainties import ufloat

from cbi_monitor.ledger.points import spread
from tests.ledger.charts import WARD, account, check, entry, opening


def reading_u(instrument, ml: float) -> float:
    return (instrument.half_graduation**2 / 3 + instrument.reader**2 + (instrument.relative * ml) ** 2) ** 0.5


@pytest.mark.parametrize("seed", range(12))
def test_rows_and_running_totals_against_uncertainties(seed):
    """A random history: two lines, bag changes, emptyings with rests, washouts, leaks; readings shared."""
    rng = random.Random(seed)
    marks, drain, jug, syringe = (
        getattr(WARD.instruments, n) for n in ("bag_marks", "drainage_marks", "jug", "syringe")
    )

    def level(ml, instrument=marks):
        return ufloat(ml, reading_u(instrument, ml))

    events = [*opening(), entry("bag_hung", 0, line="B", label_ml=3000, fluid="saline_0_9")]
    standing = {"A": 3000.0, "B": 3000.0}
    seen = {"A": 3000.0, "B": 3000.0}
    contents, contents_seen = 0.0, 0.0
    nets = []
    since = 0.0
    for n in range(1, 12):
        minute = 60.0 * n
        row = 0.0
        for line in "AB":
            used = rng.randint(50, 500)
            if standing[line] - used < 150:
                rest = max(0.0, standing[line] - used)
                events += [entry("bag_down", minute - 20, line=line, left_ml=rest),
                           entry("bag_hung", minute - 20, line=line, label_ml=3000, fluid="saline_0_9")]  # fmt: skip
                row -= seen[line] - level(rest)
                standing[line], seen[line] = 3000.0, 3000.0
                used = 100
            standing[line] -= used
        contents += rng.randint(300, 900)
        if contents > 2500:
            volume, rest = contents - 200, 200.0
            events.append(entry("drainage_emptied", minute - 30, volume=volume, left_ml=rest))
            poured, left = level(volume, jug), level(rest, drain)
            row += poured + left - contents_seen
            contents, contents_seen = rest + 120, left
        if n % 3 == 0:
            events.append(
                entry("washout", minute - 10, pushes=3, syringe_ml=50, returned_ml=140, returned_to="dish")
            )
            one = (syringe.half_graduation**2 / 3 + syringe.reader**2) * 3 + (syringe.relative * 150) ** 2
            row += level(140, jug) - ufloat(150, one**0.5)
        if n % 4 == 0:
            events.append(entry("leaked", minute - 5, volume=60))
            row += level(60, jug)
        events += check(minute, contents, A=standing["A"], B=standing["B"])
        now = {line: level(standing[line]) for line in "AB"}
        full = level(contents, drain)
        row += (full - contents_seen) - sum(seen[line] - now[line] for line in "AB")
        seen, contents_seen = now, full
        since += row
        nets.append((row, since))
    ledger = account(events)
    assert len(ledger.rows) == len(nets)
    for place, (row, running) in enumerate(nets):
        found = ledger.rows[place]
        assert found.net_ml == pytest.approx(row.nominal_value, abs=0.01)
        assert found.net_u_ml == pytest.approx(row.std_dev, rel=1e-9)
        assert found.running_ml == pytest.approx(running.nominal_value, abs=0.01)
        whole = spread(ledger.points[0], ledger.points[place + 1], WARD, (0.0,) * 5)
        assert whole.u == pytest.approx(running.std_dev, rel=1e-9)


def test_overfill_and_common_errors_add_linearly_outside_the_root():
    """Published: 2.8 to 5.6 % over the label, never under (Nezhat et al., J Minim Invasive Gynecol 2007;14:489)."""
    ledger = account([*opening(), *check(60, 700, A=2400)])
    row = ledger.rows[0]
    fill, shared = WARD.overfill, WARD.instruments
    common = shared.bag_marks.common_relative * 2400 + shared.drainage_marks.common_relative * 700
    assert row.net_low_ml == pytest.approx(100 - 2 * row.net_u_ml - fill.high * 3000 - common)
    assert row.net_high_ml == pytest.approx(100 + 2 * row.net_u_ml - fill.low * 3000 + common)


def test_levels_in_between_cancel_in_running_totals():
    few = account([*opening(), *check(720, 700, A=2400)])
    many = account(
        [*opening(), *(e for n in range(1, 61) for e in check(12.0 * n, 700 * n / 60, A=3000 - 10.0 * n))]
    )
    assert many.rows[-1].running_high_ml == pytest.approx(few.rows[-1].running_high_ml)
