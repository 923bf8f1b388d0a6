"""How uncertain the effect of a cause is, reading by reading (module ``covariances``)."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from aswound.compare.causes import CATALOGUE
from aswound.compare.diagnosis.covariances import (
    ALIKE,
    ONE_EFFECT,
    SHARED_SIGNATURE,
    SIGNATURE,
    Frame,
    covariance_under,
)
from aswound.compare.hypotheses.forward_runs import EXACT, forward
from aswound.predict import load_design
from aswound.predict.design import BenchTest, Member

ROOT = Path(__file__).parents[2]
ONE, TWO = (Member("P"),), (Member("S"),)
TESTS = (
    BenchTest(name="L_P", measure="inductance", drive=ONE),
    BenchTest(name="L_S", measure="inductance", drive=TWO),
    BenchTest(name="Lk_P", measure="inductance", drive=ONE, short=TWO),
)
ZETA = np.array([SIGNATURE["default"]] * 3)


def frame() -> Frame:
    kin = np.array([[1.0, 1.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    return Frame(
        tests=TESTS,
        nominal=np.zeros(3),
        base=1e-4 * np.eye(3),
        anchor=np.zeros(3),
        zeta=ZETA,
        kin=kin,
        phase=np.zeros(3, bool),
        same=np.eye(3),
    )


@pytest.mark.parametrize(
    ("second", "common"),
    [(-0.13, 0.9 + 0.1 * 0.98), (-0.065, 0.9 + 0.1 * 0.98 / 2), (0.0, 0.9), (0.13, 0.9)],
)
def test_what_is_wrong_with_one_inductance_is_wrong_with_the_others(second: float, common: float) -> None:
    """A permeance that falls by 13 % moves both open inductances alike: their difference stays sharp. Where
    the second moves less, or the other way, more is left to it alone; a leakage has an error of its own.
    By hand."""
    shift = np.array([-0.13, second, -0.13])
    spread = covariance_under(frame(), shift, np.zeros(3)) - 1e-4 * np.eye(3)
    spread = spread - SHARED_SIGNATURE**2 * np.outer(shift, shift)
    own = 0.15**2 * np.outer(shift, shift)
    part = np.array([[1.0, common, 0.0], [common, 1.0, 0.0], [0.0, 0.0, 1.0]])
    assert spread == pytest.approx(own * part, rel=1e-12)
    assert (ALIKE, ONE_EFFECT) == (0.9, 0.98)


def test_readings_of_one_test_share_all_that_is_wrong_with_an_effect() -> None:
    """Before and after an intervention, whatever the intervention leaves of the shift; and the rest of their
    kind sees one test in both. The matrix has no negative eigenvalue."""
    same = np.array([[1.0, 1.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    twice = replace(frame(), same=same, kin=np.ones((3, 3)))
    shift = np.array([-0.1, -0.01, -0.05])
    spread = covariance_under(twice, shift, np.zeros(3)) - 1e-4 * np.eye(3)
    part = (spread - SHARED_SIGNATURE**2 * np.outer(shift, shift)) / (0.15**2 * np.outer(shift, shift))
    rest = 0.9 + 0.1 * 0.98 / 2
    assert part == pytest.approx(np.array([[1, 1, rest], [1, 1, rest], [rest, rest, 1]]), rel=1e-9)
    assert np.linalg.eigvalsh(part).min() > -1e-12


def test_what_is_exact_is_as_sharp_as_production() -> None:
    """ζ and η belong to the uncertain part of a shift alone."""
    shift = np.array([0.1, 0.2, 0.0])
    assert covariance_under(frame(), shift, np.zeros(3), doubt=np.zeros(3)) == pytest.approx(1e-4 * np.eye(3))
    part = covariance_under(frame(), shift, np.zeros(3), doubt=0.3 * shift) - 1e-4 * np.eye(3)
    whole = covariance_under(frame(), shift, np.zeros(3)) - 1e-4 * np.eye(3)
    assert part == pytest.approx(0.09 * whole, rel=1e-9)


def test_exact_amounts_are_sharper_than_those_between_computed_severities() -> None:
    design = load_design(ROOT / "samples" / "flyback-24w.toml")
    _, hypotheses = forward(design, CATALOGUE)
    exact = {item.cause.name: set(item.cause.exact) for item in hypotheses if item.cause.exact}
    assert exact == {
        "turns": {"ratio", "resistance", "inductance"},
        "strand": {"resistance"},
        "conductor": {"resistance"},
        "wrong-al": {"inductance"},
    }
    assert EXACT == 0.3
    for item in hypotheses:
        for column, test in enumerate(design.tests):
            sharp = test.measure in item.cause.exact and not test.short
            part = EXACT if sharp else 1.0
            assert item.doubt[:, column] == pytest.approx(part * item.shift[:, column], abs=1e-15)
