"""The files that a ward writes: how it measures, its effluent scale, its thresholds. ``shipped/`` has the defaults."""

from cbi_monitor.settings.explain import Difference, Explained, differences, explain, tables
from cbi_monitor.settings.files import load_scale, load_thresholds, load_ward
from cbi_monitor.settings.kept import Kept
from cbi_monitor.settings.maps import CHART_MAP, load_chart_map, shipped_maps
from cbi_monitor.settings.reading import SCALE, THRESHOLDS, WARD, Kind, Read, read, read_bytes

__all__ = [
    "CHART_MAP",
    "SCALE",
    "THRESHOLDS",
    "WARD",
    "Difference",
    "Explained",
    "Kept",
    "Kind",
    "Read",
    "differences",
    "explain",
    "load_chart_map",
    "load_scale",
    "load_thresholds",
    "load_ward",
    "read",
    "read_bytes",
    "shipped_maps",
    "tables",
]
