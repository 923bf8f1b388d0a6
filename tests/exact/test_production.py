"""Spread and batches: variance shares, repeatability, tipping, many builds against one by one."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from statistics import NormalDist

import numpy as np
import pytest
from how_many import and_slow

from aswound.predict import load_design, parse_design, readings, spread
from aswound.predict.batch import predict_many, stack, structure
from aswound.predict.design import BenchTest, Design, FloatArray, Member, Real, Spread, TapeStep, WindStep
from aswound.predict.production import reading_errors
from aswound.predict.production.tolerances import parameters
from aswound.predict.winding.layout import check_fit, lay_out

pytestmark = pytest.mark.exact

SAMPLES = Path(__file__).parents[2] / "samples"
NAMES = ("flyback-24w", "bridge-300w", "gate-drive")


def sample(name: str) -> Design:
    return load_design(SAMPLES / f"{name}.toml")


@pytest.mark.parametrize("name", NAMES)
def test_shares_sum_to_one_and_are_sorted(name: str) -> None:
    result = spread(sample(name), 300)
    for drivers in result.drivers:
        shares = [driver.share for driver in drivers]
        assert sum(shares) == pytest.approx(1.0, abs=1e-12)
        assert shares == sorted(shares, reverse=True)


def test_resistance_scatters_as_its_parts() -> None:
    """ln R = ln ρ + ln l − 2 ln d: relative variances add, four times that of the diameter."""
    tolerances = Spread(
        wire=0.01, mean_turn=0.02, resistivity=0.015, temperature=0.0, breadth=0.0, enamel=0.0, bobbin=0.0
    )
    design = replace(sample("gate-drive"), tolerances=tolerances)
    result = spread(design, 20_000)
    place = [test.name for test in design.tests].index("R_D")
    expected = math.sqrt(4 * 0.01**2 + 0.02**2 + 0.015**2)
    relative = np.std(np.log(result.samples[:, place]))
    assert relative == pytest.approx(expected, rel=0.02)
    shares = {driver.parameter: driver.share for driver in result.drivers[place]}
    assert shares["wire D"] == pytest.approx(4 * 0.01**2 / expected**2, abs=0.03)
    assert shares["mean_turn"] == pytest.approx(0.02**2 / expected**2, abs=0.03)


def test_the_interval_holds_95_per_cent_of_other_builds() -> None:
    design = sample("flyback-24w")
    one, other = spread(design, 2000, 1), spread(design, 2000, 2)
    inside = np.mean((other.samples >= one.low) & (other.samples <= one.high), axis=0)
    assert np.all(np.abs(inside - 0.95) < 0.02)


def test_range_converges() -> None:
    """Percentiles of 500 and 8000 builds agree within the scatter of percentiles."""
    design = sample("gate-drive")
    few, many = spread(design, 500, 3), spread(design, 8000, 4)
    scale = many.standard_uncertainty
    assert np.all(np.abs(few.low - many.low) < 0.5 * scale)
    assert np.all(np.abs(few.high - many.high) < 0.5 * scale)


def test_same_seed_same_builds() -> None:
    design = sample("gate-drive")
    one, other = spread(design, 100, 5), spread(design, 100, 6)
    again = spread.__wrapped__(design, 100, 5)  # type: ignore[attr-defined]  # not the one remembered
    assert again is not one
    np.testing.assert_array_equal(one.samples, again.samples)
    assert one.drivers == again.drivers
    assert np.all(np.any(one.samples != other.samples, axis=0))


def test_origins_choose_what_varies() -> None:
    """Link (set-up) and model alone: only what the link is in moves with the one, no resistance with the
    other."""
    design = sample("flyback-24w")
    names = [test.name for test in design.tests]
    setup, model = spread(design, 200, origins=("setup",)), spread(design, 200, origins=("model",))
    moved = {name for name, width in zip(names, setup.high - setup.low, strict=True) if width > 0}
    assert moved == {"Lk_P", "Lk_S"}
    assert setup.drivers[names.index("Lk_S")][0].parameter == "shorting link"
    place = names.index("R_P")
    assert model.low[place] == model.high[place] == model.nominal[place]
    assert model.drivers[place] == ()
    assert model.high[names.index("Lk_P")] > 1.01 * model.low[names.index("Lk_P")]


ON_THE_EDGE = """
[core]
mu_i = 2000
[core.dimensions]
form = "round"
leg_diameter = "11 mm"
window_diameter = "27 mm"
length = "38 mm"
depth = "11 mm"
window_height = "22 mm"
back = "5 mm"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = { diameter = "0.8 mm", overall = "1.03 mm" }
[[winding]]
name = "S"
wire = { diameter = "0.8 mm", overall = "1.0 mm" }
[build]
steps = [{ wind = "P", turns = 19 }, { wind = "S", turns = 5 }]
[[test]]
name = "R_S"
measure = "resistance"
drive = "S"
"""
"""19 turns in a layer that holds hardly more."""


def test_a_nearly_full_layer_tips_in_as_many_builds_as_the_enamel_says() -> None:
    """19 turns fit into 20 mm up to an overall diameter of 20/(19 × 1.02) = 1.03199 mm.

    With 0.8 mm of copper the insulation may grow from 0.23 to 0.23199 mm: ln 1.00865 = 0.108 standard
    deviations of 8 %, so that 45.7 % of builds lay a second layer, on which S lies further out.
    """
    design = parse_design(ON_THE_EDGE)
    nothing = Spread(
        wire=0.0, breadth=0.0, mean_turn=0.0, resistivity=0.0, temperature=0.0, enamel=0.08, bobbin=0.0
    )
    number = 4000
    result = spread(replace(design, tolerances=nothing), number)
    limit = math.log((20 / (19 * 1.02) - 0.8) / 0.23) / math.sqrt(math.log1p(0.08**2))
    expected = 0.5 * math.erfc(limit / math.sqrt(2))
    # a second layer below S lengthens its turns of π × 11 mm + 2π × 2.53 mm by an eighth
    further = result.samples[:, 0] > 1.06 * result.nominal[0]
    scatter = math.sqrt(expected * (1 - expected) / number)
    assert np.mean(further) == pytest.approx(expected, abs=3.5 * scatter)
    # the range is of builds of one layer, up to the diameter that just fits; apart, of those of two: both on
    # a grid of equally probable insulations of P and S
    grid = np.array([NormalDist().inv_cdf((place + 0.5) / 1500) for place in range(1500)])
    step = math.sqrt(math.log1p(0.08**2))
    wire_p, wire_s = 0.8 + 0.23 * np.exp(step * grid), 0.8 + 0.2 * np.exp(step * grid)
    lone = wire_p <= 20 / (19 * 1.02)
    turns = [
        np.quantile(np.add.outer(11 + 2 * (1 + layers * own), wire_s), [0.025, 0.975])
        for layers, own in ((1, wire_p[lone]), (2, wire_p[~lone]))
    ]
    assert result.high[0] / result.low[0] == pytest.approx(turns[0][1] / turns[0][0], rel=4e-4)
    (apart,) = result.apart
    assert apart.high[0] / apart.low[0] == pytest.approx(turns[1][1] / turns[1][0], rel=1e-3)
    assert apart.low[0] / result.low[0] == pytest.approx(turns[1][0] / turns[0][0], rel=1e-3)


def test_a_layer_on_its_edge_makes_two_populations_and_says_so() -> None:
    """The design above, read for resistance and leakage: nothing lies between the groups, each has a range of
    its own, their sizes are those of the builds with one layer and with two, and a caution names the step."""
    tests = (
        BenchTest(name="R_S", measure="resistance", drive=(Member("S"),)),
        BenchTest(name="Lk", measure="inductance", drive=(Member("P"),), short=(Member("S"),), frequency=1e5),
    )
    nothing = Spread(
        wire=0.0, breadth=0.0, mean_turn=0.0, resistivity=0.0, temperature=0.0, bobbin=0.0, centring=0.0
    )
    design = replace(
        parse_design(ON_THE_EDGE), tests=tests, tolerances=replace(nothing, enamel=0.02, model_leakage=0.005)
    )
    result = spread(design, 3000)
    (tipped,) = result.tipped
    assert (tipped.step, tipped.winding, tipped.designed, tipped.layers) == (0, "P", 1, 2)
    assert 0.2 < tipped.share < 0.5
    assert result.cautions[0].startswith(f"In {100 * tipped.share:.2g} % of builds step 1 (P) needs 2 layers")
    (apart,) = result.apart
    assert result.share_as_designed == pytest.approx(1 - tipped.share, abs=1e-12)
    for place, column in enumerate(result.samples.T):
        ordered = np.sort(column)
        gap = int(np.argmax(np.diff(ordered)))
        below, above = ordered[: gap + 1], ordered[gap + 1 :]
        assert ordered[gap + 1] - ordered[gap] > 2 * max(np.std(below), np.std(above))
        assert min(len(below), len(above)) / len(column) == pytest.approx(
            min(tipped.share, 1 - tipped.share), abs=1e-12
        )
        ends = (result.low[place], result.high[place]), (apart.low[place], apart.high[place])
        for (low, high), group in zip(sorted(ends), (below, above), strict=True):
            assert np.mean((group >= low) & (group <= high)) == pytest.approx(0.95, abs=0.01)
            assert group[0] <= low < high <= group[-1]
        assert apart.outside[place]


def test_a_design_with_room_has_no_tipping_to_report() -> None:
    assert spread(sample("flyback-24w"), 300).tipped == ()


def test_few_builds_are_said_to_be_few() -> None:
    (caution,) = spread(sample("gate-drive"), 20).cautions
    assert caution.startswith("With 20 random builds the ends of a range are uncertain by ")


def with_many_tests(design: Design) -> Design:
    """Every winding driven, every other one shorted or sensed; leads on the bench."""
    tests = []
    ports = [(Member(winding.name),) for winding in design.windings]
    for number, drive in enumerate(ports):
        tests.append(BenchTest(name=f"L{number}", measure="inductance", drive=drive, frequency=1e4))
        tests.append(BenchTest(name=f"R{number}", measure="resistance", drive=drive))
        tests.append(BenchTest(name=f"Q{number}", measure="quality", drive=drive, frequency=1e4))
        for place, other in enumerate(ports):
            if place != number:
                pair = f"{number}{place}"
                tests.append(
                    BenchTest(name=f"Lk{pair}", measure="inductance", drive=drive, short=other, frequency=1e5)
                )
                tests.append(
                    BenchTest(
                        name=f"Rk{pair}", measure="ac_resistance", drive=drive, short=other, frequency=1e5
                    )
                )
                tests.append(
                    BenchTest(name=f"n{pair}", measure="ratio", drive=drive, sense=other, frequency=1e4)
                )
    bench = replace(design.bench, lead_inductance=20e-9, lead_resistance=1e-3)
    return replace(design, tests=tuple(tests), bench=bench)


def without_al() -> Design:
    """The gapped sample by its gap instead of its AL, with faces that leave a gap of their own, P's first
    section in two layers with insulation between them."""
    design = sample("flyback-24w")
    core = replace(design.core, al=None, al_tolerance=None, face_gap=3e-6)
    first, *others = design.build.steps
    assert isinstance(first, WindStep)
    build = replace(design.build, interlayer=0.03e-3, steps=(replace(first, layers=2), *others))
    check_fit(replace(design, build=build))
    return replace(design, core=core, build=build)


RICH = {name: with_many_tests(sample(name)) for name in NAMES}
RICH["flyback by its gap"] = with_many_tests(without_al())


@pytest.mark.parametrize(
    "name", ["gate-drive", "flyback by its gap", *and_slow("flyback-24w", "bridge-300w")]
)
def test_a_parameter_at_zero_changes_nothing_and_else_something(name: str) -> None:
    design = RICH[name]
    plain = readings(design)
    for parameter in parameters(design):
        np.testing.assert_allclose(
            readings(parameter.change(design, 0.0)), plain, rtol=1e-9, err_msg=parameter.name
        )
        if parameter.name in ("permittivity", "model_capacitance"):
            continue  # far below resonance next to nothing; their factors are checked below
        moved = readings(parameter.change(design, 2.0))
        assert np.max(np.abs(moved / plain - 1)) > 1e-4, parameter.name


def test_every_source_of_scatter_is_there() -> None:
    found = [parameter.name for parameter in parameters(RICH["flyback by its gap"])]
    core = ["mu_i", "gap", "face_gap", "core_area"]
    own = [f"{what} {name}" for name in ("P", "S", "AUX") for what in ("wire", "enamel", "centring")]
    shared = ["tape", "interlayer", "margin", "bobbin", "breadth"]
    shared += ["mean_turn", "resistivity", "temperature", "loss", "permittivity"]
    model = ["model_leakage", "model_inductance", "model_ac_resistance", "model_capacitance"]
    model += ["model_leg_share"]
    assert found == [*core, *own, *shared, *model, "shorting link", "leads"]
    ring = {parameter.name for parameter in parameters(RICH["gate-drive"])}
    assert not any(name.startswith(("centring", "breadth", "gap", "face_gap")) for name in ring)
    by_al = {parameter.name for parameter in parameters(RICH["flyback-24w"])}
    assert "al" in by_al
    assert not by_al & {*core, "model_inductance"}


def _tape(design: Design) -> TapeStep:
    return next(step for step in design.build.steps if isinstance(step, TapeStep))


STATED = Spread(
    mu_i=0.11,
    gap=0.021,
    face_gap=0.23,
    core_area=0.013,
    wire=0.007,
    enamel=0.06,
    tape=0.04,
    interlayer=0.09,
    breadth=0.006,
    centring=0.15e-3,
    mean_turn=0.017,
    resistivity=0.008,
    temperature=1.5,
    model_leakage=0.05,
    model_ac_resistance=0.2,
    model_inductance=0.045,
)
SIZES: dict[str, tuple[float, Callable[[Design], Real]]] = {
    "mu_i": (0.11, lambda d: d.core.material.initial_permeability),
    "gap": (0.021, lambda d: d.core.gap),
    "face_gap": (0.23, lambda d: d.core.face_gap),
    "core_area": (0.013, lambda d: d.core.effective_area),
    "wire S": (0.007, lambda d: d.windings[1].wire.diameter),
    "enamel S": (0.06, lambda d: d.windings[1].wire.overall - d.windings[1].wire.diameter),
    "tape": (0.04, lambda d: _tape(d).thickness),
    "interlayer": (0.09, lambda d: d.build.interlayer),
    "breadth": (0.006, lambda d: d.core.dimensions.window_height - 2 * d.bobbin.flange),  # type: ignore[union-attr]
    "mean_turn": (0.017, lambda d: d.build.mean_turn_scale),
    "resistivity": (0.008, lambda d: d.model.resistivity),
    "model_leakage": (0.05, lambda d: d.model.leakage),
    "model_ac_resistance": (0.2, lambda d: d.model.ac_resistance),
    "model_inductance": (0.045, lambda d: d.model.inductance),
    "model_capacitance": (0.1, lambda d: d.model.capacitance),
    "permittivity": (0.1, lambda d: d.model.permittivity),
    "loss": (0.3, lambda d: d.model.loss),
    "bobbin": (0.025, lambda d: d.bobbin.wall),
    "shorting link": (0.25, lambda d: d.bench.short_inductance),
    "leads": (0.25, lambda d: d.bench.lead_resistance),
}
"""Parameter → its relative standard deviation as stated above (link, leads: half of ±50 %), and its field."""


@pytest.mark.parametrize("name", SIZES)
def test_a_parameter_scatters_as_its_entry_states(name: str) -> None:
    """Log-normal: relative standard deviation as stated and median 1, by 4001 quantiles of the normal."""
    design = replace(RICH["flyback by its gap"], tolerances=STATED)
    (parameter,) = (one for one in parameters(design) if one.name == name)
    deviation, field = SIZES[name]
    quantiles = np.array([NormalDist().inv_cdf((place + 0.5) / 4001) for place in range(4001)])
    factor = np.asarray(field(parameter.change(design, quantiles))) / field(design)
    assert np.std(factor) / np.mean(factor) == pytest.approx(deviation, rel=0.01)
    assert np.median(factor) == pytest.approx(1.0, abs=1e-9)
    assert np.all(np.diff(factor) > 0)


def _deviation(design: Design, name: str, field: Callable[[Design], Real]) -> float:
    """Relative standard deviation of a log-normal parameter, by what one unit of it does."""
    (parameter,) = (one for one in parameters(design) if one.name == name)
    step = math.log(float(field(parameter.change(design, 1.0)) / field(design)))
    return math.copysign(math.sqrt(math.expm1(step**2)), step)


@pytest.mark.parametrize(
    ("gap", "tolerance", "stated", "expected"),
    [
        (1.5e-3, None, None, 0.05 / 2),
        (0.0, None, None, 0.25 / 2),
        (0.5e-3, 0.03, None, 0.03 / 2),
        (0.0, 0.20, None, 0.20 / 2),
        (0.5e-3, 0.03, 0.04, 0.04),
    ],
)
def test_al_scatters_as_its_tolerance_says(
    gap: float, tolerance: float | None, stated: float | None, expected: float
) -> None:
    """A bound holds two standard deviations: ±5 % gapped, ±25 % ungapped where neither file nor [spread]
    says."""
    design = RICH["flyback-24w"]
    core = replace(design.core, gap=gap, al_tolerance=tolerance)
    design = replace(design, core=core, tolerances=Spread(al=stated))
    assert _deviation(design, "al", lambda d: d.core.al_scale) == pytest.approx(expected)


def test_bounds_of_gap_and_material_hold_two_standard_deviations() -> None:
    design = RICH["flyback by its gap"]
    core = replace(design.core, gap_tolerance=0.08, material=replace(design.core.material, tolerance=0.3))
    design = replace(design, core=core)
    assert _deviation(design, "gap", lambda d: d.core.gap) == pytest.approx(0.04)
    permeability = _deviation(design, "mu_i", lambda d: d.core.material.initial_permeability)
    assert permeability == pytest.approx(0.15)


def test_wire_scatters_by_half_of_its_standards_bound() -> None:
    """±4.2 µm of 0.315 mm, the insulation's build being another matter."""
    design = RICH["flyback by its gap"]
    expected = 4.205e-6 / 0.315e-3 / 2
    assert _deviation(design, "wire P", lambda d: d.windings[0].wire.diameter) == pytest.approx(expected)
    (parameter,) = (one for one in parameters(design) if one.name == "wire P")
    wires = design.windings[0].wire, parameter.change(design, 1.5).windings[0].wire
    before, after = (wire.overall - wire.diameter for wire in wires)
    assert after == pytest.approx(before)


def test_places_and_temperatures_scatter_in_metres_and_kelvins() -> None:
    """``centring`` and ``temperature`` are absolute; all steps of one winding shift together, no other's."""
    design = replace(RICH["flyback by its gap"], tolerances=STATED)
    by_name = {parameter.name: parameter for parameter in parameters(design)}
    warm = by_name["temperature"].change(design, -2.0)
    assert warm.bench.temperature_error == pytest.approx(-3.0)
    steps = by_name["centring P"].change(design, 2.0).build.steps
    shifts = [(step.winding, float(step.shift)) for step in steps if isinstance(step, WindStep)]
    assert shifts == [("P", pytest.approx(0.3e-3)), ("S", 0), ("P", pytest.approx(0.3e-3)), ("AUX", 0)]


def test_designs_of_several_structures_come_back_in_their_order() -> None:
    """Series and parallel sections by turns, more than one portion of builds."""
    design = sample("flyback-24w")
    split = tuple(
        replace(winding, sections="parallel") if winding.name == "P" else winding
        for winding in design.windings
    )
    other = replace(design, windings=split)
    assert structure(design) != structure(other)
    (change,) = (one.change for one in parameters(design) if one.name == "mean_turn")
    z = np.linspace(-2, 2, 301)
    changed = [change(other if place % 2 else design, float(value)) for place, value in enumerate(z)]
    many = predict_many([*changed, *changed], readings)
    assert many.shape == (602, len(design.tests))
    for place in (0, 1, 150, 299, 300, 301, 302, 601):
        np.testing.assert_allclose(many[place], readings(changed[place % 301]), rtol=1e-7)


@pytest.mark.parametrize("name", ["flyback-24w", *and_slow("bridge-300w", "gate-drive")])
def test_many_builds_are_their_builds_one_by_one(name: str) -> None:
    """Stacked designs of one structure, layers tipping included, against single predictions."""
    design = sample(name)
    changed = [design]
    for parameter in parameters(design):
        changed += [parameter.change(design, 3.0), parameter.change(design, -3.0)]
    assert len({structure(one) for one in changed}) == 1
    together = readings(stack(changed))
    alone = np.stack([readings(one) for one in changed])
    np.testing.assert_allclose(together, alone, rtol=1e-7)
    np.testing.assert_allclose(predict_many(changed, readings), alone, rtol=1e-7)


# --- the range against builds drawn by other means -------------------------------------------------


def _drawn(seed: int, number: int) -> Callable[[float], FloatArray]:
    """An independent generator: log-normal factors of a relative deviation, from another bit stream."""
    generator = np.random.Generator(np.random.MT19937(seed))
    return lambda sd: np.asarray(generator.lognormal(0.0, math.sqrt(math.log1p(sd**2)), number))


def _true_builds(design: Design, number: int, seed: int) -> Design:
    """``number`` true parts of the design by the tolerances ``STATED``, written out anew, each read with the
    error of the models."""
    draw, normal = _drawn(seed, number), np.random.Generator(np.random.MT19937(seed + 1)).standard_normal
    tape, breadth = draw(0.04), draw(0.006)
    windings = []
    for winding in design.windings:
        wire = winding.wire
        bare = wire.diameter * draw(0.007)
        insulation = (wire.overall - wire.diameter) * draw(0.06)
        windings.append(replace(winding, wire=replace(wire, diameter=bare, overall=bare + insulation)))
    shift = {winding.name: 0.15e-3 * normal(number) for winding in design.windings}
    steps = tuple(
        replace(step, thickness=step.thickness * tape)
        if isinstance(step, TapeStep)
        else replace(step, shift=shift[step.winding])
        if isinstance(step, WindStep)
        else step
        for step in design.build.steps
    )
    core = design.core
    material = replace(core.material, initial_permeability=core.material.initial_permeability * draw(0.11))
    core = replace(
        core,
        material=material,
        gap=core.gap * draw(0.021),
        face_gap=core.face_gap * draw(0.23),
        effective_area=core.effective_area * draw(0.013),
    )
    height = core.dimensions.window_height  # type: ignore[union-attr]
    flange = (height - (height - 2 * design.bobbin.flange) * breadth) / 2
    build = replace(
        design.build,
        steps=steps,
        interlayer=design.build.interlayer * draw(0.09),
        margin=design.build.margin + 0.08e-3 * normal(number),
        mean_turn_scale=draw(0.017),
    )
    model = replace(
        design.model,
        leakage=draw(0.05),
        inductance=draw(0.045),
        ac_resistance=draw(0.2),
        resistivity=draw(0.008),
        loss=draw(0.25),
        leg_share=0.15 * normal(number),
    )
    bench = replace(design.bench, temperature_error=1.5 * normal(number))
    bobbin = replace(design.bobbin, flange=flange, wall=design.bobbin.wall * draw(0.03))
    return replace(
        design, core=core, windings=tuple(windings), build=build, bobbin=bobbin, model=model, bench=bench
    )


@pytest.mark.slow
def test_95_per_cent_ranges_hold_95_per_cent_of_true_parts() -> None:
    """Builds drawn by another generator, every tolerance written out again, the models' errors included."""
    design = replace(without_al(), tolerances=replace(STATED, margin=0.08e-3, bobbin=0.03, loss=0.25))
    design = replace(
        design,
        tests=(*design.tests, BenchTest(name="Q", measure="quality", drive=(Member("P"),), frequency=1e4)),
    )
    result = spread(design, 3000)
    portions = [_true_builds(design, 500, 77 + 2 * portion) for portion in range(6)]
    true = np.concatenate([np.asarray(readings(portion)) for portion in portions])
    errors = np.array([error.effect for error in reading_errors(design)])
    true = true * np.exp(np.random.default_rng(78).standard_normal((3000, len(errors))) @ errors)
    inside = np.mean((true >= result.low) & (true <= result.high), axis=0)
    # 3000 parts know 95 % to 0.4 % (one standard deviation)
    assert np.all(np.abs(inside - 0.95) < 0.015), dict(
        zip([test.name for test in design.tests], inside, strict=True)
    )


def test_what_the_model_says_of_alternating_current_is_its_default_tolerance() -> None:
    """Where [spread] is silent: at least 10 % beside a gap, whatever the tests, else by the windings."""
    gapped = replace(RICH["flyback by its gap"], tolerances=replace(STATED, model_ac_resistance=None))
    shorted = tuple(test for test in gapped.tests if test.short or test.measure == "resistance")
    for design, stated in (
        (gapped, 0.10),
        (replace(gapped, tests=shorted), 0.10),
        (replace(gapped, core=replace(gapped.core, gap=0.0)), 0.05),
    ):
        (parameter,) = (one for one in parameters(design) if one.name == "model_ac_resistance")
        z = np.array([-1.0, 1.0])
        low, high = np.asarray(parameter.change(design, z).model.ac_resistance)
        assert math.log(high / low) / 2 == pytest.approx(math.sqrt(math.log(1 + stated**2)), rel=1e-3)


def test_the_breadth_of_tracks_is_artwork() -> None:
    """Four tracks that fill their stated breadth exactly stay in one layer, whatever the room does."""
    design = parse_design(
        """
[core]
shape = "E 32/6/20"
material = "MnZn 3000"
[bobbin]
wall = "0.7 mm"
flange = "0.35 mm"
[[winding]]
name = "P"
wire = { trace = "105 um", width = "1.4 mm", spacing = "0.4 mm" }
[build]
direction = "up"
steps = [{ wind = "P", turns = 4, breadth = "7.2 mm" }]
"""
    )
    (narrower,) = [item for item in parameters(design) if item.name == "breadth"]
    assert np.count_nonzero(lay_out(narrower.change(design, -3.0)).turns) == 1
