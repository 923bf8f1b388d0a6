"""Columns of a box (x0, x1, y0, y1), metres: how an array (..., 4) of rectangles of the window is read.

x is from the wound leg outwards, y from the lower yoke upwards, both halves of the core together. The same
columns hold for layers, for conductors and for the blocks of current of a field.
"""

from __future__ import annotations

from typing import Final

X0: Final = 0
"""Where the box begins across the window."""
X1: Final = 1
"""Where it ends across the window."""
Y0: Final = 2
"""Where it begins along the leg."""
Y1: Final = 3
"""Where it ends along the leg."""
ACROSS: Final = slice(X0, X1 + 1)
"""Both bounds across the window: (..., 2)."""
UPRIGHT: Final = slice(Y0, Y1 + 1)
"""Both bounds along the leg: (..., 2)."""
