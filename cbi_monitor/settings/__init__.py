"""The files that a ward writes: how it measures, its effluent scale, its thresholds. ``shipped/`` holds every default."""

from cbi_monitor.settings.files import load_scale, load_thresholds, load_ward

__all__ = ["load_scale", "load_thresholds", "load_ward"]
