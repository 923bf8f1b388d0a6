"""One module for each table of a design file, from its raw TOML to its part of the Design.

How a key is looked up and a value parsed stands in ``designfile``, which also puts the parts together.
"""
