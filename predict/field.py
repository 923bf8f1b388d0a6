"""Two-dimensional leakage fields of rectangular sections: the solver functions, under one name.

The same convention everywhere: an interaction matrix K (..., n, n) of n sections, symmetric, with NI·K·NI/2
the field's energy (per metre into the plane where so said) for ampere-turns NI (..., n) that sum to zero; x
from the centre leg's surface, y along the leg from the lower yoke, metres; every argument may carry leading
axes of builds.

- ``planar_window``: between four permeable walls, per metre;
- ``round_window``: the same around a round leg, over the whole turn;
- ``outside``: beside the leg outside the window, open space and mirror, per metre;
- ``centroid_forms``: where the in-window energy lies across the window.
"""

from .field_centroid import centroid_forms
from .field_outside import outside
from .field_planar import planar_window
from .field_round import round_window

__all__ = ["centroid_forms", "outside", "planar_window", "round_window"]
