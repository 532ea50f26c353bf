"""From what was read to millilitres with their variance, by the ward's instruments (JCGM 100:2008, 4.3.7, 5.1.2)."""

from __future__ import annotations

from dataclasses import dataclass

from cbi_monitor.model.ward import Instrument, WardRules

INSTRUMENTS = ("bag_marks", "drainage_marks", "jug", "scales", "syringe")
BAG_MARKS, DRAINAGE_MARKS, JUG, SCALES, SYRINGE = range(5)


@dataclass(frozen=True, slots=True)
class Measured:
    """A volume in mL, its variance in mL², and which instrument read it (for its common error)."""

    ml: float
    variance: float
    instrument: int


@dataclass(frozen=True, slots=True)
class Measures:
    """The ward's ways of measuring, ready for use."""

    ward: WardRules
    table: tuple[Instrument, ...]
    common: tuple[float, ...]

    @classmethod
    def of(cls, ward: WardRules) -> Measures:
        """From the ward file."""
        table = tuple(getattr(ward.instruments, name) for name in INSTRUMENTS)
        return cls(ward, table, tuple(instrument.common_relative for instrument in table))

    def read(self, ml: float, instrument: int, *, about: bool | None = None) -> Measured:
        """A volume read on marks, in a jug or a syringe."""
        how = self.table[instrument]
        variance = how.half_graduation**2 / 3 + how.reader**2 + (how.relative * ml) ** 2
        if about:
            variance += (self.ward.balance.about_relative * ml) ** 2
        return Measured(ml, variance, instrument)

    def poured(self, ml: float, pushes: int = 1) -> Measured:
        """A volume pushed in by syringe; every push adds its own reading error."""
        how = self.table[SYRINGE]
        each = how.half_graduation**2 / 3 + how.reader**2
        return Measured(ml, max(1, pushes) * each + (how.relative * ml) ** 2, SYRINGE)

    def weighed_bag(
        self, grams: float, label_ml: float, fluid: str, *, about: bool | None = None
    ) -> Measured | None:
        """A hanging bag on the scales: (gross − tare of its size) / density. None: not in the ward file."""
        tare = self.ward.sizes.irrigant_tare_g.get(f"{label_ml:g}")
        known = self.ward.fluids.get(fluid)
        if tare is None or known is None:
            return None
        return self._weighed(grams, tare, known.density, known.density_u, about)

    def weighed_drainage(
        self, grams: float, capacity_ml: float | None, *, about: bool | None = None
    ) -> Measured | None:
        """A drainage bag on the scales. None: its size is not known or not in the ward file."""
        if capacity_ml is None:
            return None
        tare = self.ward.sizes.drainage_tare_g.get(f"{capacity_ml:g}")
        if tare is None:
            return None
        return self._weighed(grams, tare, self.ward.drained_density, self.ward.drained_density_u, about)

    def weighed_leak(self, grams: float, *, about: bool | None = None) -> Measured:
        """A leak by the gain in weight of the pad."""
        return self._weighed(grams, 0.0, self.ward.drained_density, self.ward.drained_density_u, about)

    def _weighed(
        self, grams: float, tare: float, density: float, density_u: float, about: bool | None
    ) -> Measured:
        how = self.table[SCALES]
        ml = max(0.0, (grams - tare) / density)
        tare_u = self.ward.sizes.tare_u_g if tare else 0.0
        variance = (how.half_graduation**2 / 3 + how.reader**2 + tare_u**2) / density**2
        variance += (ml * density_u / density) ** 2 + (how.relative * ml) ** 2
        if about:
            variance += (self.ward.balance.about_relative * ml) ** 2
        return Measured(ml, variance, SCALES)
