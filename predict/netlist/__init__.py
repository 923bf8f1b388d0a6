"""The predicted transformer as a SPICE subcircuit of passive elements, and how far that deviates from the
readings.

This room predicts nothing new: impedances come from ``circuit``, the ends of production from
``production``.
"""

from .elements import Range
from .file import netlist_file

__all__ = ["Range", "netlist_file"]
