"""What the circuits of the tests of a laid-out design share, and the tests that use direct current.

Resistances and lead-outs depend on the temperature at which a test is stated, the turns of the branches on
none of it: each is computed once. Tests with alternating current are solved together
(``circuits_together``).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

import numpy as np

from ..capacitance import BuildCapacitance
from ..copper import lead_resistance, section_resistance
from ..cores import AT_REST, DirectState, bias_point
from ..design import BenchTest, ComplexArray, Design, Equivalent, FloatArray, Real
from ..field import lead_inductance
from .displayed_number import at_terminals, displayed
from .network import Wiring, wire
from .nodal_analysis import Solution, solve
from .section_coupling import Sections

DC_TEMPERATURE = 20.0
"""Temperature (°C) of a resistance test that states none: resistances are given at 20 °C (common
practice)."""


@dataclass(frozen=True)
class LaidOut:
    """What all tests of a laid-out design share, for B builds.

    Attributes
    ----------
    sections : Sections
    capacitance : BuildCapacitance or None, of the builds; None: direct current only
    air_reluctance : () or (B,) array, reluctance of the gaps of the core, 1/H
    """

    sections: Sections
    capacitance: BuildCapacitance | None
    air_reluctance: FloatArray
    _parts: dict[Hashable, Any] = field(default_factory=dict, repr=False, compare=False)

    def once(self, key: Hashable, compute: Callable[[], Any]) -> Any:
        """A result that several tests share, computed by the first of them that asks for it.

        Parameters
        ----------
        key : Hashable, name of the result, with everything that it depends on
        compute : Callable[[], Any]
        """
        if key not in self._parts:
            self._parts[key] = compute()
        return self._parts[key]

    @property
    def design(self) -> Design:
        """The design (of B builds)."""
        return self.sections.design

    @property
    def count(self) -> int:
        """Number of builds B, count."""
        return len(self.sections.layout.top)

    def excesses(self, points: Sequence[tuple[float, float]]) -> list[ComplexArray]:
        """Impedance that alternating current adds in tests, at several points, (frequency in Hz, temperature
        in degC at which a test is stated), each computed once: (B, n, n) arrays of complex, ohm per turn²."""
        new = [point for point in dict.fromkeys(points) if ("excess", point) not in self._parts]
        if new:
            frequencies, stated = (np.array(each) for each in zip(*new, strict=True))
            warm = stated[:, None] + np.asarray(self.design.bench.temperature_error)
            found = self.sections.excess(frequencies, warm)
            for number, point in enumerate(new):
                self._parts["excess", point] = found[:, number]
        return [self._parts["excess", point] for point in points]


def stated_temperature(design: Design, test: BenchTest) -> float:
    """Temperature at which a test is stated: its own, else 20 °C for resistance, else that of the bench.

    Parameters
    ----------
    design : Design of one or B builds
    test : BenchTest, of the design

    Returns
    -------
    float, temperature, degC
    """
    if test.temperature is not None:
        return test.temperature
    return DC_TEMPERATURE if test.measure == "resistance" else design.bench.temperature


def as_stated(design: Design, test: BenchTest) -> BenchTest:
    """A test with its equivalent circuit and the temperature at which it is stated filled in.

    Parameters
    ----------
    design : Design of one or B builds
    test : BenchTest
    """
    return _completed(test, stated_temperature(design, test), test.equivalent or design.bench.equivalent)


@lru_cache(maxsize=1024)
def _completed(test: BenchTest, temperature: float, equivalent: Equivalent) -> BenchTest:
    return replace(test, temperature=temperature, equivalent=equivalent)


def read_direct(laid: LaidOut, test: BenchTest) -> tuple[FloatArray, ComplexArray]:
    """A test with direct current on builds that are laid out.

    Parameters
    ----------
    laid : LaidOut
    test : BenchTest

    Returns
    -------
    value : (B,) array, displayed value, SI
    impedance : (B,) array of complex, resistance at the terminals of the meter, ohm
    """
    test = as_stated(laid.design, test)
    answer = _direct_current(laid, test)
    drive = at_terminals(laid.design.bench, test, answer.drive)
    return displayed(test, drive, answer.sense, 0.0), drive


def _direct_current(laid: LaidOut, test: BenchTest) -> Solution:
    """The circuit of a test under direct current, with the bench's shorting links as the test has them."""
    assert test.temperature is not None
    wiring = wiring_of(laid, test, charged=False)
    return solve(
        wiring,
        direct_current_resistance(laid, wiring, test.temperature),
        lead_outs(laid, wiring, test.temperature)[0] + 0j,
        np.full(laid.count, test.link * np.asarray(laid.design.bench.short_resistance) + 0j),
    )


@dataclass(frozen=True)
class Branches:
    """The branches of a circuit.

    Attributes
    ----------
    to_branch : (B, b, n) array, turns of the sections in them, count
    turns : (B, b) array, turns around the core, count
    """

    to_branch: FloatArray
    turns: FloatArray

    def seen(self, of_sections: FloatArray | ComplexArray) -> Any:
        """What the branches see, (..., B, b, b), of a matrix of the sections, (..., B, n, n) array:
        inductance (H) or impedance (ohm) per turn²."""
        return self.to_branch @ of_sections @ self.to_branch.swapaxes(1, 2)


def wiring_of(laid: LaidOut, test: BenchTest, *, charged: bool) -> Wiring:
    """The circuit of a test.

    Parameters
    ----------
    laid : LaidOut
    test : BenchTest
    charged : bool, whether the build's potentials take part
    """
    between = test.measure == "capacitance" and bool(test.sense)
    key = ("wiring", test.drive, test.short, test.sense, test.tie, between, charged)
    labels = laid.capacitance.labels if charged and laid.capacitance is not None else None
    found: Wiring = laid.once(key, lambda: wire(laid.design, laid.sections.layout.branches, test, labels))
    return found


def branches_of(laid: LaidOut, wiring: Wiring) -> Branches:
    """The branches of a circuit, shared by all tests with the same ones.

    Parameters
    ----------
    laid : LaidOut
    wiring : Wiring
    """

    def compute() -> Branches:
        to_branch = laid.sections.to_branch[:, wiring.branches]
        return Branches(to_branch, to_branch.sum(axis=-1))

    found: Branches = laid.once(("branches", wiring.branches.tobytes()), compute)
    return found


def _warm(laid: LaidOut, stated: float) -> Real:
    """Temperature (°C) of the part in a test stated at ``stated``."""
    return stated + np.asarray(laid.design.bench.temperature_error)


def direct_current_resistance(laid: LaidOut, wiring: Wiring, stated: float) -> ComplexArray:
    """Direct-current resistance of the branches of a circuit.

    Parameters
    ----------
    laid : LaidOut
    wiring : Wiring
    stated : float, temperature at which the test is stated, degC

    Returns
    -------
    (B, b, b) array of complex, diagonal matrices, ohm
    """
    sections = laid.sections

    def every() -> FloatArray:
        each = section_resistance(sections.design, sections.layout, _warm(laid, stated))
        return np.asarray(((sections.to_branch != 0) @ each[..., None])[..., 0])

    def compute() -> ComplexArray:
        resistance = laid.once(("resistance", stated), every)[:, wiring.branches]
        return np.asarray(resistance[:, :, None] * np.eye(len(wiring.branches)) + 0j)

    ohms: ComplexArray = laid.once(("resistance", wiring.branches.tobytes(), stated), compute)
    return ohms


def lead_outs(laid: LaidOut, wiring: Wiring, stated: float) -> tuple[FloatArray, FloatArray]:
    """Resistance and inductance of the lead-outs of the windings in a circuit.

    Parameters
    ----------
    laid : LaidOut
    wiring : Wiring, connections of the circuit, with l lead-outs
    stated : float, temperature at which the test is stated, degC

    Returns
    -------
    resistance : (B, l) array, resistance, ohm
    inductance : (B, l) array, inductance, H
    """

    def compute() -> tuple[FloatArray, FloatArray]:
        resistance, inductance = (np.zeros((laid.count, len(wiring.lead_windings))) for _ in range(2))
        for column, name in enumerate(wiring.lead_windings):
            resistance[:, column] = lead_resistance(laid.design, name, _warm(laid, stated))
            inductance[:, column] = np.asarray(lead_inductance(laid.design, name))
        return resistance, inductance

    found: tuple[FloatArray, FloatArray] = laid.once(("leads", wiring.lead_windings, stated), compute)
    return found


def direct_state(laid: LaidOut, test: BenchTest) -> DirectState:
    """State of the core under the direct current of a test.

    Parameters
    ----------
    laid : LaidOut
    test : BenchTest

    Returns
    -------
    DirectState, flux density (T), and the reversible permeability over the initial one, (B,) each
    """
    if not test.bias > 0:
        return AT_REST
    assert test.temperature is not None
    direct = _direct_current(laid, test)
    turns = branches_of(laid, wiring_of(laid, test, charged=False)).turns
    ampere_turns = test.bias * (direct.currents.real * turns).sum(axis=-1)
    temperature = _warm(laid, test.temperature)
    return bias_point(laid.design.core, ampere_turns, temperature, gap_reluctance=laid.air_reluctance)
