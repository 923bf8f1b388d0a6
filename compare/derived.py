"""What the readings of one part make of its windings: coupling, leakages of either side, equivalent circuits.

For a pair of windings with the open inductances L1, L2 and the leakage Λ1 (read at 1 with 2 shorted, the
link's part taken off)

    k² = 1 − Λ1/L1          M = k √(L1 L2)          Λ2 = Λ1 L2/L1
    T equivalent at 1:   L1 (1 − k) in each series branch, k L1 in the shunt
    π equivalent at 1:   L1 (1 − k²)/k in the series branch, L1 (1 + k) in each shunt

with the ideal ratio √(L1/L2), for which both are symmetric (any ratio gives an equivalent circuit; that of
the turns differs by k). Where leakages are read from both sides the shorting link follows without a design:
with the same link (inductance L_s) and the same leads (L_l) on both sides

    L_s − L_l = (Λ1' − n² Λ2')/(n² − 1)

For three windings the pairwise leakages, brought to the first winding, make a star, A1 = ½ (Λ12 + Λ13 −
Λ23), and a triangle between the windings (the leakages of the extended cantilever, whose magnetizing
inductance is L1 − …): a negative branch of the star is legitimate.

1 − k² from readings of M would be a small difference of large numbers; the leakage gives it directly.
Uncertainties by the law of propagation, readings independent. Source: circuit theory; R. W. Erickson, D.
Maksimovic, "A multiple-winding magnetics model having directly measurable parameters", PESC 1998 (from
memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ..predict.design import FloatArray
from .part_readings import Item, PartReadings, shorted, single
from .propagation import propagate


@dataclass(frozen=True)
class Derived:
    """A quantity that follows from readings: value and standard uncertainty (SI); ``from_readings``: of
    which."""

    name: str
    unit: str
    value: float
    uncertainty: float
    from_readings: tuple[str, ...]


def derived_parameters(readings: PartReadings) -> tuple[Derived, ...]:
    """All quantities of the module's docstring that the readings of one part allow; empty where there are
    none."""
    windings = list(dict.fromkeys(single(item.test.drive) for item in readings.inductances()))
    found: list[Derived] = []
    for first, second in combinations([name for name in windings if name], 2):
        found += _pair(readings, first, second)
        found += _link(readings, first, second)
    found += _three(readings, [name for name in windings if name])
    return tuple(found)


def _open(readings: PartReadings, name: str) -> Item | None:
    for item in readings.inductances():
        if single(item.test.drive) == name and not item.test.short and item.value > 0:
            return item
    return None


def _leakage(readings: PartReadings, driven: str, other: str) -> Item | None:
    for item in readings.inductances():
        if single(item.test.drive) == driven and shorted(item.test) == {other} and item.value > 0:
            return item
    return None


def _link_of(readings: PartReadings) -> tuple[float, float]:
    """Inductance of the shorting link (H) and its standard uncertainty, as the bench states them."""
    link = float(np.asarray(readings.bench.short_inductance).flat[0])
    return link, link * readings.bench.short_inductance_tolerance / 2


def _derive(
    names: tuple[tuple[str, str], ...],
    model: Callable[[FloatArray], FloatArray],
    items: tuple[Item, ...],
    link: tuple[float, float],
) -> Iterator[Derived]:
    value = np.array([*(item.value for item in items), link[0]])
    doubt = np.array([*(item.uncertainty for item in items), link[1]])
    with np.errstate(divide="ignore", invalid="ignore"):
        estimate = propagate(model, value, doubt)
    for (name, unit), number, uncertainty in zip(names, estimate.value, estimate.uncertainty, strict=True):
        if math.isfinite(number) and math.isfinite(uncertainty):
            yield Derived(name, unit, float(number), float(uncertainty), tuple(str(item) for item in items))


def _pair(readings: PartReadings, first: str, second: str) -> Iterator[Derived]:
    one, other = _open(readings, first), _open(readings, second)
    if one is None or other is None:
        return
    near, far = _leakage(readings, first, second), _leakage(readings, second, first)
    read = near if near is not None else far
    if read is None:
        return
    from_first = near is not None

    def model(x: FloatArray) -> FloatArray:
        L1, L2, shown, link = np.moveaxis(x, -1, 0)
        n2 = L1 / L2
        at_first = shown - n2 * link if from_first else (shown - link / n2) * n2
        share = at_first / L1
        k = np.sqrt(np.clip(1 - share, 0.0, 1.0))
        M = k * np.sqrt(L1 * L2)
        tee = (L1 * (1 - k), k * L1)
        pi = (L1 * (1 - k**2) / k, L1 * (1 + k))
        return np.stack([share, k, M, at_first, at_first / n2, *tee, *pi], axis=-1)

    label = f"{first}, {second}"
    names = (
        (f"1 − k² of {label}", "1"),
        (f"k of {label}", "1"),
        (f"M of {label}", "H"),
        (f"leakage at {first}, {second} shorted, less link", "H"),
        (f"leakage at {second}, {first} shorted, less link", "H"),
        (f"T equivalent at {first}: each series branch", "H"),
        (f"T equivalent at {first}: shunt branch", "H"),
        (f"π equivalent at {first}: series branch", "H"),
        (f"π equivalent at {first}: each shunt branch", "H"),
    )
    yield from _derive(names, model, (one, other, read), _link_of(readings))


def _link(readings: PartReadings, first: str, second: str) -> Iterator[Derived]:
    one, other = _open(readings, first), _open(readings, second)
    near, far = _leakage(readings, first, second), _leakage(readings, second, first)
    if one is None or other is None or near is None or far is None:
        return
    ratio = one.value / other.value
    if not (ratio > 2 or ratio < 0.5):  # near 1 : 1 both sides see the link alike
        return

    def model(x: FloatArray) -> FloatArray:
        L1, L2, shown, back, _ = np.moveaxis(x, -1, 0)
        n2 = L1 / L2
        return np.asarray((shown - n2 * back) / (n2 - 1))[..., None]

    names = ((f"shorting link less leads, from {near} and {far}", "H"),)
    yield from _derive(names, model, (one, other, near, far), _link_of(readings))


def _three(readings: PartReadings, windings: list[str]) -> Iterator[Derived]:
    """Star and triangle of the first three windings whose pairwise leakages and open inductances were
    read."""
    for a, b, c in combinations(windings, 3):
        opens = [_open(readings, name) for name in (a, b, c)]
        pairs = [_leakage(readings, one, two) for one, two in ((a, b), (a, c), (b, c))]
        items = tuple(item for item in (*opens, *pairs) if item is not None)
        if len(items) < 6:
            continue

        def model(x: FloatArray) -> FloatArray:
            La, Lb, Lc, ab, ac, bc, link = np.moveaxis(x, -1, 0)
            first = ab - La / Lb * link
            second = ac - La / Lc * link
            third = (bc - Lb / Lc * link) * La / Lb
            A = (first + second - third) / 2
            B = (first + third - second) / 2
            C = (second + third - first) / 2
            S = A * B + B * C + C * A
            return np.stack([A, B, C, S / C, S / B, S / A], axis=-1)

        names = (
            (f"star at {a}: branch of {a}", "H"),
            (f"star at {a}: branch of {b}", "H"),
            (f"star at {a}: branch of {c}", "H"),
            (f"triangle at {a}: {a} to {b}", "H"),
            (f"triangle at {a}: {a} to {c}", "H"),
            (f"triangle at {a}: {b} to {c}", "H"),
        )
        yield from _derive(names, model, items, _link_of(readings))
        return
