"""How one table of a design file is read: its keys, a parser for each value, every fault with its place.

The keys of each table are in ``tables``; this room knows no particular table, winding or core.
"""

from .keys import (
    Key,
    ParsedTable,
    Parser,
    Table,
    Tolerance,
    as_table,
    as_tables,
    entry_place,
    key_place,
    parse_table,
    value_error,
    value_text,
)
from .parsers import (
    MOST_STEPS,
    MOST_STRANDS,
    MOST_TURNS,
    count,
    flag,
    line,
    name,
    names,
    number_parser,
    one_of,
    parse_port,
    port_or_none,
    quantity_parser,
    relative,
    relative_or_length,
    text,
    tolerance,
)
