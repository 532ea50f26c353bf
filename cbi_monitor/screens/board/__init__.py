"""The ward board says who needs someone, and when."""
