"""A simulated bladder with known truth and a simulated nurse: benchmarks now, training later."""
