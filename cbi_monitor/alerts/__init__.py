"""Alerts: thresholds as data, one pure function per condition, which alert speaks for which, the life cycle, replay."""
