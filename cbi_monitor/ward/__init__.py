"""Use cases: record a check, correct, answer an alert, hand over, watch a ward; the clock; sign-in."""
