"""From a test on a design to the number that the meter displays."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import astuple, dataclass, field, fields, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from ..capacitance import BuildCapacitance, build_capacitance, shared_capacitance
from ..cores import air_reluctance, permeance
from ..design import BenchTest, ComplexArray, Design, FloatArray, IntArray, Member, Port, builds
from ..errors import DesignError, Fault, nearest
from ..field import lead_inductance
from ..remembered import by_value
from .bench_network import LaidOut, read_direct, stated_temperature
from .circuits_together import Circuits, alternating_circuits, groups_of
from .displayed_number import labelled
from .leakage_statement import own_factors
from .network import Wiring, wire
from .nodal_analysis import Solution, solve
from .operating_point import OperatingPoint
from .resonance import HIGHEST, LOWEST, first_resonance, grid_frequency, grid_interval, resonance_intervals
from .section_coupling import Sections, balanced_ampere_turns, section_interaction, sections_of

_NODE_RATIO = 2.0
"""Ratio of neighbouring frequencies at which a search for a resonance computes the conductors anew. Measured
on 26 designs: at 1.42 no resonance moves by more than 0.005 %, at 4 by 0.02 %."""
_MOST_MOVES = 3
"""Times that a search is repeated because the resonance lies between other such frequencies than the rough
one (rarely more than once)."""


@dataclass(frozen=True)
class BenchPrediction:
    """What the bench shows: T tests of B builds; the leading axis is absent for a single build.

    Attributes
    ----------
    values : (B, T) array, displayed quantities, SI
    impedance : (B, T) array of complex
        Impedance at the driven terminals, with the leads where the meter sees them, ohm.
    flux_density : (B, T) array, peak flux density of the core from the test level, T
    level : (B, T) array, RMS voltage that the source leaves across the part, V; 0 for direct current
    bias_flux_density : (B, T) array, flux density of the core from the direct current of the test, T
    """

    values: FloatArray
    impedance: ComplexArray
    flux_density: FloatArray
    level: FloatArray
    bias_flux_density: FloatArray


def readings(design: Design) -> FloatArray:
    """The displayed value of every test.

    Printed, the array of a single build shows its tests and units (``displayed_number``).

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.

    Returns
    -------
    (T,) or (B, T) array
        Displayed values, SI.

    Examples
    --------
    >>> from aswound.predict import load_design, readings
    >>> predicted = readings(load_design("samples/flyback-24w.toml"))
    >>> predicted.shape
    (8,)
    >>> f"{predicted[0]:.1e} H"
    '5.9e-04 H'
    """
    return labelled(np.array(predict_bench(design).values), design.tests)


@by_value(64)
def predict_bench(design: Design) -> BenchPrediction:
    """Readings of all tests of a design, with the impedances and flux densities behind them.

    Equations: modules ``winding.layout``, ``section_coupling``, ``cores.magnetizing``, ``copper.resistance``
    and ``network``.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.

    Returns
    -------
    BenchPrediction
        Readings, SI (phase: rad).

    Raises
    ------
    BuildError
        Where the layout is outside the models.

    Examples
    --------
    >>> from aswound.predict import load_design, predict_bench
    >>> predicted = predict_bench(load_design("samples/flyback-24w.toml"))
    >>> predicted.values.shape, predicted.impedance.shape
    ((8,), (8,))
    """
    sections = sections_of(design)
    alternating = any(test.measure != "resistance" for test in design.tests)
    prediction = predict_laid(sections, shared_capacitance(design, sections.layers) if alternating else None)
    if builds(design) is not None:
        return prediction
    return BenchPrediction(*(getattr(prediction, item.name)[0] for item in fields(prediction)))


def predict_laid(sections: Sections, capacitance: BuildCapacitance | None) -> BenchPrediction:
    """``predict_bench`` for builds that are laid out and whose capacitance is known.

    Parameters
    ----------
    sections : Sections, layout and fields of the builds
    capacitance : BuildCapacitance or None, of the builds; None: all tests use direct current

    Returns
    -------
    BenchPrediction, readings, always with the axis of builds, SI
    """
    laid = LaidOut(sections, capacitance, air_reluctance(sections.design.core))
    tests = sections.design.tests
    coupling = _couplings(sections, tests)
    shape = (laid.count, len(tests))
    values, impedances = np.zeros(shape), np.zeros(shape, complex)
    fluxes, levels, biases = (np.zeros(shape) for _ in range(3))

    def keep(index: int | list[int], answer: _Answer) -> None:
        value, impedance, point = answer
        values[:, index], impedances[:, index] = value.T, impedance.T
        fluxes[:, index], levels[:, index] = point.flux_density.T, point.level.T
        biases[:, index] = point.bias_flux_density.T

    swept, searches = [], {}
    for index, test in enumerate(tests):
        if test.measure == "resonance":
            searches[index] = _search(laid, test, coupling[:, index])
        elif test.angular_frequency == 0:
            values[:, index], impedances[:, index] = read_direct(laid, test)
        else:
            swept.append(index)
    points = _points_of(laid.design, (tests[index] for index in swept))
    for search in searches.values():
        points += search.between.points()
    if points:
        laid.excesses(points)
    for index, search in searches.items():
        keep(index, search.answer())
    for group in groups_of(laid, [tests[index] for index in swept]):
        indices = [swept[number] for number in group]
        keep(indices, _alternating(laid, [tests[index] for index in indices], coupling[:, indices]))
    if sections.design.model.own:
        values = values * own_factors(sections.design)
    return BenchPrediction(values, impedances, fluxes, levels, biases)


_Answer: TypeAlias = tuple[FloatArray, ComplexArray, OperatingPoint]
"""Value (SI), impedance (Ω) and operating point of tests, of one shape."""


def _alternating(laid: LaidOut, tests: Sequence[BenchTest], coupling: FloatArray) -> _Answer:
    """Readings of tests of one group of circuits, (T, B) each, for their ``coupling`` (B, T, n, n)."""
    circuits = alternating_circuits(laid, tests, coupling)
    points = _points_of(laid.design, tests)
    return circuits.read(np.array([frequency for frequency, _ in points]), circuits.excesses(points))


def _points_of(design: Design, tests: Iterable[BenchTest]) -> list[tuple[float, float]]:
    """Frequency (Hz) and temperature at which each test is stated (°C)."""
    return [(test.alternating_frequency, stated_temperature(design, test)) for test in tests]


def _couplings(sections: Sections, tests: Sequence[BenchTest]) -> FloatArray:
    """(B, T, n, n) interaction (H per turn²) that each test sees; zeros (B, T, 1, 1) where all tests use
    direct current, which needs no field."""
    fielded = [index for index, test in enumerate(tests) if test.measure != "resistance"]
    if not fielded:
        return np.zeros((len(sections.layout.top), len(tests), 1, 1))
    carrying = tuple(_current_test(sections.design, tests[index]) for index in fielded)
    interaction = section_interaction(sections, balanced_ampere_turns(sections, carrying))
    coupling = np.zeros((len(interaction), len(tests), *interaction.shape[-2:]))
    coupling[:, fielded] = interaction
    return coupling


def impedance_sweep(
    design: Design, test: BenchTest, frequencies: Sequence[float], *, exact: bool = True
) -> ComplexArray:
    """Impedance at the terminals of a test at many frequencies.

    The same as ``predict_bench`` for as many tests, but layout, fields and capacitance are computed only
    once.

    Parameters
    ----------
    design : Design of one or B builds
    test : BenchTest, test; its frequency does not matter
    frequencies : sequence of float, the F frequencies, Hz
    exact : bool
        Compute the effect of alternating current at every frequency. False (for many builds): interpolate it
        on a grid of frequencies, as in a search for a resonance (0.5 % of |Z| at worst on the samples).

    Returns
    -------
    (F,) or (B, F) array of complex, impedance, ohm; for a ratio V(drive)/V(sense), dimensionless

    Raises
    ------
    BuildError
        Where the layout is outside the models.
    """
    design = replace(design, tests=(replace(test, frequency=float(frequencies[0])),))
    sections = sections_of(design)
    flows = balanced_ampere_turns(sections, design.tests)
    coupling = section_interaction(sections, flows)[:, 0]
    capacitance = build_capacitance(design, sections.layers)
    laid = LaidOut(sections, capacitance, air_reluctance(design.core))
    stated = stated_temperature(design, test)
    many = [replace(test, frequency=frequency) for frequency in map(float, frequencies)]
    coupling = np.broadcast_to(coupling[:, None], (len(coupling), len(many), *coupling.shape[1:]))
    circuits = alternating_circuits(laid, many, coupling)
    points = [(frequency, stated) for frequency in map(float, frequencies)]
    excess = (
        circuits.excesses(points)
        if exact
        else _ExcessBetween(circuits, stated).at(np.array(frequencies, float)[:, None])
    )
    value, swept, _ = circuits.read(np.array(frequencies, float), excess)
    if test.sense and test.measure == "ratio":
        phases = alternating_circuits(laid, [replace(same, measure="phase") for same in many], coupling)
        swept = value * np.exp(-1j * phases.read(np.array(frequencies, float), excess)[0])
    return swept.T if builds(design) is not None else swept[:, 0]


def _current_test(design: Design, test: BenchTest) -> BenchTest:
    """The test whose distribution of current determines the field. Between windings shorted on themselves,
    which carry almost none, it is that of the first winding."""
    if test.measure == "capacitance" and test.sense:
        return replace(test, drive=(Member(design.windings[0].name),), sense=(), short=())
    return test


@dataclass(frozen=True)
class _Search:
    """A search for the resonance at the driven terminals (HIGHEST if there is none below it).

    Where it is to be found, to some per cent, says the circuit without what alternating current adds:
    ``rough``, an interval for each build (``resonance_intervals``).
    """

    circuits: Circuits
    rough: IntArray
    between: _ExcessBetween

    def answer(self) -> _Answer:
        """The resonance; impedance and operating point at the median resonance of the builds."""
        between, rough = self.between, self.rough
        resonance = _found(self.circuits, rough, between)
        for _ in range(_MOST_MOVES):
            moved = between.moved(resonance)
            if not np.any(moved):
                break
            between = replace(between, around=np.where(moved, resonance, between.around))
            rough = np.where(moved, grid_interval(resonance), rough)
            resonance = np.where(moved, _found(self.circuits, rough, between), resonance)
        middle = np.array([[np.median(resonance)]])
        _, impedance, point = self.circuits.read(middle, between.at(middle))
        return resonance, impedance[0], OperatingPoint(*(each[0] for each in astuple(point)))


def _found(circuits: Circuits, rough: IntArray, between: _ExcessBetween) -> FloatArray:
    """(B,) the resonance (Hz) from a rough one on, with what alternating current adds."""
    return first_resonance(lambda at: _impedance(circuits, at, between.at(at)), rough)


def _search(laid: LaidOut, test: BenchTest, coupling: FloatArray) -> _Search:
    """The search for the resonance of a test with ``coupling`` (B, n, n)."""
    circuits = alternating_circuits(laid, [replace(test, measure="inductance")], coupling[:, None])
    rough = resonance_intervals(circuits.without_eddies())
    around = np.where(rough < 0, math.nan, grid_frequency(rough.astype(float) + 0.5))
    return _Search(circuits, rough, _ExcessBetween(circuits, stated_temperature(laid.design, test), around))


def _impedance(circuits: Circuits, frequency: FloatArray, excess: ComplexArray) -> ComplexArray:
    """(F, B) impedance of the circuit of one test at frequencies (F, 1) or (F, B)."""
    return circuits.repeated(len(frequency)).read(frequency, excess)[1]


@dataclass(frozen=True)
class _ExcessBetween:
    """What alternating current adds in a test stated at ``stated`` (°C), at any frequency.

    It is interpolated between two frequencies of a grid, linearly in the logarithm of the frequency, after
    scaling resistance by the root of the frequency (skin effect) and reactance by the frequency. Within a
    factor of _NODE_RATIO of ``around`` (Hz; (B,), NaN: none) these are the two frequencies around that.
    """

    conductors: Circuits
    stated: float
    around: FloatArray = field(default_factory=lambda: np.array(math.nan))
    _nodes: dict[float, ComplexArray] = field(default_factory=dict)

    def points(self) -> list[tuple[float, float]]:
        """The two frequencies (Hz) around ``around`` for all builds, with the temperature."""
        lower = np.floor(_position(self.around[np.isfinite(self.around)])).tolist()
        return [(_node(number), self.stated) for number in _with_next(lower)]

    def moved(self, frequency: FloatArray) -> NDArray[np.bool_]:
        """(B,) whether ``frequency`` (B,) (Hz) lies between other frequencies of the grid than ``around``."""
        away = np.floor(_position(frequency)) != np.floor(_position(self.around))
        return np.asarray(away & np.isfinite(self.around) & (frequency < HIGHEST))

    def at(self, frequency: FloatArray) -> ComplexArray:
        """(F, B, b, b) the added impedance (Ω) at ``frequency`` (F, 1) or (F, B) (Hz)."""
        position = _position(frequency)
        lower = np.floor(position)
        middle = _position(self.around)
        lower = np.where(np.abs(position - middle) < 1, np.floor(middle), lower)
        numbers = _with_next(lower.ravel().tolist())
        new = [number for number in numbers if number not in self._nodes]
        if new:
            found = self.conductors.excesses([(_node(number), self.stated) for number in new])
            self._nodes.update(zip(new, found, strict=True))
        nodes = np.stack([self._nodes[number] for number in numbers])
        below = np.searchsorted(numbers, lower)
        build = np.arange(nodes.shape[1])
        part = (position - lower)[..., None, None]
        low, high = (
            _scaled(nodes[below + step, build], (frequency / _node(lower + step))[..., None, None])
            for step in (0, 1)
        )
        return np.asarray(low * (1 - part) + high * part)


def _with_next(numbers: Sequence[float]) -> list[float]:
    """Whole numbers and the one after each, in order, each once."""
    return sorted({number + step for number in numbers for step in (0, 1)})


def _position(frequency: FloatArray) -> FloatArray:
    """Place of a frequency (Hz) on the grid of ``_ExcessBetween``."""
    return np.asarray(np.log(frequency / LOWEST) / math.log(_NODE_RATIO))


def _node(number: Any) -> Any:
    """Frequency (Hz) of a point of the grid of ``_ExcessBetween``."""
    return LOWEST * _NODE_RATIO**number


def _scaled(added: ComplexArray, ratio: FloatArray) -> ComplexArray:
    """An added impedance, scaled to a frequency that is ``ratio`` times that for which it holds."""
    return np.asarray(added.real * np.sqrt(ratio) + 1j * added.imag * ratio)


def inductance_matrix(design: Design) -> FloatArray:
    """Inductance matrix of the W windings in their order, at low frequency and without resistance.

    The field lengths of the whole matrix are those of the first winding driven against all others.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.

    Returns
    -------
    (W, W) or (B, W, W) array
        Inductances, H.

    Examples
    --------
    >>> from aswound.predict import inductance_matrix, load_design
    >>> matrix = inductance_matrix(load_design("samples/flyback-24w.toml"))  # P, S, AUX
    >>> matrix.shape
    (3, 3)
    >>> bool(matrix[0, 1] ** 2 < matrix[0, 0] * matrix[1, 1])  # they are coupled by less than one
    True
    """
    sections = sections_of(design)
    first = design.windings[0].name
    tests = tuple(
        BenchTest(name=winding.name, measure="inductance", drive=(Member(winding.name),), frequency=1.0)
        for winding in design.windings
    )
    flows = balanced_ampere_turns(sections, (replace(tests[0], drive=(Member(first),)),))
    coupling = section_interaction(sections, flows)[:, 0]
    columns = []
    for test in tests:
        row = [
            _ideal(sections, replace(test, sense=(Member(sensed.name),)), coupling).sense.imag
            for sensed in design.windings
        ]
        columns.append(np.stack(row, axis=-1))
    matrix = np.stack(columns, axis=-2)
    matrix = (matrix + np.swapaxes(matrix, -1, -2)) / 2
    return matrix if builds(design) is not None else matrix[0]


def leakage(design: Design, drive: str | Sequence[str], short: str | Sequence[str]) -> float | FloatArray:
    """Leakage inductance at the terminals of windings with others ideally shorted.

    At low frequency and without resistance.

    Parameters
    ----------
    design : Design
        Design, with one build or B builds.
    drive : str or sequence of str
        Winding or join that is driven; a list is in series aiding, a leading "-" reverses one.
    short : str or sequence of str
        Windings or joins that are shorted.

    Returns
    -------
    float or (B,) array
        Leakage inductance, H.

    Raises
    ------
    DesignError
        For an unknown name.

    Examples
    --------
    >>> from aswound.predict import leakage, load_design
    >>> design = load_design("samples/flyback-24w.toml")
    >>> f"{1e6 * leakage(design, 'P', ['S']):.1f} µH"
    '3.2 µH'
    >>> leakage(design, "P", ["S", "AUX"]) < leakage(design, "P", "S")
    True
    """
    test = BenchTest(
        name="leakage",
        measure="inductance",
        drive=_port(design, drive),
        short=_port(design, short),
        frequency=1.0,
    )
    sections = sections_of(design)
    coupling = section_interaction(sections, balanced_ampere_turns(sections, (test,)))[:, 0]
    result = np.asarray(_ideal(sections, test, coupling).drive.imag, float)
    return result if builds(design) is not None else float(result[0])


def _port(design: Design, names: str | Sequence[str]) -> Port:
    listed: Iterable[str] = [names] if isinstance(names, str) else names
    known = [winding.name for winding in design.windings] + [join.name for join in design.joins]
    port = tuple(Member(name.removeprefix("-"), name.startswith("-")) for name in listed)
    for member in port:
        if member.name not in known:
            raise DesignError(
                Fault("winding", repr(member.name), "one of " + ", ".join(known), nearest(member.name, known))
            )
    return port


def _ideal(sections: Sections, test: BenchTest, coupling: FloatArray) -> Solution:
    """The test without resistance, at ω = 1: imaginary voltages are inductances."""
    design, layout = sections.design, sections.layout
    wiring: Wiring = wire(design, layout.branches, test)
    to_branch = sections.to_branch[:, wiring.branches]
    turns = np.sum(to_branch, axis=-1)
    count = len(layout.top)
    core = np.broadcast_to(permeance(design.core).real * np.asarray(design.model.inductance), (count,))
    inductance = to_branch @ coupling @ np.swapaxes(to_branch, 1, 2)
    inductance = inductance + core[:, None, None] * turns[:, :, None] * turns[:, None, :]
    leads = np.zeros((count, len(wiring.lead_windings)), complex)
    for column, name in enumerate(wiring.lead_windings):
        leads[:, column] = 1j * np.asarray(lead_inductance(design, name))
    return solve(wiring, 1j * inductance, leads, np.zeros(count, complex))
