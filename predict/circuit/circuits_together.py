"""The circuits of several tests with alternating current, solved together for all builds.

The circuits of one group have the same branches and lead-outs; they differ in shorts, ties and ports, and so
in their links and nodes. Each is filled up to the largest of the group with elements and nodes that touch
nothing, so that one solution serves T tests of B builds. The core is added afterwards
(``nodal_analysis``):

    V(z) = V_port − z N_port/(1 + z N_turn) V_turn ,   NI(z) = N_port/(1 + z N_turn)

with V the voltages and N the ampere-turns for one ampere into the driven port and for one volt per turn, and
z = jωP the impedance of the core per turn².
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from ..cores import AT_REST, DirectState, permeance
from ..design import BenchTest, ComplexArray, FloatArray
from .bench_network import (
    Branches,
    LaidOut,
    as_stated,
    branches_of,
    direct_current_resistance,
    direct_state,
    lead_outs,
    wiring_of,
)
from .displayed_number import displayed, leads_seen
from .nodal_analysis import STRAY, CircuitFrame, connections_of
from .operating_point import OperatingPoint, Response, held_level, settle

_AT_A_TIME = 250_000
"""Numbers of the circuits' matrices at a time: they stay in a core's cache (bounds work, not results)."""


_LEAST = 1e-9
"""Resistance in series with every element of a circuit without eddy currents, as part of the largest one:
links and lead-outs may have none (judged; it decides only where a resonance is looked for)."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Circuits:
    """The circuits of T tests of B builds without their core; b branches, l lead-outs, K links, N nodes.

    Attributes
    ----------
    laid : LaidOut
    tests : tuple of BenchTest, the tests, complete (``as_stated``)
    frame : CircuitFrame, connections
    branches : Branches
    resistance : (T, B, b, b) array of complex, direct-current resistance of the branches, ohm
    inductance : (T, B, b, b) array, of the branches through the field, H
    leads : (T, B, l) array of complex
        Resistance of each lead-out (ohm), with its inductance (H) as the imaginary part.
    short_impedance : (T, 1, 1) or (T, B, 1) array of complex, the same of a shorting link
    capacitance_matrix : (T, B, N, N) array, capacitance between the nodes, F
    direct : DirectState, state of the core under the direct current of the tests
    """

    laid: LaidOut
    tests: tuple[BenchTest, ...]
    frame: CircuitFrame
    branches: Branches
    resistance: ComplexArray
    inductance: FloatArray
    leads: ComplexArray
    short_impedance: ComplexArray
    capacitance_matrix: FloatArray
    direct: DirectState

    def repeated(self, number: int) -> Circuits:
        """The circuit of a single test, a number of times (count), to be read at several frequencies."""

        def again(array: Any) -> Any:
            return np.broadcast_to(array, (number, *array.shape[1:]))

        frame = {item.name: getattr(self.frame, item.name) for item in fields(self.frame)}
        arrays = {name: again(value) for name, value in frame.items() if name != "elements"}
        return replace(
            self,
            tests=self.tests * number,
            frame=replace(self.frame, **arrays),
            resistance=again(self.resistance),
            inductance=again(self.inductance),
            leads=again(self.leads),
            short_impedance=again(self.short_impedance),
            capacitance_matrix=again(self.capacitance_matrix),
        )

    def excesses(self, points: Sequence[tuple[float, float]]) -> ComplexArray:
        """Impedance that alternating current adds to the branches at several points, (frequency in Hz,
        temperature in degC at which a test is stated): (T, B, b, b) array of complex, ohm."""
        distinct = list(dict.fromkeys(points))
        found = self.branches.seen(np.stack(self.laid.excesses(distinct)))
        return np.asarray(found[[distinct.index(point) for point in points]])

    def without_eddies(self) -> Callable[[FloatArray], ComplexArray]:
        """Impedance (F, B) (ohm) of a single test without what alternating current adds, as a function of
        frequencies (F, 1) or (F, B) (Hz): it says where to look for a resonance."""
        solved = _constant(self)
        return lambda at: self.repeated(len(at)).read(at, solved(2 * np.pi * at))[1]

    def read(
        self, frequencies: FloatArray, excess: ComplexArray | _AroundCore
    ) -> tuple[FloatArray, ComplexArray, OperatingPoint]:
        """The readings of the tests.

        Parameters
        ----------
        frequencies : (T,) or (T, B) array, Hz
        excess : (T, B, b, b) array of complex
            Impedance that alternating current adds to the branches, ohm; or the circuits as solved without
            it (``without_eddies``).

        Returns
        -------
        values : (T, B) array, displayed values, SI
        impedances : (T, B) array of complex, impedance at the terminals of the meter, ohm
        point : OperatingPoint, level and flux densities, (T, B) each
        """
        laid = self.laid
        each = frequencies if frequencies.ndim == 2 else frequencies[:, None]
        omega = 2 * np.pi * each
        design, bench = laid.design, laid.design.bench
        around = excess if isinstance(excess, _AroundCore) else self._around_core(omega, excess)
        seen = leads_seen(bench, self.tests, omega)
        stated = np.array([[test.temperature] for test in self.tests], float)
        temperature = stated + np.asarray(bench.temperature_error)
        jw = 1j * omega

        def permeance_at(flux_density: FloatArray) -> ComplexArray:
            core = permeance(
                design.core,
                each,
                temperature,
                flux_density,
                self.direct,
                doubt=(design.model.together, design.model.weak_field, design.model.weak_curve),
                gap_reluctance=laid.air_reluctance,
            )
            core = core * np.asarray(design.model.inductance)
            lossy = core.real + 1j * core.imag * np.asarray(design.model.loss)
            return np.broadcast_to(lossy, around.enclosed.shape)

        def respond(core: ComplexArray) -> Response:
            drive, _, enclosed = around.with_core(jw * core)
            return drive + seen, core * enclosed

        shape = around.enclosed.shape
        area = np.broadcast_to(np.asarray(design.core.effective_area, float), shape)
        level = np.array([[test.level] for test in self.tests]) * np.asarray(bench.level_scale)
        core, flux_density = settle(bench, level, area, permeance_at, respond)
        drive, sense, _ = around.with_core(jw * core)
        drive = drive + seen
        shown = zip(self.tests, drive, sense, omega, strict=True)
        values = np.stack([displayed(*numbers) for numbers in shown])
        bias = np.broadcast_to(np.asarray(self.direct.flux_density, float), shape)
        return values, drive, OperatingPoint(held_level(bench, level, drive), flux_density, bias)

    def _around_core(self, omega: FloatArray, excess: ComplexArray) -> _AroundCore:
        """The circuits solved at ω (T, 1) or (T, B), some tests at a time."""
        count, size = self.laid.count, self.frame.matrix.shape[-1]
        portion = max(1, _AT_A_TIME // (count * size**2))
        parts = [
            self._solved(slice(start, start + portion), omega, excess)
            for start in range(0, len(self.tests), portion)
        ]
        names = [field.name for field in fields(_AroundCore)]
        whole = {name: np.concatenate([getattr(each, name) for each in parts]) for name in names}
        return _AroundCore(**whole)

    def _solved(self, part: slice, omega: FloatArray, excess: ComplexArray) -> _AroundCore:
        frame, count, b = self.frame, self.laid.count, self.branches.turns.shape[1]
        w = omega[part, :, None, None]
        matrix = np.repeat(frame.matrix[part, None], count, axis=1)
        passive = self.resistance[part] + 1j * w * self.inductance[part]
        matrix[..., :b, :b] = passive + excess[part]
        leads = self.leads[part]
        row = np.arange(b, b + leads.shape[-1])
        matrix[..., row, row] = leads.real + 1j * w[..., 0] * leads.imag
        row = np.arange(b + leads.shape[-1], frame.elements)
        short_impedance = self.short_impedance[part]
        shorted = frame.shorted[part, None]
        matrix[..., row, row] = np.where(
            shorted, short_impedance.real + 1j * w[..., 0] * short_impedance.imag, 1.0
        )
        matrix[..., frame.elements :, frame.elements :] += 1j * w * self.capacitance_matrix[part]
        sources = np.zeros((*matrix.shape[:-1], 2), complex)
        sources[..., frame.elements :, 0] = frame.drive[part, None]
        sources[..., :b, 1] = self.branches.turns
        answer: ComplexArray = np.asarray(np.linalg.solve(matrix, sources), complex)
        nodes: ComplexArray = answer[..., frame.elements :, :].swapaxes(-1, -2)
        drive: ComplexArray = np.einsum("tbkn,tn->tbk", nodes, frame.drive[part])
        sense: ComplexArray = np.einsum("tbkn,tn->tbk", nodes, frame.sense[part])
        flux = (self.branches.turns[..., None] * answer[..., :b, :]).sum(axis=-2)
        return _AroundCore(
            drive=drive[..., 0],
            drive_by_turn=drive[..., 1],
            sense=sense[..., 0],
            sense_by_turn=sense[..., 1],
            enclosed=flux[..., 0],
            linked=flux[..., 1],
        )


@dataclass(frozen=True, kw_only=True)
class _AroundCore:
    """Voltages (V) of the driven and the sensed port and ampere-turns (A), each for one ampere into the
    driven port and for one volt per turn, (T, B)."""

    drive: ComplexArray
    drive_by_turn: ComplexArray
    sense: ComplexArray
    sense_by_turn: ComplexArray
    enclosed: ComplexArray
    linked: ComplexArray

    def with_core(self, core: ComplexArray) -> tuple[ComplexArray, ComplexArray, ComplexArray]:
        """Voltages of the driven and the sensed port (V) and ampere-turns (A) with a core of ``core`` (Ω per
        turn²), (T, B) each."""
        around = self.enclosed / (1 + core * self.linked)
        share = core * around
        return self.drive - share * self.drive_by_turn, self.sense - share * self.sense_by_turn, around


def _constant(circuits: Circuits) -> Callable[[FloatArray], _AroundCore]:
    """The circuit of a single test with constant resistance R (diagonal) and inductance L, solved at angular
    frequencies (F, 1) or (F, B). In the voltages V of its nodes and the modes M of its elements, for currents
    J into the nodes and one volt per turn u,

        L M = R M diag(τ) ,   Mᵀ R M = 1 ,   (R + jωL)⁻¹ = M diag(y) Mᵀ ,   y = 1/(1 + jωτ)
        (A M diag(y) Mᵀ Aᵀ + jωC) V = J − A M diag(y) Mᵀ n u

    which is smaller than the circuit with all its elements.
    """
    frame, b, links = circuits.frame, circuits.branches.turns.shape[1], circuits.frame.shorted.shape[1]
    size, count, capacitance = frame.elements, circuits.laid.count, circuits.capacitance_matrix[0]
    inductance, resistance = np.zeros((count, size, size)), np.ones((count, size))
    inductance[:, :b, :b] = circuits.inductance[0]
    resistance[:, :b] = np.diagonal(circuits.resistance[0].real, axis1=1, axis2=2)
    row = np.arange(size)
    for part, ohms in (
        (row[b : size - links], circuits.leads[0]),
        (row[size - links :], np.where(frame.shorted[0], circuits.short_impedance[0], 1.0)),
    ):
        inductance[:, part, part], resistance[:, part] = ohms.imag, ohms.real
    resistance += _LEAST * np.max(resistance, axis=1, keepdims=True)
    root = np.sqrt(resistance)
    times, modes = np.linalg.eigh(inductance / (root[:, :, None] * root[:, None, :]))
    modes /= root[:, :, None]
    nodes = frame.matrix[0, size:, :size].real @ modes
    turns = np.einsum("bk,bke->be", circuits.branches.turns, modes[:, :b])
    absent = np.flatnonzero(~frame.present[0])

    def solved(omega: FloatArray) -> dict[str, ComplexArray]:
        """The fields of ``_AroundCore`` (B,) at one ω (1, 1) or (B, 1) of every build."""
        flowing = 1 / (1 + 1j * omega * times)
        matrix = np.empty(capacitance.shape, complex)
        across = np.swapaxes(nodes, 1, 2)
        matrix.real = (nodes * flowing.real[:, None]) @ across
        matrix.imag = (nodes * flowing.imag[:, None]) @ across + omega[..., None] * capacitance
        matrix[:, absent, absent] = 1.0
        linking = (nodes @ (flowing * turns)[..., None])[..., 0]
        sources = np.stack([np.broadcast_to(frame.drive[0], linking.shape), -linking], axis=-1)
        voltages = np.linalg.solve(matrix, sources)
        drive, sense = (np.moveaxis(port[0] @ voltages, -1, 0) for port in (frame.drive, frame.sense))
        enclosed = np.einsum("bnk,bn->kb", voltages, linking)
        linked = enclosed[1] + np.sum(turns**2 * flowing, axis=-1)
        by_turn = {"drive_by_turn": drive[1], "sense_by_turn": sense[1], "linked": linked}
        return {"drive": drive[0], "sense": sense[0], "enclosed": enclosed[0], **by_turn}

    def at(omega: FloatArray) -> _AroundCore:
        parts = [solved(at_one[:, None]) for at_one in omega]  # one frequency stays in a core's cache
        return _AroundCore(**{name: np.stack([part[name] for part in parts]) for name in parts[0]})

    return at


def groups_of(laid: LaidOut, tests: Sequence[BenchTest]) -> list[list[int]]:
    """Tests with alternating current whose circuits can be solved together.

    Parameters
    ----------
    laid : LaidOut
    tests : sequence of BenchTest

    Returns
    -------
    list of list of int, index
    """
    groups: dict[tuple[bytes, tuple[str, ...], bool], list[int]] = {}
    for index, test in enumerate(tests):
        wiring = wiring_of(laid, test, charged=True)
        key = (wiring.branches.tobytes(), wiring.lead_windings, test.bias > 0)
        groups.setdefault(key, []).append(index)
    return list(groups.values())


def alternating_circuits(laid: LaidOut, tests: Sequence[BenchTest], coupling: FloatArray) -> Circuits:
    """The circuits of tests with alternating current of one group (``groups_of``).

    Parameters
    ----------
    laid : LaidOut
    tests : sequence of T BenchTest
    coupling : (B, T, n, n) array
        Interaction of the sections for the current distribution of each test, H per turn².
    """
    design = laid.design
    complete = tuple(as_stated(design, test) for test in tests)
    wirings = tuple(wiring_of(laid, test, charged=True) for test in complete)
    branches, frame = branches_of(laid, wirings[0]), connections_of(wirings)
    resistances, leads = [], []
    for test, wiring in zip(complete, wirings, strict=True):
        assert test.temperature is not None
        resistances.append(direct_current_resistance(laid, wiring, test.temperature))
        resistance, inductance = lead_outs(laid, wiring, test.temperature)
        leads.append(resistance + 1j * inductance)
    bench = design.bench
    short_of_bench = np.asarray(bench.short_resistance) + 1j * np.asarray(bench.short_inductance)
    number = np.array([[test.link] for test in complete])
    assert laid.capacitance is not None
    matrix = laid.capacitance.matrix
    stray = STRAY * np.abs(matrix).max(axis=(1, 2))
    capacitance_matrix = frame.potentials[:, None] @ matrix @ frame.potentials.swapaxes(1, 2)[:, None]
    node = np.arange(capacitance_matrix.shape[-1])
    capacitance_matrix[..., node, node] += frame.present[:, None] * stray[:, None]
    return Circuits(
        laid=laid,
        tests=complete,
        frame=frame,
        branches=branches,
        resistance=np.stack(resistances),
        inductance=branches.seen(coupling.swapaxes(0, 1)),
        leads=np.stack(leads),
        short_impedance=np.asarray((number * short_of_bench)[..., None]),
        capacitance_matrix=capacitance_matrix,
        direct=_direct_states(laid, complete),
    )


def _direct_states(laid: LaidOut, tests: Sequence[BenchTest]) -> DirectState:
    """State of the core in each test, (T, B) each; all tests have a direct current or none has."""
    if not tests[0].bias > 0:
        return AT_REST
    states = [direct_state(laid, test) for test in tests]
    shape = (laid.count,)
    return DirectState(
        np.stack([np.broadcast_to(state.flux_density, shape) for state in states]),
        np.stack([np.broadcast_to(state.reversible, shape) for state in states]),
    )
