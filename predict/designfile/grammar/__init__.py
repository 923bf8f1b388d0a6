"""How one table of a design file is read: its keys, a parser for each value, every fault with its place.

Which keys a table has stands in ``tables``; it knows no table, no winding and no core.
"""
