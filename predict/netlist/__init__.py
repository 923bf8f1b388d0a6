"""The predicted transformer as a SPICE subcircuit of passive elements, and how far that strays from the
readings.

It predicts nothing new; impedances come from ``circuit``, the ends of production from ``production``.
"""

from .elements import Range
from .file import netlist_file

__all__ = [
    "Range",
    "netlist_file",
]
