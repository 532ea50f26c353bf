"""Behind by, may hold, proof of outflow, and the patient's own urine: what the points tell as they come.

*Behind by* is the drop of the running ``out − in`` of the bladder from its highest point, a one-sided cumulative-sum
statistic (Page, Biometrika 1954;41:100): no assumption about urine enters it, so it comes home to zero. *May hold* adds
what may have been left at the highest point and the urine made since.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from math import exp

from cbi_monitor.ledger.measure import Measures
from cbi_monitor.ledger.points import Point, Spread, spread
from cbi_monitor.model.instants import hours
from cbi_monitor.model.volumes import Range

SCAN_HOURS = 6
"""A scan older than this tells nothing any more; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Scan:
    """A bladder scan: when, mL, whether it may lower the estimate, and the height of ``out − in`` it is tied to."""

    at: datetime
    ml: float
    may_lower: bool
    height: float


@dataclass(slots=True)
class Track:
    """See the module. ``height`` is the running ``out − in`` with broken rows left out; mL."""

    measures: Measures
    point: Point | None = None
    height: float = 0.0
    peak: Point | None = None
    peak_height: float = 0.0
    peak_loose_ml: float = 0.0
    base: Range | None = None
    extra_ml: float = 0.0
    extra_at: datetime | None = None
    scan: Scan | None = None
    behind_ml: float = 0.0
    behind_u: float = 0.0
    hold: Range | None = None
    proof_at: datetime | None = None
    proof_high: float = 0.0
    proof_kind: str = "start"
    quiet_since: Point | None = None
    learned_mean: float | None = None
    learned_variance: float = 0.0
    learned_spans: int = 0
    running_from: Point | None = None
    relief_until: datetime | None = None

    def copy(self) -> Track:
        """An independent copy; points are immutable and shared."""
        return replace(self)

    # --- urine ------------------------------------------------------------------------------------------------

    def expected(self, per_kg: float, weight_kg: float) -> tuple[Range, str]:
        """Expected urine, mL/h, and what it rests on: ``none``, ``assumed`` or ``learned``."""
        urine = self.measures.ward.urine
        if per_kg <= 0:
            return Range(0.0, 0.0, 0.0), "none"
        if self.learned_mean is None:
            mean, basis, own = per_kg * weight_kg, "assumed", 0.0
        else:
            mean, basis, own = self.learned_mean, "learned", 0.0
        most = urine.most * weight_kg
        mean = min(max(mean, 0.0), most)
        factor = exp(2 * urine.log_sd)
        return Range(
            max(0.0, mean / factor - own), mean, min(most, mean * factor) if mean < most else mean
        ), basis

    def _learn(self, point: Point, per_kg: float, weight_kg: float) -> None:
        """From a quiet span of at least ``learn_hours`` that began and ends at the highest point."""
        urine = self.measures.ward.urine
        start = self.quiet_since
        if start is None or per_kg <= 0:
            return
        span = hours(point.at - start.at)
        if span < urine.learn_hours:
            return
        doubt = spread(start, point, self.measures.ward, self.measures.common)
        fill = self.measures.ward.overfill
        net = point.sums.bladder_net - start.sums.bladder_net
        seen = (net - (fill.low + fill.high) / 2 * (point.labels_ml - start.labels_ml)) / span
        wander = urine.log_sd * per_kg * weight_kg * (4.0 / (4.0 + span)) ** 0.5
        variance = (doubt.all_u**2 + self.measures.ward.bladder.residue_high_ml**2 / 6) / span**2 + wander**2
        if self.learned_mean is None:
            mean, before = per_kg * weight_kg, (urine.log_sd * per_kg * weight_kg) ** 2
        else:
            mean, before = self.learned_mean, self.learned_variance + (wander / 2) ** 2
        gain = before / (before + variance)
        mean += gain * (seen - mean)
        self.learned_mean = min(max(mean, 0.0), urine.most * weight_kg)
        self.learned_variance = (1 - gain) * before
        self.learned_spans += 1
        self.quiet_since = point

    def disturb(self) -> None:
        """Something happened after which a span is no longer quiet."""
        self.quiet_since = None

    # --- points -----------------------------------------------------------------------------------------------

    def restart(self, point: Point | None, base: Range | None) -> None:
        """The bladder is known anew: after ``bladder_emptied`` or a count restart."""
        self.peak, self.peak_height, self.peak_loose_ml = point, self.height, 0.0
        self.behind_ml, self.behind_u = 0.0, 0.0
        self.base, self.extra_ml, self.extra_at, self.scan = base, 0.0, None, None
        self.disturb()

    def advance(
        self, point: Point, *, broken_ml: float | None, loose_ml: float, per_kg: float, weight_kg: float,
        inflow: Range, settled_questions: bool,
    ) -> None:  # fmt: skip
        """One more point. ``broken_ml``: at most this much more may have stayed over a row that broke conservation."""
        last = self.point
        gain = point.sums.bladder_net - last.sums.bladder_net if last is not None else 0.0
        broken = broken_ml is not None
        if broken:
            gain = 0.0
            self.extra_ml += broken_ml or 0.0
            self.extra_at = point.at
            self.disturb()
        self.height += gain
        self.point = point
        if self.peak is None or last is None:
            self.peak, self.peak_height, self.quiet_since = point, self.height, point
            self.proof_at, self.proof_kind = point.at, "start"
        self.peak_loose_ml = max(self.peak_loose_ml, loose_ml)
        urine, _ = self.expected(per_kg, weight_kg)
        rise = self.height - self.peak_height
        if rise >= 0:
            if self.base is not None:
                made = urine.mid * hours(point.at - self.peak.at)
                fallen = max(0.0, rise - made)
                bladder = self.measures.ward.bladder
                mid = max(bladder.residue_ml, self.base.mid - fallen)
                low = max(0.0, self.base.low - fallen)
                high = max(bladder.residue_high_ml, self.base.high - fallen)
                self.base = None if mid <= bladder.residue_ml else Range(min(low, mid), mid, max(high, mid))
            self.peak, self.peak_height, self.peak_loose_ml = point, self.height, 0.0
            if self.quiet_since is None:
                self.quiet_since = point
            elif settled_questions:
                self._learn(point, per_kg, weight_kg)
        if self.behind_ml > self.measures.ward.bladder.residue_high_ml and self.behind_ml > 3 * self.behind_u:
            self.disturb()
        doubt = spread(self.peak, point, self.measures.ward, self.measures.common)
        self.behind_ml = max(0.0, self.peak_height - self.height - self.peak_loose_ml)
        self.behind_u = doubt.all_u if self.peak is not point else 0.0
        self.hold = self._hold(point, doubt, urine)
        self._prove(point, last, broken, inflow, urine)

    def _hold(self, point: Point, doubt: Spread, urine: Range) -> Range:
        bladder = self.measures.ward.bladder
        peak = self.peak
        assert peak is not None
        span = hours(point.at - peak.at)
        base = self.base or Range(0.0, bladder.residue_ml, max(bladder.residue_ml, bladder.residue_high_ml))
        mid = base.mid + self.behind_ml + urine.mid * span
        below = (
            (2 * doubt.all_u) ** 2 + ((urine.mid - urine.low) * span) ** 2 + (base.mid - base.low) ** 2
        ) ** 0.5
        above = (
            (2 * doubt.all_u) ** 2 + ((urine.high - urine.mid) * span) ** 2 + (base.high - base.mid) ** 2
        ) ** 0.5
        leaked = point.sums.leaked - peak.sums.leaked
        low, high = max(0.0, mid - below), mid + above + leaked + self.extra_ml
        if self.scan is not None:
            low, mid, high = self.with_scan(point.at, urine, low, mid, high)
        return Range(min(low, mid), mid, max(mid, high))

    def with_scan(
        self, at: datetime, urine: Range, low: float, mid: float, high: float
    ) -> tuple[float, float, float]:
        """The range with a scan of at most 6 h ago taken in: raised by it, lowered only where clot cannot hide."""
        scan = self.scan
        assert scan is not None
        span = max(0.0, hours(at - scan.at))
        if span > SCAN_HOURS:
            return low, mid, high
        told = max(0.0, scan.ml + urine.mid * span - (self.height - scan.height))
        sd = (self.measures.ward.bladder.scan_u_ml**2 + ((urine.high - urine.low) / 4 * span) ** 2) ** 0.5
        if scan.may_lower:
            own = max((high - low) / 4, 1.0)
            weight = own**2 / (own**2 + sd**2)
            mid += weight * (told - mid)
            sd = (1 / (1 / own**2 + 1 / sd**2)) ** 0.5
            return max(0.0, mid - 2 * sd), mid, mid + 2 * sd
        if told > mid:
            return max(low, told - 2 * sd, 0.0), told, max(high, told + 2 * sd)
        return low, mid, high

    def _prove(self, point: Point, last: Point | None, broken: bool, inflow: Range, urine: Range) -> None:
        """Volume as proof: 80 % of what ran in, and then only up to (in + urine − out)/(inflow + urine) earlier."""
        assert self.hold is not None
        if last is None or broken:
            return
        ran = point.sums.irrigant_in - last.sums.irrigant_in
        drained = point.sums.drained - last.sums.drained
        span = hours(point.at - last.at)
        if ran <= 0 or span <= 0 or drained < self.measures.ward.bladder.proof_part * ran:
            return
        flow = inflow.mid + urine.mid
        owed = max(0.0, ran + urine.mid * span - drained)
        early = min(owed / flow, span) if flow > 0 else 0.0
        at = point.at - timedelta(hours=early)
        if self.proof_at is None or at >= self.proof_at:
            self.proof_at, self.proof_kind, self.proof_high = at, "volume", self.hold.high
