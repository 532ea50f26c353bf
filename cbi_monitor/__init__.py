"""Charts continuous bladder irrigation and keeps its fluid balance true."""

__version__ = "0.1.0"
