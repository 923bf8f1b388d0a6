"""Fixture corrections recover a known part behind a known two-port, exactly."""

from __future__ import annotations

import math

import numpy as np
import pytest

from aswound.compare.readings.correction import (
    FixtureStandards,
    RawReading,
    correct,
    corrected,
    standards_at,
)
from aswound.predict.errors import ReadingsError

pytestmark = pytest.mark.exact

PART = 0.41 + 4.97j


def seen(Z: complex, chain: tuple[complex, complex, complex, complex]) -> complex:
    """Input impedance of a two-port (A, B, C, D) closed by Z."""
    A, B, C, D = chain
    return (A * Z + B) / (C * Z + D) if math.isfinite(abs(Z)) else A / C


SYMMETRIC = (1 + 0.01j, 0.05 + 0.3j, ((1 + 0.01j) ** 2 - 1) / (0.05 + 0.3j), 1 + 0.01j)
ANY = (1.02 + 0.01j, 0.05 + 0.3j, 2e-5 + 1e-4j, 0.97 - 0.02j)


def test_open_short_is_exact_for_a_symmetric_two_port() -> None:
    Z = corrected(seen(PART, SYMMETRIC), open=seen(complex(math.inf), SYMMETRIC), short=seen(0j, SYMMETRIC))
    # a symmetric two-port scales open and short alike: Zo Zs differ only by A = D
    assert complex(Z) == pytest.approx(PART, rel=1e-9)


def test_open_short_load_is_exact_for_any_two_port() -> None:
    Z = corrected(
        seen(PART, ANY),
        open=seen(complex(math.inf), ANY),
        short=seen(0j, ANY),
        load=seen(100 + 2j, ANY),
        true_load=100 + 2j,
    )
    assert complex(Z) == pytest.approx(PART, rel=1e-9)


def test_single_standards() -> None:
    assert complex(corrected(5 + 1j, short=1 + 0.5j)) == pytest.approx(4 + 0.5j)
    admittance = 1 / (5 + 1j) - 1 / (-1000j)
    assert complex(corrected(5 + 1j, open=-1000j)) == pytest.approx(1 / admittance)
    assert complex(corrected(5 + 1j, open=math.inf, short=0.0)) == pytest.approx(5 + 1j)


def test_uncertainty_of_a_short_correction_adds_in_quadrature() -> None:
    standards = FixtureStandards(1e5, short=RawReading(0.02 + 0.1j, 3e-3))
    Z, estimate = correct(RawReading(0.43 + 5.07j, 4e-3), standards)
    assert pytest.approx(0.41 + 4.97j) == Z
    assert estimate.uncertainty == pytest.approx([5e-3, 5e-3], rel=1e-6)
    assert standards.kind == "short"


def test_uncertainty_of_all_standards_against_random_draws() -> None:
    random = np.random.default_rng(3)
    true = {
        "open": seen(complex(math.inf), ANY),
        "short": seen(0j, ANY),
        "load": seen(100 + 0j, ANY),
    }
    u = {"open": 50.0, "short": 2e-3, "load": 0.05}
    standards = FixtureStandards(
        1e5, **{k: RawReading(v, u[k]) for k, v in true.items()}, true_load=RawReading(100 + 0j, 0.02)
    )
    raw = RawReading(seen(PART, ANY), 4e-3)
    _, estimate = correct(raw, standards)

    def noisy(Z: complex, size: float) -> np.ndarray:
        return Z + size * (random.standard_normal(100_000) + 1j * random.standard_normal(100_000))

    drawn = corrected(
        noisy(raw.impedance, raw.uncertainty),
        **{k: noisy(v, u[k]) for k, v in true.items()},
        true_load=noisy(100 + 0j, 0.02),
    )
    assert estimate.uncertainty == pytest.approx([np.std(drawn.real), np.std(drawn.imag)], rel=0.02)


def test_a_load_without_the_others_and_a_missing_frequency_are_refused() -> None:
    with pytest.raises(ReadingsError, match="load"):
        corrected(1 + 1j, load=1 + 0j)
    with pytest.raises(ReadingsError, match="100 kHz"):
        standards_at((FixtureStandards(1e4),), 1e5)
