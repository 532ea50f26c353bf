"""The journal: append-only, hash-chained. "Saved" means on disk. Session files are read and written here too."""
