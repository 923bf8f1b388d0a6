"""How far predictions are to be trusted."""

from __future__ import annotations

from dataclasses import dataclass

from ...predict.design import FloatArray
from ...predict.production import RANGE_END, TippedReadings


@dataclass(frozen=True)
class Scatter:
    """How far the predictions of T tests are to be trusted.

    Attributes
    ----------
    deviation : (T,) array, standard uncertainty, SI (rad for a phase)
    below, above : (T,) array, standard uncertainty below and above the prediction, SI
    share : float
        Fraction of the builds whose layers are as designed, dimensionless; the fields above hold for these.
    apart : tuple[TippedReadings, ...], the other builds
    """

    deviation: FloatArray
    below: FloatArray
    above: FloatArray
    share: float = 1.0
    apart: tuple[TippedReadings, ...] = ()

    def side(self, index: int, gap: float) -> float:
        """Standard uncertainty on the side of the prediction on which a reading lies.

        Parameters
        ----------
        index : int, index of the test
        gap : float, reading minus prediction, SI

        Returns
        -------
        float, standard uncertainty, SI
        """
        return float(self.above[index] if gap > 0 else self.below[index])

    def range_around(self, index: int, predicted: float) -> tuple[float, float]:
        """95 % range of a prediction.

        Parameters
        ----------
        index : int, index of the test
        predicted : float, prediction, SI

        Returns
        -------
        low : float, lower end, SI
        high : float, upper end, SI
        """
        return predicted - RANGE_END * float(self.below[index]), predicted + RANGE_END * float(
            self.above[index]
        )
