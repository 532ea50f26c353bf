"""How a command can end otherwise than well."""


class WrongUse(Exception):
    """The command was given wrongly, in a way that only its files could tell; the text says what to write."""
