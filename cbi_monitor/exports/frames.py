"""The tables as pandas DataFrames with typed columns, for a nurse researcher's notebook.

>>> from cbi_monitor.exports.frames import frame
>>> hours = frame(tables["hours"], zone="Europe/London")

Times are ``datetime64[us, <zone>]``, whole millilitres ``Int64`` (a missing volume is ``<NA>``, never 0), numbers
``Float64``, yes/no ``boolean``, texts ``string``. The unit of each column stands in ``frame.attrs["units"]``.
pandas is imported when first asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from cbi_monitor.exports.table import Table

if TYPE_CHECKING:
    import pandas as pd

_TYPES = {
    "ml": "Int64",
    "number": "Float64",
    "yes": "boolean",
    "word": "string",
    "free": "string",
    "staff": "string",
}


def frame(table: Table, zone: str) -> pd.DataFrame:
    """One table as a DataFrame; ``zone`` is the ward's IANA zone. Raises ZoneInfoNotFoundError."""
    import pandas as pd

    columns = {}
    for place, column in enumerate(table.columns):
        cells = [row[place] for row in table.rows]
        if column.kind == "time":
            utc = pd.Series(cells, dtype="datetime64[us, UTC]")
            columns[column.name] = utc.dt.tz_convert(zone)
        else:
            columns[column.name] = pd.Series(cells, dtype=_TYPES[column.kind])
    made = pd.DataFrame(columns)
    made.attrs["table"] = table.name
    made.attrs["units"] = {column.name: column.unit for column in table.columns if column.unit}
    return made


def frames(tables: dict[str, Table], zone: str) -> dict[str, pd.DataFrame]:
    """Every table as a DataFrame, by name."""
    return {name: frame(table, zone) for name, table in tables.items()}
