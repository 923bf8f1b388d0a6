"""Remanence of closed and jointed stacks of steel against the measured loops of ``test_steel.py``, one more
grade (M800-65A), and the measured falling branch of M330-50A.

Modelica Standard Library (Modelica Association, BSD licence), Magnetic.FluxTubes.Material:
``HysteresisEverettParameter`` and ``HysteresisTableData``. The loops reach 650 A/m.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import brentq

from aswound.predict import parse_design
from aswound.predict.catalogue.lookup import load_catalogue
from aswound.predict.cores import air_reluctance, remanent_core, remanent_flux_density, remanent_ratio
from aswound.predict.cores.gap import MU_0
from aswound.predict.design import Core, Material

from .test_steel import CHOKE, EVERETT, everett, half_width

pytestmark = pytest.mark.published

TOP = 650.0
GRADES = {**EVERETT, "M800-65A": (1.146100, 0.160700, 0.012965, 0.183490, 0.000425, 100.0602, 50.0)}
FALLING = {
    -50: -0.463062524232745, -45: -0.241397022221927, -40: -0.0917328024445698, -35: 0.182881911670973,
    -30: 0.647941622043669, -25: 0.925720611599761, -20: 1.01589911772097, -15: 1.06212781456762,
    -10: 1.09723124440593, -5: 1.13156726933814, 0: 1.15460822013300,
}  # fmt: skip
"""``M330_50A.tabfal`` near zero: H (A/m) → B (T), measured."""
STEEL = load_catalogue().materials["silicon steel NO 0.50"]


def falling(field: float, record: tuple[float, ...]) -> float:
    """B (T) on the falling branch of the loop to ``TOP``."""
    return everett(TOP, -TOP, record) / 2 - everett(TOP, field, record) + record[-1] * MU_0 * field


def own_figures(record: tuple[float, ...]) -> tuple[float, float]:
    """Br (T) and Hc (A/m) of the loop."""
    return falling(0.0, record), -float(brentq(lambda h: falling(h, record), -300.0, 0.0))


def stack(slope: float, material: Material) -> Core:
    """A core whose joints take ``slope`` A/m per tesla."""
    core = parse_design(CHOKE.format(face="1 um")).core
    face = slope * core.effective_length * MU_0 / 2
    result = replace(core, face_gap=face, material=material)
    found = float(air_reluctance(result)) * float(np.asarray(core.effective_area)) / core.effective_length
    assert found == pytest.approx(slope, rel=1e-9)
    return result


@pytest.mark.parametrize("slope", [0.0, 3.0, 10.0, 30.0, 100.0, 300.0])
@pytest.mark.parametrize("grade", GRADES)
def test_joints_shear_the_measured_loop(grade: str, slope: float) -> None:
    """Where the falling branch crosses H = −N B; 37 A/m per tesla is 3 µm a joint in 130 mm of steel."""
    record = GRADES[grade]
    left, coercive = own_figures(record)
    published = float(brentq(lambda b: falling(-slope * b, record) - b, 0.0, left + 1e-9))
    found = float(remanent_flux_density(stack(slope, replace(STEEL, remanence=left, coercivity=coercive))))
    assert abs(found - published) < 0.13 * left


@pytest.mark.parametrize("slope", [5.0, 20.0, 60.0])
def test_joints_shear_the_measured_branch(slope: float) -> None:
    """M330-50A as measured, not fitted: Br 1.155 T, Hc 38.3 A/m."""
    fields, flux = np.array(list(FALLING)), np.array(list(FALLING.values()))
    published = float(brentq(lambda b: np.interp(-slope * b, fields, flux) - b, 0.0, 1.16))
    found = float(remanent_flux_density(stack(slope, replace(STEEL, remanence=1.1546, coercivity=38.3))))
    assert abs(found - published) < 0.05 * 1.1546


@pytest.mark.parametrize("peak", [0.01, 0.05, 0.1, 0.2, 0.4, 0.8, 1.2])
@pytest.mark.parametrize("grade", EVERETT)
def test_an_alternating_level_wipes_it_out(grade: str, peak: float) -> None:
    """After one cycle of ± B̂ in the closed loop, no mean current: within 8 % of Br."""
    record = EVERETT[grade]
    left, coercive = own_figures(record)
    published = falling(-half_width(peak, record), record) + peak
    material = replace(STEEL, remanence=left, coercivity=coercive)
    assert abs(float(remanent_flux_density(stack(0.0, material), peak)) - published) < 0.08 * left


def test_the_figures_of_the_catalogue() -> None:
    """Br and Hc of NO 0.50: within 25 % and 70 % of each of the four grades of 0.5 mm, 12 % of their mean."""
    for record in EVERETT.values():
        left, coercive = own_figures(record)
        assert STEEL.remanence == pytest.approx(left, rel=0.25)
        assert STEEL.coercivity == pytest.approx(coercive, rel=0.70)
    means = np.mean([own_figures(record) for record in EVERETT.values()], axis=0)
    np.testing.assert_allclose((STEEL.remanence, STEEL.coercivity), means, rtol=0.12)


def test_what_remains_of_the_permeability() -> None:
    """Gans's law in closed form: at B/Bs = L(x) the ratio is 3 L'(x); x = 2: L = 1/tanh 2 − 1/2."""
    b = 1 / np.tanh(2.0) - 0.5
    ring = stack(0.0, replace(STEEL, remanence=b * STEEL.saturation_flux_density))
    assert float(remanent_ratio(ring)) == pytest.approx(3 * (0.25 - 1 / np.sinh(2.0) ** 2), rel=1e-6)
    left = float(np.asarray(remanent_core(ring).material.initial_permeability))
    assert left == pytest.approx(600 * float(remanent_ratio(ring)), rel=1e-12)
    unknown = stack(0.0, replace(STEEL, remanence=0.0, coercivity=0.0))
    assert remanent_core(unknown) is unknown
    assert float(remanent_ratio(unknown)) == 1.0
