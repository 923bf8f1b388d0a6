"""Resistance of warm windings, by the temperature at which that of a metal would vanish on a straight line:
235 °C below zero for copper, 225 for aluminium (IEC 60076-1; from memory)."""

from __future__ import annotations

import pytest

from aswound.predict.copper import temperature_factor

pytestmark = pytest.mark.published


@pytest.mark.parametrize(("metal", "vanishes", "rel"), [("copper", 235.0, 1e-3), ("aluminium", 225.0, 3e-3)])
def test_from_the_bench_to_75_degrees(metal: str, vanishes: float, rel: float) -> None:
    """The standard's round numbers stand for coefficients of 0.00392 and 0.00408 per kelvin at 20 °C."""
    by_standard = (vanishes + 75.0) / (vanishes + 20.0)
    assert float(temperature_factor(metal, 75.0)) == pytest.approx(by_standard, rel=rel)
