"""What the readings of one part say about its windings: coupling, leakages from either side, equivalent
circuits.

For a pair of windings with the open inductances L1, L2 and the leakage Λ1 (read at 1 with 2 shorted, the
link's part subtracted)

    k² = 1 − Λ1/L1          M = k √(L1 L2)          Λ2 = Λ1 L2/L1
    T equivalent at 1:   L1 (1 − k) in each series branch, k L1 in the shunt
    π equivalent at 1:   L1 (1 − k²)/k in the series branch, L1 (1 + k) in each shunt

with the ideal ratio √(L1/L2), for which both are symmetric (any ratio gives an equivalent circuit; the
turns ratio differs from this one by k). If leakages are read from both sides the shorting link follows
without a design: with the same link (inductance L_s) and the same leads (L_l) on both sides

    L_s − L_l = (Λ1' − n² Λ2')/(n² − 1)

For three windings the pairwise leakages, referred to the first winding, make a star, A1 = ½ (Λ12 + Λ13 −
Λ23); a negative branch is legitimate. For three and more, all open inductances and pairwise leakages make
the extended cantilever (``cantilever``).

1 − k² from readings of M would be a small difference of large numbers; the leakage gives it directly.
Uncertainties by the law of propagation, readings independent. Source: circuit theory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from ...predict.design import FloatArray, first_build
from ..meter import propagate
from .cantilever import extended_cantilever, mutual_of_leakages
from .part import PartReading, PartReadings, shorted, single_name


@dataclass(frozen=True)
class Derived:
    """A quantity derived from readings.

    Attributes
    ----------
    name : str
        Name of the quantity.
    unit : str
        Its unit.
    value : float
        Value, SI.
    uncertainty : float
        Standard uncertainty, SI.
    from_readings : tuple[str, ...]
        Names of the readings that it comes from.
    """

    name: str
    unit: str
    value: float
    uncertainty: float
    from_readings: tuple[str, ...]


def derived_parameters(readings: PartReadings) -> tuple[Derived, ...]:
    """All quantities of the module's docstring that the readings of one part allow, SI; empty if there are
    none."""
    windings = list(dict.fromkeys(single_name(item.test.drive) for item in readings.inductances()))
    derived: list[Derived] = []
    for first, second in combinations([name for name in windings if name], 2):
        derived += _pair(readings, first, second)
        derived += _link(readings, first, second)
    derived += _star(readings, [name for name in windings if name])
    derived += _cantilever(readings, [name for name in windings if name])
    return tuple(derived)


def open_of(readings: PartReadings, name: str) -> PartReading | None:
    """First open inductance above zero that was read of a winding.

    Parameters
    ----------
    readings : PartReadings
    name : str, name of the winding
    """
    for item in readings.inductances():
        if single_name(item.test.drive) == name and not item.test.short and item.value > 0:
            return item
    return None


def leakage_of(readings: PartReadings, driven: str, shorted_name: str) -> PartReading | None:
    """Inductance of one winding with another one alone shorted.

    Parameters
    ----------
    readings : PartReadings
    driven, shorted_name : str, names of the driven and of the shorted winding
    """
    for item in readings.inductances():
        if single_name(item.test.drive) == driven and shorted(item.test) == {shorted_name} and item.value > 0:
            return item
    return None


def link_of(readings: PartReadings) -> tuple[float, float]:
    """Inductance of the shorting link as the bench of a part states it, and its standard uncertainty, H."""
    inductance = first_build(readings.bench.short_inductance)
    return inductance, inductance * readings.bench.short_inductance_tolerance / 2


def derive(
    names: tuple[tuple[str, str], ...],
    model: Callable[[FloatArray], FloatArray],
    items: tuple[PartReading, ...],
    link_inductance: tuple[float, float],
) -> Iterator[Derived]:
    """Quantities computed from readings and the link, with uncertainties by the law of propagation.

    Quantities that are not finite are left out.

    Parameters
    ----------
    names : tuple[tuple[str, str], ...], (name, unit) of each quantity
    model : Callable[[FloatArray], FloatArray]
        Function of the values of the readings, then the link, to the quantities.
    items : tuple[PartReading, ...], readings that the model takes
    link_inductance : tuple[float, float], inductance of the shorting link and its standard uncertainty, H
    """
    value = np.array([*(item.value for item in items), link_inductance[0]])
    doubt = np.array([*(item.uncertainty for item in items), link_inductance[1]])
    with np.errstate(divide="ignore", invalid="ignore"):
        estimate = propagate(model, value, doubt)
    for (name, unit), number, uncertainty in zip(names, estimate.value, estimate.uncertainty, strict=True):
        if math.isfinite(number) and math.isfinite(uncertainty):
            yield Derived(name, unit, float(number), float(uncertainty), tuple(str(item) for item in items))


def _pair(readings: PartReadings, first: str, second: str) -> Iterator[Derived]:
    first_open, second_open = open_of(readings, first), open_of(readings, second)
    if first_open is None or second_open is None:
        return
    near, far = leakage_of(readings, first, second), leakage_of(readings, second, first)
    read = near if near is not None else far
    if read is None:
        return
    from_first = near is not None

    def model(x: FloatArray) -> FloatArray:
        L1, L2, shown, link_inductance = np.moveaxis(x, -1, 0)
        n2 = L1 / L2
        at_first = shown - n2 * link_inductance if from_first else (shown - link_inductance / n2) * n2
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
        (f"T equivalent of {label} at {first}: each series branch", "H"),
        (f"T equivalent of {label} at {first}: shunt branch", "H"),
        (f"π equivalent of {label} at {first}: series branch", "H"),
        (f"π equivalent of {label} at {first}: each shunt branch", "H"),
    )
    yield from derive(names, model, (first_open, second_open, read), link_of(readings))


def _link(readings: PartReadings, first: str, second: str) -> Iterator[Derived]:
    first_open, second_open = open_of(readings, first), open_of(readings, second)
    near, far = leakage_of(readings, first, second), leakage_of(readings, second, first)
    if first_open is None or second_open is None or near is None or far is None:
        return
    ratio = first_open.value / second_open.value
    if not (ratio > 2 or ratio < 0.5):  # near 1 : 1 the link looks the same from both sides
        return

    def model(x: FloatArray) -> FloatArray:
        L1, L2, shown, back, _ = np.moveaxis(x, -1, 0)
        n2 = L1 / L2
        return np.asarray((shown - n2 * back) / (n2 - 1))[..., None]

    names = ((f"shorting link less leads, from {near} and {far}", "H"),)
    yield from derive(names, model, (first_open, second_open, near, far), link_of(readings))


def _all_read(
    readings: PartReadings, windings: Sequence[str]
) -> tuple[tuple[PartReading, ...], FloatArray] | None:
    """Open inductances of ``windings``, then their pairwise leakages in the order of ``combinations``, and
    which of these were read at the second winding (0/1); None unless all were read."""
    opens = [open_of(readings, name) for name in windings]
    near = [leakage_of(readings, a, b) for a, b in combinations(windings, 2)]
    far = [leakage_of(readings, b, a) for a, b in combinations(windings, 2)]
    pairs = [here if here is not None else there for here, there in zip(near, far, strict=True)]
    items = tuple(item for item in (*opens, *pairs) if item is not None)
    if len(items) < len(opens) + len(pairs):
        return None
    return items, np.array([reading is None for reading in near], float)


def _without_link(x: FloatArray, number: int, from_second: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Open inductances (..., N), and leakages at the first winding of each pair (..., N (N − 1)/2).

    ``x``: (..., N + N (N − 1)/2 + 1) readings in the order of ``_all_read``, then the link.
    """
    opened, shown, link_inductance = x[..., :number], x[..., number:-1], x[..., -1:]
    rows, columns = np.triu_indices(number, 1)
    n2 = opened[..., rows] / opened[..., columns]
    at_first = np.where(from_second > 0, (shown - link_inductance / n2) * n2, shown - n2 * link_inductance)
    return opened, at_first


def _star(readings: PartReadings, windings: Sequence[str]) -> Iterator[Derived]:
    """Star of the first three windings whose pairwise leakages and open inductances were read."""
    for a, b, c in combinations(windings, 3):
        read = _all_read(readings, (a, b, c))
        if read is None:
            continue
        items, from_second = read

        def model(x: FloatArray, from_second: FloatArray = from_second) -> FloatArray:
            opened, pairs = _without_link(x, 3, from_second)
            first, second = pairs[..., 0], pairs[..., 1]
            third = pairs[..., 2] * opened[..., 0] / opened[..., 1]
            doubled = (first + second - third, first + third - second, second + third - first)
            return np.stack(doubled, axis=-1) / 2

        names = tuple((f"star at {a}: branch of {name}", "H") for name in (a, b, c))
        yield from derive(names, model, items, link_of(readings))
        return


def _cantilever(readings: PartReadings, windings: Sequence[str]) -> Iterator[Derived]:
    """Extended cantilever of the windings (three or more) of which everything was read."""
    sizes = range(len(windings), 2, -1)
    sets = (names for size in sizes for names in combinations(windings, size))
    chosen = next(((names, read) for names in sets if (read := _all_read(readings, names))), None)
    if chosen is None:
        return
    names, (items, from_second) = chosen
    number, first = len(names), names[0]
    rows, columns = np.triu_indices(number, 1)

    def model(x: FloatArray) -> FloatArray:
        opened, pairs = _without_link(x, number, from_second)
        leakage = np.zeros((*opened.shape, number))
        leakage[..., rows, columns] = pairs
        ratios, links = extended_cantilever(mutual_of_leakages(opened, leakage))
        return np.concatenate([links[..., :1, 0], ratios[..., 1:], links[..., rows, columns]], axis=-1)

    label = f"extended cantilever at {first}"
    titles = (
        (f"{label}: magnetizing", "H"),
        *((f"{label}: voltage of {name} over {first}", "1") for name in names[1:]),
        *((f"{label}: leakage {a} to {b}", "H") for a, b in combinations(names, 2)),
    )
    yield from derive(titles, model, items, link_of(readings))
