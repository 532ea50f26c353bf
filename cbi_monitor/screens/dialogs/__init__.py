"""Sheets over the window: opening a session, what is still to ask, corrections, answers. None blocks the program."""
