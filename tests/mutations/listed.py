"""All mistakes, room by room."""

from __future__ import annotations

from survivors import SURVIVORS

MISTAKES = (*SURVIVORS,)
