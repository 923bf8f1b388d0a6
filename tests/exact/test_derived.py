"""Derived parameters give back the circuit from which ideal readings were made."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from aswound.compare.consistency.cantilever import extended_cantilever
from aswound.compare.consistency.derived import Derived, derived_parameters
from aswound.compare.consistency.part import PartReading, PartReadings
from aswound.predict.design import Bench, BenchTest, Member

pytestmark = pytest.mark.exact

LINK = 8e-9


def item(name: str, drive: str, value: float, short: str = "", frequency: float = 1e4) -> PartReading:
    shorted = (Member(short),) if short else ()
    test = BenchTest(
        name=name, measure="inductance", drive=(Member(drive),), short=shorted, frequency=frequency
    )
    return PartReading(test=test, value=value, uncertainty=1e-3 * value)


def part(*items: PartReading, link: float = 0.0) -> PartReadings:
    return PartReadings(items=items, bench=Bench(short_inductance=link), turning={"P": 1, "S": 1, "A": 1})


def value(found: tuple[Derived, ...], name: str) -> float:
    return next(each.value for each in found if each.name == name)


def test_a_pair_with_a_known_link() -> None:
    """L1 = 360 µH, L2 = 10 µH, k² = 0.99; the link of 8 nH is in the leakage as 36 × 8 nH."""
    k = math.sqrt(0.99)
    found = derived_parameters(
        part(
            item("L_P", "P", 360e-6),
            item("L_S", "S", 10e-6),
            item("Lk_P", "P", 3.6e-6 + 36 * LINK, "S"),
            link=LINK,
        )
    )
    assert value(found, "1 − k² of P, S") == pytest.approx(0.01)
    assert value(found, "M of P, S") == pytest.approx(k * 60e-6)
    assert value(found, "leakage at S, P shorted, less link") == pytest.approx(0.1e-6)
    series, shunt = (
        value(found, f"T equivalent of P, S at P: {part}") for part in ("each series branch", "shunt branch")
    )
    assert series + shunt * series / (shunt + series) == pytest.approx(3.6e-6)
    pi, leg = (
        value(found, f"π equivalent of P, S at P: {part}") for part in ("series branch", "each shunt branch")
    )
    assert pi * leg / (pi + leg) == pytest.approx(3.6e-6)
    assert leg * (pi + leg) / (2 * leg + pi) == pytest.approx(360e-6)


def test_the_link_follows_from_both_sides() -> None:
    """Both leakages through the same link: Λ' = 3.6 µH + 36 L_s and 0.1 µH + L_s/36, which is Λ/n² +
    L_s/n²."""
    found = derived_parameters(
        part(
            item("L_P", "P", 360e-6),
            item("L_S", "S", 10e-6),
            item("Lk_P", "P", 3.6e-6 + 36 * LINK, "S"),
            item("Lk_S", "S", 0.1e-6 + LINK / 36, "P"),
        )
    )
    assert value(found, "shorting link less leads, from Lk_P and Lk_S") == pytest.approx(LINK)


def test_star_of_three_windings() -> None:
    """Star branches 1, 2 and −0.3 µH at P (ratios 4 and 2): pairwise leakages 3, 0.7 and, at S, 1.7/16 µH."""
    star = {"P": 1e-6, "S": 2e-6, "A": -0.3e-6}
    found = derived_parameters(
        part(
            item("L_P", "P", 160e-6),
            item("L_S", "S", 10e-6),
            item("L_A", "A", 40e-6),
            item("Lk_P_S", "P", star["P"] + star["S"], "S"),
            item("Lk_P_A", "P", star["P"] + star["A"], "A"),
            item("Lk_S_A", "S", (star["S"] + star["A"]) / 16, "A"),
        )
    )
    for name, branch in star.items():
        assert value(found, f"star at P: branch of {name}") == pytest.approx(branch)


RATIOS = np.array([1.0, 0.25, 0.5, 2.0])
LINKS = np.array(
    [
        [1e-3, 8e-6, 5e-6, 20e-6],
        [8e-6, np.inf, -40e-6, 12e-6],
        [5e-6, -40e-6, np.inf, 9e-6],
        [20e-6, 12e-6, 9e-6, np.inf],
    ]
)
"""A part in the elements of its extended cantilever: L11 1 mH, one leakage negative."""


def matrix_of_cantilever(ratios: np.ndarray, links: np.ndarray) -> np.ndarray:
    """Inductance matrix (H) of an extended cantilever with ratios (N,) and links (N, N), L11 in the first
    place of the diagonal: the inverse of ``extended_cantilever``, by the nodal equations."""
    scale = ratios[..., :, None] * ratios[..., None, :]
    inverse = -1.0 / (scale * links)
    each = np.arange(ratios.shape[-1])
    inverse[..., each, each] = 0.0
    rise = 1.0 / links
    rise[..., each, each] = 0.0
    inverse[..., each, each] = np.sum(rise, axis=-1) / ratios**2
    inverse[..., 0, 0] += 1.0 / links[..., 0, 0]
    return np.asarray(np.linalg.inv(inverse))


@pytest.mark.parametrize("number", [2, 3, 4])
def test_the_extended_cantilever_and_back(number: int) -> None:
    ratios, links = RATIOS[:number], LINKS[:number, :number]
    matrix = matrix_of_cantilever(ratios, links)
    assert matrix[0, 0] == pytest.approx(1e-3)
    assert matrix[0, 1:] / matrix[0, 0] == pytest.approx(ratios[1:])
    found = extended_cantilever(np.stack([matrix, 2 * matrix]))
    assert found[0] == pytest.approx(np.stack([ratios, ratios]))
    assert found[1][0] == pytest.approx(links)
    assert found[1][1] == pytest.approx(2 * links)


def test_no_passive_part_no_cantilever() -> None:
    matrix = np.array([[1.0, 2.0], [2.0, 1.0]])
    assert np.all(np.isnan(extended_cantilever(matrix)[1]))


@pytest.mark.parametrize("number", [3, 4])
@pytest.mark.parametrize("from_second", [False, True])
def test_readings_give_the_elements_of_the_extended_cantilever(number: int, from_second: bool) -> None:
    """Open inductances L_k and pairwise leakages L_j − M²/L_k of the circuit, read from either side."""
    matrix = matrix_of_cantilever(RATIOS[:number], LINKS[:number, :number])
    names = "PSAB"[:number]
    read = [item(f"L_{name}", name, matrix[k, k]) for k, name in enumerate(names)]
    for j, k in combinations(range(number), 2):
        j, k = (k, j) if from_second else (j, k)
        leakage = matrix[j, j] - matrix[j, k] ** 2 / matrix[k, k] + LINK * matrix[j, j] / matrix[k, k]
        read.append(item(f"Lk_{names[j]}_{names[k]}", names[j], leakage, names[k]))
    found = derived_parameters(part(*read, link=LINK))
    label = "extended cantilever at P"
    assert value(found, f"{label}: magnetizing") == pytest.approx(1e-3)
    for k, name in enumerate(names[1:], 1):
        assert value(found, f"{label}: voltage of {name} over P") == pytest.approx(RATIOS[k])
    for j, k in combinations(range(number), 2):
        leakage = value(found, f"{label}: leakage {names[j]} to {names[k]}")
        assert leakage == pytest.approx(LINKS[j, k], rel=1e-6)


def test_uncertainty_of_the_coupling_comes_from_the_leakage() -> None:
    """u(1 − k²)/(1 − k²) = √(u_r²(Λ) + u_r²(L)), not the small difference from M."""
    found = derived_parameters(
        part(item("L_P", "P", 360e-6), item("L_S", "S", 10e-6), item("Lk_P", "P", 3.6e-6, "S"))
    )
    share = next(each for each in found if each.name == "1 − k² of P, S")
    assert share.uncertainty / share.value == pytest.approx(math.sqrt(2) * 1e-3, rel=1e-3)
    assert derived_parameters(part(item("L_P", "P", 1e-6))) == ()
