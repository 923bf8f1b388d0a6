"""TOML ↔ Design: every key is read, checked and used, or refused by name, with all faults of a file in one
report.

The physical meaning of the values belongs to the other rooms; printing faults belongs to ``cli``.
"""

from .calibration_text import with_calibration
from .key_table import KeyLine, key_lines
from .new_design import KINDS, design_like, template
from .reader import design_text, load_bench, load_design
from .rewrite import rearranged_text
from .sources import InputFile, design_sources, input_file

__all__ = [
    "KINDS",
    "InputFile",
    "KeyLine",
    "design_like",
    "design_sources",
    "design_text",
    "input_file",
    "key_lines",
    "load_bench",
    "load_design",
    "rearranged_text",
    "template",
    "with_calibration",
]
