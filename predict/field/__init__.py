"""Magnetic fields at low frequency: inside the window, outside it, on rings, between separate turns; from
them the leakage interaction of sections.

Currents are taken as given and uniform in each layer; what alternating current changes is the business of
``copper``.
"""

from .centroid import centroid_forms
from .open_space import outside
from .planar import planar_window
from .round_leg import round_window

__all__ = ["centroid_forms", "outside", "planar_window", "round_window"]
