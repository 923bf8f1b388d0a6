"""How far predictions are to be trusted."""

from __future__ import annotations

from dataclasses import dataclass

from ...predict.design import FloatArray
from ...predict.production import TippedReadings


@dataclass(frozen=True)
class Scatter:
    """How far predictions are to be trusted, (T,) each, SI (rad). deviation : standard uncertainty. below,
    above : that of each side, where the range is not symmetric. share : part of the builds whose layers are
    as designed, of which all this is. apart : the others."""

    deviation: FloatArray
    below: FloatArray
    above: FloatArray
    share: float = 1.0
    apart: tuple[TippedReadings, ...] = ()

    def side(self, place: int, gap: float) -> float:
        """The standard uncertainty on the side of a reading that is ``gap`` above the prediction."""
        return float(self.above[place] if gap > 0 else self.below[place])
