"""Files that a ward writes: ward, thresholds, effluent scale. Read with line numbers; the last good one stays in force."""
