"""The circuit of one test: every impedance in it at the frequency and temperature of the test, and its
solution.

The branches of the windings hold their resistance, what alternating current adds, and the coupling through
the field, Z = R + ΔZ + jωK. Around them are the lead-outs, the shorting links, the capacitance and the core,
whose permeance depends on the level that the meter leaves across the part (``operating_point``).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from ..capacitance import BuildCapacitance
from ..copper import lead_resistance, section_resistance
from ..cores import AT_REST, DirectState, bias_point, permeance
from ..design import BenchTest, ComplexArray, Design, FloatArray, Real
from ..field import lead_inductance
from .displayed_number import at_terminals, displayed
from .network import Wiring, wire
from .nodal_analysis import Solution, solve, solve_around_core
from .operating_point import OperatingPoint, Response, held_level, settle
from .section_coupling import Sections

DC_TEMPERATURE = 20.0
"""Temperature (°C) of a resistance test that states none: resistances are given at 20 °C."""


@dataclass(frozen=True)
class LaidOut:
    """What all tests of a laid-out design share, for B builds.

    Attributes
    ----------
    sections : Sections
        Layout and fields.
    capacitance : BuildCapacitance or None
        Capacitance of the builds; None: direct current only.
    air_reluctance : () or (B,) array
        Reluctance of the gaps of the core, 1/H.
    """

    sections: Sections
    capacitance: BuildCapacitance | None
    air_reluctance: FloatArray
    _parts: dict[Hashable, Any] = field(default_factory=dict, repr=False, compare=False)

    def once(self, key: Hashable, compute: Callable[[], Any]) -> Any:
        """A result that several tests share, computed by the first of them that asks for it.

        Parameters
        ----------
        key : Hashable
            Name of the result, with everything that it depends on.
        compute : Callable[[], Any]
            Gives the result.
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

    def excess(self, frequency: float, stated: float) -> ComplexArray:
        """Impedance that alternating current adds in a test.

        Parameters
        ----------
        frequency : float
            Frequency, Hz.
        stated : float
            Temperature at which the test is stated, degC.

        Returns
        -------
        (B, n, n) array of complex
            Added impedance, ohm per turn².
        """
        return self.sections.excess(frequency, stated + np.asarray(self.design.bench.temperature_error))


@dataclass(frozen=True, kw_only=True)
class Network:
    """The circuit of one test without its core, for B builds; b branches, l lead-outs.

    Attributes
    ----------
    laid : LaidOut
        What all tests share.
    test : BenchTest
        The test, with its equivalent circuit and temperature filled in.
    temperature : float or (B,) array
        Temperature of the part, degC.
    wiring : Wiring
        Connections of the circuit.
    passive : (B, b, b) array of complex
        Impedances of the branches, ohm.
    turns : (B, b) array
        Turns of the branches around the core, count.
    leads : (B, l) array of complex
        Impedance of each lead-out, ohm.
    link : (B,) array of complex
        Impedance of a shorting link, ohm.
    """

    laid: LaidOut
    test: BenchTest
    temperature: Real
    wiring: Wiring
    passive: ComplexArray
    turns: FloatArray
    leads: ComplexArray
    link: ComplexArray

    def read(self) -> tuple[FloatArray, ComplexArray, OperatingPoint]:
        """(value, impedance, operating point) of the test, (B,) each.

        The displayed value is in SI, the impedance at the terminals of the meter in ohm.
        """
        if self.test.angular_frequency == 0:
            answer = self._at_the_meter(solve(self.wiring, self.passive, self.leads, self.link))
            none = np.zeros(self.laid.count)
            return displayed(self.test, answer), answer.drive, OperatingPoint(none, none, none)
        return self._read_alternating()

    def _read_alternating(self) -> tuple[FloatArray, ComplexArray, OperatingPoint]:
        design, test = self.laid.design, self.test
        jw = 1j * test.angular_frequency
        direct = self._bias()
        without_core = solve_around_core(
            self.wiring, self.passive, self.leads, self.link, self._susceptance, self.turns
        )

        def permeance_at(flux_density: FloatArray) -> ComplexArray:
            if direct is AT_REST and not np.any(flux_density):  # where every test begins
                still = ("still", test.alternating_frequency, test.temperature)
                return np.asarray(self.laid.once(still, lambda: lossy_permeance(flux_density)))
            return lossy_permeance(flux_density)

        def lossy_permeance(flux_density: FloatArray) -> ComplexArray:
            air, frequency = self.laid.air_reluctance, test.alternating_frequency
            doubt = design.model.together
            core = permeance(
                design.core, frequency, self.temperature, flux_density, direct, doubt=doubt, air=air
            )
            core = core * np.asarray(design.model.inductance)
            lossy = core.real + 1j * core.imag * np.asarray(design.model.loss)
            return np.broadcast_to(lossy, (self.laid.count,))

        def respond(core: ComplexArray) -> Response:
            answer = without_core.with_core(jw * core)
            flux = core * np.einsum("bk,bk->b", answer.currents, self.turns)
            return answer, at_terminals(design.bench, test, answer), flux

        area = np.broadcast_to(np.asarray(design.core.effective_area, float), (self.laid.count,))
        (answer, _, _), flux_density = settle(design.bench, test, area, permeance_at, respond)
        answer = self._at_the_meter(answer)
        level = held_level(design.bench, test.level * np.asarray(design.bench.level_scale), answer.drive)
        bias = np.broadcast_to(np.asarray(direct.flux_density, float), (self.laid.count,))
        return displayed(test, answer), answer.drive, OperatingPoint(level, flux_density, bias)

    def _at_the_meter(self, answer: Solution) -> Solution:
        """``answer`` with the leads included in its drive where the meter sees them."""
        return replace(answer, drive=at_terminals(self.laid.design.bench, self.test, answer))

    @property
    def _susceptance(self) -> FloatArray | None:
        """(B, m, m) ωC (S) of the potentials of the builds."""
        capacitance = self.laid.capacitance
        return None if capacitance is None else self.test.angular_frequency * capacitance.matrix

    def _bias(self) -> DirectState:
        """(B,) each: flux density (T) of the direct current of the test, and the reversible permeability
        under it over the initial one."""
        if not self.test.bias > 0:
            return AT_REST
        ampere_turns = self.test.bias * _ampere_turns_of_direct_current(self.laid, self.test)
        return bias_point(self.laid.design.core, ampere_turns, self.temperature, air=self.laid.air_reluctance)


def stated_temperature(design: Design, test: BenchTest) -> float:
    """Temperature at which a test is stated: its own, else 20 °C for resistance, else that of the bench.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    test : BenchTest
        Test of the design.

    Returns
    -------
    float
        Temperature, degC.
    """
    if test.temperature is not None:
        return test.temperature
    return DC_TEMPERATURE if test.measure == "resistance" else design.bench.temperature


def network_of(
    laid: LaidOut, test: BenchTest, coupling: FloatArray, excess: ComplexArray | None = None
) -> Network:
    """The circuit of a test on builds that are laid out.

    Parameters
    ----------
    laid : LaidOut
        What all tests share.
    test : BenchTest
        The test.
    coupling : (B, n, n) array
        Interaction of the sections for the current distribution of the test, H per turn².
    excess : (B, n, n) or (1, 1, 1) array of complex, or None
        What alternating current adds, ohm per turn²; None: ``laid.excess``.

    Returns
    -------
    Network
        The circuit.
    """
    design = laid.design
    test = replace(
        test,
        temperature=stated_temperature(design, test),
        equivalent=test.equivalent or design.bench.equivalent,
    )
    assert test.temperature is not None
    temperature = test.temperature + np.asarray(design.bench.temperature_error)
    omega = test.angular_frequency
    wiring = _wiring_of(laid, test, charged=laid.capacitance is not None and omega > 0)
    branches = _branches_of(laid, wiring)
    passive = _direct_current_resistance(laid, wiring, test.temperature)
    if omega > 0:
        if excess is None:
            excess = laid.excess(test.alternating_frequency, test.temperature)
        linked = branches.seen(laid, coupling)
        passive = passive + 1j * omega * linked
        if excess.shape[-1] > 1 or np.any(excess):
            passive += branches.to_branch @ excess @ np.swapaxes(branches.to_branch, 1, 2)
    bench = design.bench
    link = test.link * np.asarray(bench.short_resistance + 1j * omega * np.asarray(bench.short_inductance))
    return Network(
        laid=laid,
        test=test,
        temperature=temperature,
        wiring=wiring,
        passive=passive,
        turns=branches.turns,
        leads=_lead_outs(laid, wiring, test.temperature, omega),
        link=np.broadcast_to(link, (laid.count,)),
    )


@dataclass(frozen=True)
class _Branches:
    """The branches of a circuit. to_branch : (B, b, n) turns of the sections in them. turns : (B, b) turns
    around the core."""

    to_branch: FloatArray
    turns: FloatArray

    def seen(self, laid: LaidOut, coupling: FloatArray) -> FloatArray:
        """(B, b, b) inductance (H) of the branches for an interaction (B, n, n) of the sections; the last one
        is kept, as a search for a resonance asks for it at every frequency."""
        known = laid._parts.get("interaction")
        if known is None or known[0] is not coupling or known[1] is not self:
            found = self.to_branch @ coupling @ np.swapaxes(self.to_branch, 1, 2)
            known = laid._parts["interaction"] = (coupling, self, found)
        return np.asarray(known[2])


def _wiring_of(laid: LaidOut, test: BenchTest, *, charged: bool) -> Wiring:
    """The circuit of a test, with the build's potentials if it is ``charged``."""
    between = test.measure == "capacitance" and bool(test.sense)
    key = ("wiring", test.drive, test.short, test.sense, test.tie, between, charged)
    labels = laid.capacitance.labels if charged and laid.capacitance is not None else None
    found: Wiring = laid.once(key, lambda: wire(laid.design, laid.sections.layout.branches, test, labels))
    return found


def _branches_of(laid: LaidOut, wiring: Wiring) -> _Branches:
    def compute() -> _Branches:
        to_branch = laid.sections.to_branch[:, wiring.branches]
        return _Branches(to_branch, np.sum(to_branch, axis=-1))

    found: _Branches = laid.once(("branches", wiring.branches.tobytes()), compute)
    return found


def _warm(laid: LaidOut, stated: float) -> Real:
    """Temperature (°C) of the part in a test stated at ``stated``."""
    return stated + np.asarray(laid.design.bench.temperature_error)


def _direct_current_resistance(laid: LaidOut, wiring: Wiring, stated: float) -> ComplexArray:
    """(B, b, b) diagonal resistance (Ω) of the branches of a circuit at ``stated`` (°C)."""
    sections = laid.sections

    def compute() -> ComplexArray:
        each = laid.once(
            ("resistance", stated),
            lambda: section_resistance(sections.design, sections.layout, _warm(laid, stated)),
        )
        held = (_branches_of(laid, wiring).to_branch != 0).astype(float)
        resistance = np.einsum("bkn,bn->bk", held, each)
        return np.asarray(resistance[:, :, None] * np.eye(held.shape[1]) + 0j)

    ohms: ComplexArray = laid.once(("resistance", wiring.branches.tobytes(), stated), compute)
    return ohms


def _lead_outs(laid: LaidOut, wiring: Wiring, stated: float, omega: float) -> ComplexArray:
    """(B, l) impedance (Ω) of the lead-outs of the windings in the circuit at ``stated`` (°C)."""

    def compute() -> tuple[FloatArray, FloatArray]:
        resistance, inductance = (np.zeros((laid.count, len(wiring.lead_windings))) for _ in range(2))
        for column, name in enumerate(wiring.lead_windings):
            resistance[:, column] = lead_resistance(laid.design, name, _warm(laid, stated))
            inductance[:, column] = np.asarray(lead_inductance(laid.design, name))
        return resistance, inductance

    resistance, inductance = laid.once(("leads", wiring.lead_windings, stated), compute)
    return np.asarray(resistance + 1j * omega * inductance)


def _ampere_turns_of_direct_current(laid: LaidOut, test: BenchTest) -> FloatArray:
    """(B,) ampere-turns around the core for one ampere of direct current into the driven port."""
    assert test.temperature is not None
    wiring = _wiring_of(laid, test, charged=False)
    link = np.broadcast_to(np.asarray(laid.design.bench.short_resistance) + 0j, (laid.count,))
    direct = solve(
        wiring,
        _direct_current_resistance(laid, wiring, test.temperature),
        _lead_outs(laid, wiring, test.temperature, 0.0),
        link,
    )
    return np.asarray(np.einsum("bk,bk->b", direct.currents.real, _branches_of(laid, wiring).turns))
