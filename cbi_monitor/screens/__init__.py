"""The windows that nurses live in: the only Qt of the program."""
