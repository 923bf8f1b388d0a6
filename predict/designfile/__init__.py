"""TOML ↔ Design: every key is read, checked and used, or refused by name, with all faults of a file in one
report.

What the values mean physically is the business of the other rooms; printing faults that of ``cli``.
"""
