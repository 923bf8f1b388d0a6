"""How one table of a design file is read: its keys, a parser for each value, every fault with its place.

Which keys a table has stands in ``tables``; it knows no table, no winding and no core.
"""

from .keys import (
    Key,
    Parser,
    Section,
    Table,
    Tolerance,
    as_table,
    as_tables,
    entry_place,
    key_place,
    read_section,
    refuse,
    show,
)
from .parsers import (
    area,
    count,
    flag,
    name,
    names,
    number,
    one_of,
    port,
    port_or_none,
    quantity,
    relative,
    relative_or_length,
    text,
    tolerance,
)

__all__ = [
    "Key",
    "Parser",
    "Section",
    "Table",
    "Tolerance",
    "area",
    "as_table",
    "as_tables",
    "count",
    "entry_place",
    "flag",
    "key_place",
    "name",
    "names",
    "number",
    "one_of",
    "port",
    "port_or_none",
    "quantity",
    "read_section",
    "refuse",
    "relative",
    "relative_or_length",
    "show",
    "text",
    "tolerance",
]
