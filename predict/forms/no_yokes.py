"""What forms without legs and yokes have in common: rings, and coils in air."""

from __future__ import annotations

import numpy as np

from .core_form import CoreForm, FloatArray, LegGeometry


class NoYokes(CoreForm):
    """A form around which turns lie wholly in the open: no yoke covers a part of them."""

    @property
    def return_legs(self) -> LegGeometry:
        """Where the flux returns: ``wound_leg`` again."""
        return self.wound_leg

    def turn_in_window(self, length: FloatArray) -> FloatArray:
        """Part of a turn of a length (m) that lies in the window: all of it, (...,) array, dimensionless."""
        return np.ones(np.shape(length))

    @property
    def leg_edges(self) -> int:
        """Number of edges of outer legs that a turn passes, count."""
        return 0
