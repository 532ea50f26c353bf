"""Slips: the small forms under the bedside chart in which a nurse writes what she saw and did."""
