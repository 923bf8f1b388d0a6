"""A test on a design → the number that the meter displays."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ..alike import alike, taken
from ..capacitance import BuildCapacitance, build_capacitance
from ..copper import lead_resistance, section_resistance
from ..cores import air_reluctance, bias_point, permeance
from ..design import (
    BenchTest,
    ComplexArray,
    Design,
    FloatArray,
    Member,
    Port,
    Real,
    builds,
)
from ..errors import DesignError, Fault, nearest
from ..field import lead_inductance
from .displayed_number import at_terminals, displayed
from .labelled_readings import labelled
from .network import Wiring, wire
from .nodal_analysis import Solution, solve, solve_around_core
from .operating_point import OperatingPoint, Response, held_level, settle
from .resonance import LOWEST, first_resonance
from .section_coupling import Sections, balanced_ampere_turns, section_interaction, sections_of

DC_TEMPERATURE = 20.0
"""Temperature (°C) of a resistance test that gives none: resistances are stated at 20 °C."""
_NODE_RATIO = 2.0
"""Of neighbouring frequencies at which a search for a resonance computes the conductors anew."""


@dataclass(frozen=True)
class BenchPrediction:
    """What the bench shows, T tests of B builds (the leading axis is absent for a single build).

    values : (B, T) displayed quantities in SI. impedance : (B, T) complex impedance (Ω) at the driven
    terminals with the leads where the meter sees them. flux_density : (B, T) peak core flux density (T)
    that the level makes. level : (B, T) RMS voltage (V) that the source leaves across the part; 0 for direct
    current. bias_flux_density : (B, T) core flux density (T) of the test's direct current.
    """

    values: FloatArray
    impedance: ComplexArray
    flux_density: FloatArray
    level: FloatArray
    bias_flux_density: FloatArray


def readings(design: Design) -> FloatArray:
    """One displayed value per test, SI: (T,), or (B, T) for a design that holds B builds.

    An array; printed, that of one build shows its tests and units (``printing``).
    """
    return labelled(predict_bench(design).values, design.tests)


def predict_bench(design: Design) -> BenchPrediction:
    """Readings of all tests of ``design`` with the impedances and flux densities behind them.

    Raises BuildError where the layout is outside the models. Radians for phase. See the modules ``layout``,
    ``section_coupling``, ``magnetizing``, ``resistance``, ``network`` for the equations.
    """
    sections = sections_of(design)
    alternating = any(test.measure != "resistance" for test in design.tests)
    found = predict_laid(sections, _charges(sections) if alternating else None)
    if builds(design) is not None:
        return found
    return BenchPrediction(
        found.values[0], found.impedance[0], found.flux_density[0], found.level[0], found.bias_flux_density[0]
    )


def _charges(sections: Sections) -> BuildCapacitance:
    """The capacitance of all builds: once for those that are alike in layers and insulation."""
    design, layers, count = sections.design, sections.layers, len(sections.leg_share)
    insulated = (design.build, design.bobbin, design.windings)
    same = alike(count, layers, insulated, design.model.capacitance, design.model.permittivity)
    if same is None:
        return build_capacitance(design, layers)
    rows, of_build = same
    few = build_capacitance(taken(design, rows, count), taken(layers, rows, count))
    return replace(few, matrix=few.matrix[of_build] if len(few.matrix) == len(rows) else few.matrix)


def predict_laid(sections: Sections, charge: BuildCapacitance | None) -> BenchPrediction:
    """``predict_bench`` of builds that are laid and whose capacitance is known (None: all tests are of direct
    current); always with the axis of builds."""
    design = sections.design
    tests = design.tests
    # a direct current has no field
    fielded = [place for place, test in enumerate(tests) if test.measure != "resistance"]
    coupling = np.zeros((len(sections.layout.top), len(tests), 1, 1))
    if fielded:
        carrying = tuple(_current_test(design, tests[place]) for place in fielded)
        found = section_interaction(sections, balanced_ampere_turns(sections, carrying))
        coupling = np.zeros((len(found), len(tests), *found.shape[-2:]))
        coupling[:, fielded] = found
    alternating: dict[tuple[float, float], ComplexArray] = {}
    air = air_reluctance(design.core)
    count = len(sections.layout.top)
    values, impedances = np.zeros((count, len(tests))), np.zeros((count, len(tests)), complex)
    fluxes, levels, biases = (np.zeros((count, len(tests))) for _ in range(3))
    for place, test in enumerate(tests):
        asked = partial(
            _one_test, sections, coupling=coupling[:, place], alternating=alternating, air=air, charge=charge
        )
        if test.measure == "resonance":
            value, impedance, point = _resonance(asked, sections, test)
        else:
            value, impedance, point = asked(test)
        values[:, place], impedances[:, place] = value, impedance
        fluxes[:, place], levels[:, place] = point.flux_density, point.level
        biases[:, place] = point.bias_flux_density
    return BenchPrediction(values, impedances, fluxes, levels, biases)


def impedance_sweep(
    design: Design, test: BenchTest, frequencies: Sequence[float], *, exact: bool = True
) -> ComplexArray:
    """Impedance (Ω) at the terminals of ``test`` at each of F ``frequencies`` (Hz), (F,) or (B, F); of a
    ratio, V(drive)/V(sense).

    As ``predict_bench`` for as many tests, but with layout, fields and charges computed once. exact : False
    for many builds: what alternating current adds then lies between its values at a grid of frequencies, as
    in a search for a resonance (0.5 % of |Z| at worst on the samples). Raises BuildError where the layout is
    outside the models.
    """
    design = replace(design, tests=(replace(test, frequency=float(frequencies[0])),))
    sections = sections_of(design)
    flows = balanced_ampere_turns(sections, design.tests)
    coupling = section_interaction(sections, flows)[:, 0]
    air, charge = air_reluctance(design.core), build_capacitance(design, sections.layers)
    stated = stated_temperature(design, test)
    nodes: dict[int, ComplexArray] = {}
    columns = []
    for frequency in map(float, frequencies):
        excess = {}
        if not exact:
            excess[frequency, stated] = _excess_between(sections, frequency, stated, nodes)
        here = replace(test, frequency=frequency)
        value, found, _ = _one_test(sections, here, coupling, excess, air, charge)
        if test.sense and test.measure == "ratio":
            turned = replace(here, measure="phase")
            found = value * np.exp(-1j * _one_test(sections, turned, coupling, excess, air, charge)[0])
        columns.append(found)
    swept = np.stack(columns, axis=-1)
    return swept if builds(design) is not None else swept[0]


def _current_test(design: Design, test: BenchTest) -> BenchTest:
    """The test whose distribution of current decides the field: between windings shorted on themselves,
    which carry next to none, that of the first winding."""
    if test.measure == "capacitance" and test.sense:
        return replace(test, drive=(Member(design.windings[0].name),), sense=(), short=())
    return test


def _resonance(
    asked: Callable[..., tuple[FloatArray, ComplexArray, OperatingPoint]], sections: Sections, test: BenchTest
) -> tuple[FloatArray, ComplexArray, OperatingPoint]:
    """The resonance at the driven terminals (HIGHEST where there is none up to it); impedance and operating
    point at the middle of all builds' ones. Far below it what alternating current adds is left out."""
    stated = stated_temperature(sections.design, test)
    nodes: dict[int, ComplexArray] = {}

    def at(frequency: float, *, far: bool = False) -> tuple[FloatArray, ComplexArray, OperatingPoint]:
        nothing = np.zeros((1, 1, 1), complex)
        excess = nothing if far else _excess_between(sections, frequency, stated, nodes)
        here = replace(test, measure="inductance", frequency=frequency)
        return asked(here, alternating={(frequency, stated): excess})

    found = first_resonance(lambda frequency: at(frequency)[1], lambda frequency: at(frequency, far=True)[1])
    _, there, point = at(float(np.median(found)))
    return found, there, point


def _excess_between(
    sections: Sections, frequency: float, stated: float, nodes: dict[int, ComplexArray]
) -> ComplexArray:
    """What alternating current adds at ``frequency``, between the values at two of a grid of frequencies
    (``nodes``, filled on demand): resistance by the root of the frequency (skin effect), reactance by the
    frequency, each straight in its logarithm."""
    place = math.log(frequency / LOWEST) / math.log(_NODE_RATIO)
    lower = math.floor(place)
    real: list[FloatArray] = []
    imaginary: list[FloatArray] = []
    for number in (lower, lower + 1):
        node = LOWEST * _NODE_RATIO**number
        if number not in nodes:
            design = sections.design
            temperature = stated + np.asarray(design.bench.temperature_error)
            nodes[number] = sections.excess(node, temperature)
        real.append(np.asarray(nodes[number].real * math.sqrt(frequency / node), float))
        imaginary.append(np.asarray(nodes[number].imag * (frequency / node), float))
    part = place - lower
    return np.asarray(
        real[0] * (1 - part) + real[1] * part + 1j * (imaginary[0] * (1 - part) + imaginary[1] * part)
    )


def stated_temperature(design: Design, test: BenchTest) -> float:
    """Temperature (°C) at which a test is stated: its own, else 20 °C for resistance, else the bench's."""
    if test.temperature is not None:
        return test.temperature
    return DC_TEMPERATURE if test.measure == "resistance" else design.bench.temperature


def _one_test(
    sections: Sections,
    test: BenchTest,
    coupling: FloatArray,
    alternating: dict[tuple[float, float], ComplexArray],
    air: FloatArray,
    charge: BuildCapacitance | None,
) -> tuple[FloatArray, ComplexArray, OperatingPoint]:
    """Displayed value, impedance (B,) and operating point of one test; ``air``: the core's air reluctance,
    ``charge`` the build's capacitance."""
    design, layout = sections.design, sections.layout
    bench = design.bench
    stated = stated_temperature(design, test)
    temperature = stated + np.asarray(bench.temperature_error)
    frequency = 0.0 if test.measure == "resistance" else float(test.frequency or 0.0)
    omega = 2 * math.pi * frequency
    charges = charge if omega > 0 else None
    wiring = wire(design, layout.branches, test, None if charges is None else charges.labels)
    susceptance = None if charges is None else omega * charges.matrix
    count = len(layout.top)
    to_branch = sections.to_branch[:, wiring.branches]
    resistance = np.einsum(
        "bkn,bn->bk", (to_branch != 0).astype(float), section_resistance(design, layout, temperature)
    )
    passive = resistance[:, :, None] * np.eye(len(wiring.branches)) + 0j
    if omega > 0:
        key = (frequency, stated)
        if key not in alternating:
            alternating[key] = sections.excess(frequency, temperature)
        per_turn = alternating[key] + 1j * omega * coupling
        passive = passive + to_branch @ per_turn @ np.swapaxes(to_branch, 1, 2)
    turns = np.sum(to_branch, axis=-1)
    leads = np.zeros((count, len(wiring.lead_windings)), complex)
    for column, name in enumerate(wiring.lead_windings):
        leads[:, column] = lead_resistance(design, name, temperature) + 1j * omega * lead_inductance(
            design, name
        )
    link = np.broadcast_to(
        test.link * np.asarray(bench.short_resistance + 1j * omega * np.asarray(bench.short_inductance)),
        (count,),
    )

    none = np.zeros(count)
    if omega == 0:
        answer = solve(wiring, passive, leads, link)
        value, impedance = displayed(design, test, answer, omega)
        return value, impedance, OperatingPoint(none, none, none, none + 1.0)
    bias, reversible = none, none + 1.0
    if test.bias > 0:
        ampere_turns = test.bias * _ampere_turns_of_direct_current(sections, test, temperature)
        bias, reversible = bias_point(design.core, ampere_turns, temperature, air=air)

    def permeance_at(flux_density: FloatArray) -> ComplexArray:
        core = permeance(design.core, frequency, temperature, flux_density, reversible, air=air)
        core = core * np.asarray(design.model.inductance)
        return np.broadcast_to(core.real + 1j * core.imag * np.asarray(design.model.loss), (count,))

    without_core = solve_around_core(wiring, passive, leads, link, susceptance, turns)

    def respond(core: ComplexArray) -> Response:
        answer = without_core.with_core(1j * omega * core)
        flux = core * np.einsum("bk,bk->b", answer.currents, turns)
        return answer, at_terminals(design, test, answer, omega), flux

    area = np.broadcast_to(np.asarray(design.core.effective_area, float), (count,))
    (answer, _, _), flux_density = settle(bench, test, area, permeance_at, respond)
    value, impedance = displayed(design, test, answer, omega)
    level = held_level(bench, test.level * np.asarray(bench.level_scale), impedance)
    return value, impedance, OperatingPoint(level, flux_density, bias, reversible)


def _ampere_turns_of_direct_current(sections: Sections, test: BenchTest, temperature: Real) -> FloatArray:
    """(B,) ampere-turns around the core for one ampere of direct current into the driven port."""
    design, layout = sections.design, sections.layout
    wiring = wire(design, layout.branches, test)
    to_branch = sections.to_branch[:, wiring.branches]
    each = section_resistance(design, layout, temperature)
    resistance = np.einsum("bkn,bn->bk", (to_branch != 0).astype(float), each)
    count = len(layout.top)
    leads = np.zeros((count, len(wiring.lead_windings)), complex)
    for column, name in enumerate(wiring.lead_windings):
        leads[:, column] = lead_resistance(design, name, temperature)
    link = np.broadcast_to(np.asarray(design.bench.short_resistance) + 0j, (count,))
    direct = solve(wiring, resistance[:, :, None] * np.eye(len(wiring.branches)) + 0j, leads, link)
    return np.asarray(np.einsum("bk,bk->b", direct.currents.real, np.sum(to_branch, axis=-1)))


def inductance_matrix(design: Design) -> FloatArray:
    """Inductance matrix (H) of the windings in their order, (W, W) or (B, W, W): low frequency, no
    resistance.

    Field lengths are those of the first winding driven against all others, for the whole matrix.
    """
    sections = sections_of(design)
    first = design.windings[0].name
    tests = tuple(
        BenchTest(winding.name, "inductance", (Member(winding.name),), frequency=1.0)
        for winding in design.windings
    )
    flows = balanced_ampere_turns(sections, (replace(tests[0], drive=(Member(first),)),))
    coupling = section_interaction(sections, flows)[:, 0]
    columns = []
    for test in tests:
        row = [
            _ideal(sections, replace(test, sense=(Member(other.name),)), coupling).sense.imag
            for other in design.windings
        ]
        columns.append(np.stack(row, axis=-1))
    matrix = np.stack(columns, axis=-2)
    matrix = (matrix + np.swapaxes(matrix, -1, -2)) / 2
    return matrix if builds(design) is not None else matrix[0]


def leakage(design: Design, drive: str | Sequence[str], short: str | Sequence[str]) -> float | FloatArray:
    """Leakage inductance (H) at the terminals of ``drive`` with each of ``short`` ideally shorted; (B,) for
    B builds.

    drive, short : names of windings or joins; a list for drive is in series aiding, a leading "-" reverses
    one. Low frequency, no resistance. Raises DesignError for an unknown name.
    """
    test = BenchTest("leakage", "inductance", _port(design, drive), _port(design, short), frequency=1.0)
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
