"""Between which frequencies an inductance reading means what it is taken for.

Lower end, with a winding shorted: below R₂/(2πL₂) the short is not effective. The reading exceeds its
plateau by (M²/L₂)/(1 + x²), x = ωL₂/R₂ (R₂, L₂ with the link). That part falls with 1/L₂ and the leakage
does not, so it is found from δ(f) = L(f) − L'(f), with L' the reading of the same part on a core of a
thousandfold permeance: δ is that part plus a constant (the effect of the finite core on the leakage), and
two neighbouring frequencies separate the two. In the plain case this is f > 10 √(L₁/L_lk) R₂/(2πL₂) for 1
%.

Upper end: the capacitance of the windings makes L(f) = L/(1 − (f/f₀)²). It is found by predicting the
reading of the same part without capacitance, c(f) = L(f)/L'(f) − 1; 1 % is at about f₀/10, f₀ the
resonance with the same windings shorted. The effect of the copper on the leakage (skin and proximity) is
part of the reading at every frequency and does not count.

Source: the circuit relations are elementary; 1 % is common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ...predict.circuit import HIGHEST, predict_bench
from ...predict.design import BenchTest, Design, FloatArray

WITHIN = 0.01
"""A window ends at this relative error (judged; no data behind it)."""
_PERMEANCE = 1e3
_NO_CAPACITANCE = 1e-9
_BELOW, _ABOVE = 3e3, 3e4
_PER_DECADE = 2


@dataclass(frozen=True)
class FrequencyWindow:
    """Where an inductance reading holds within WITHIN.

    Attributes
    ----------
    lowest : float or None
        Lowest frequency, Hz; None if there is no end within 1/3000 to 30 000 times the test's frequency.
    highest : float or None, highest frequency, Hz; None as above
    short_error : float
        Error at the test's own frequency because the short is not yet effective, relative (0 with nothing
        shorted).
    capacitance_error : float, error at the test's own frequency from the capacitance, relative
    """

    lowest: float | None
    highest: float | None
    short_error: float
    capacitance_error: float

    @property
    def empty(self) -> bool:
        """Whether no frequency is suitable: capacitance matters before the short is effective."""
        return self.lowest is not None and self.highest is not None and self.lowest >= self.highest


def frequency_windows(design: Design) -> dict[str, FrequencyWindow]:
    """Window of every inductance test of a design, by name.

    Two points per decade are predicted, and the ends interpolated on logarithmic scales, on which both
    errors are straight (e ∝ 1/f², c ∝ f²).

    Parameters
    ----------
    design : Design

    Raises
    ------
    BuildError
        The layout is outside the models.
    """
    chosen = [test for test in design.tests if test.measure == "inductance" and test.frequency]
    if not chosen:
        return {}
    grids = {test.name: _grid(test.alternating_frequency) for test in chosen}
    tests = tuple(
        replace(test, frequency=float(frequency)) for test in chosen for frequency in grids[test.name]
    )
    ones = np.ones(3)
    model = replace(
        design.model,
        inductance=np.asarray(design.model.inductance) * np.array([1.0, 1.0, _PERMEANCE]),
        capacitance=np.asarray(design.model.capacitance) * np.array([1.0, _NO_CAPACITANCE, _NO_CAPACITANCE]),
        leakage=np.asarray(design.model.leakage) * ones,
    )
    changed = replace(design, model=model)
    read = predict_bench(replace(changed, tests=tests)).values
    windows, begin = {}, 0
    for test in chosen:
        grid = grids[test.name]
        columns = read[:, begin : begin + len(grid)]
        begin += len(grid)
        windows[test.name] = _window(test, grid, columns)
    return windows


def _grid(frequency: float) -> FloatArray:
    """Frequencies (Hz) around the test's own, which is one of them."""
    low = np.floor(_PER_DECADE * np.log10(_BELOW))
    high = np.floor(_PER_DECADE * np.log10(min(_ABOVE, max(HIGHEST / frequency, 1.0))))
    return np.asarray(frequency * 10.0 ** (np.arange(-low, high + 1) / _PER_DECADE), float)


def _window(test: BenchTest, grid: FloatArray, read: FloatArray) -> FrequencyWindow:
    """Window of one test from its readings (3, F): as it is, without capacitance, and that on a core of large
    permeance."""
    real, bare, stiff = read
    stated_index = int(np.argmin(np.abs(np.log(grid / float(test.frequency or 1.0)))))
    charged = np.abs(real / bare - 1)
    highest = _first(grid, charged)
    if not test.short:
        return FrequencyWindow(None, highest, 0.0, float(real[stated_index] / bare[stated_index] - 1))
    late = _excess(grid, bare - stiff) / bare
    return FrequencyWindow(
        _last(grid, np.abs(late)),
        highest,
        float(late[stated_index]),
        float(real[stated_index] / bare[stated_index] - 1),
    )


def _excess(grid: FloatArray, apart: FloatArray) -> FloatArray:
    """What the imperfect short adds, (F,), H, from δ (F,), which falls with 1/f² towards a constant.

    From the frequency at which δ falls fastest upwards, the difference of two neighbours is 1 − (f/f')² of
    the excess at the first. Where that is below WITHIN of its largest value, the constant is what remains
    of δ; further up the differences themselves are used, free of the constant's slow change with the
    copper.
    """
    falling = (apart[:-1] - apart[1:]) / (1 - (grid[:-1] / grid[1:]) ** 2)
    falling = np.append(falling, falling[-1] * (grid[-2] / grid[-1]) ** 2)
    steepest = int(np.argmax(np.abs(falling)))
    small = np.flatnonzero(np.abs(falling[steepest:]) <= WITHIN * np.abs(falling[steepest]))
    settled = steepest + int(small[0]) if len(small) else len(grid) - 1
    constant = apart[settled] - falling[settled]
    return np.where(np.arange(len(grid)) <= settled, apart - constant, falling)


def _first(grid: FloatArray, error: FloatArray) -> float | None:
    """Lowest frequency at which ``error`` rises through WITHIN; None if it is not on the grid."""
    beyond = np.flatnonzero(error > WITHIN)
    if not len(beyond):
        return None
    grid_index = int(beyond[0])
    return float(grid[0]) if grid_index == 0 else _crossing(grid, error, grid_index - 1)


def _last(grid: FloatArray, error: FloatArray) -> float | None:
    """Frequency at which ``error`` falls below WITHIN from its largest value; None if it never exceeds it."""
    steepest = int(np.argmax(error))
    if error[steepest] <= WITHIN:
        return None
    within = steepest + np.flatnonzero(error[steepest:] <= WITHIN)
    if not len(within):
        return float(grid[-1])
    grid_index = int(within[0])
    return _crossing(grid, error, grid_index - 1)


def _crossing(grid: FloatArray, error: FloatArray, index: int) -> float:
    """Where log error is WITHIN on the line between ``index`` and the next point."""
    first, second = np.log(np.maximum(error[index : index + 2], 1e-12))
    part = (np.log(WITHIN) - first) / (second - first)
    return float(grid[index] * (grid[index + 1] / grid[index]) ** part)
