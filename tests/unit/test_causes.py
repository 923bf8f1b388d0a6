"""The catalogue of causes: valid places, variants that can be predicted and that change something,
identifiers of the contract."""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from how_many import and_slow
from planar_board import two_layers

from aswound.compare import explain
from aswound.compare.causes import CATALOGUE, Cause
from aswound.compare.causes.cause import (
    Variant,
    wind_steps,
    with_step,
)
from aswound.compare.causes.copper import GAUGE_STEP
from aswound.compare.diagnosis.conclusion import HARDLY
from aswound.compare.diagnosis.pairs import _few
from aswound.compare.diagnosis.probabilities import not_above
from aswound.compare.hypotheses import inquire
from aswound.compare.hypotheses.forward_runs import forward
from aswound.compare.readings.file import Reading, parse_readings
from aswound.predict import load_design, parse_design, readings
from aswound.predict.batch import predict_many
from aswound.predict.circuit.leakage_statement import arc_errors
from aswound.predict.circuit.section_coupling import sections_of
from aswound.predict.copper.resistance import conductor_area
from aswound.predict.cores.magnetizing import core_inductance_factor
from aswound.predict.design import (
    BenchTest,
    Count,
    Design,
    FloatArray,
    Member,
    Real,
    SpacerStep,
    TapeStep,
    ToroidDimensions,
    WindStep,
    Wire,
    first_build,
)
from aswound.predict.designfile import design_like
from aswound.predict.production import spread
from aswound.predict.winding import lay_out, layout_of

ROOT = Path(__file__).parents[2]
DESIGNS = {
    name: load_design(ROOT / "samples" / f"{name}.toml")
    for name in ("flyback-24w", "bridge-300w", "gate-drive")
}
SPLIT_BOBBIN = """
[core]
shape = "ETD 29/16/10"
material = "MnZn 2300"
[bobbin]
wall = "1.2 mm"
flange = "1.3 mm"
chambers = 2
partition = "1 mm"
[[winding]]
name = "P"
wire = { diameter = "0.30 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.50 mm", grade = 2 }
[build]
steps = [
  { shield = "0.05 mm", width = "8 mm", name = "E", tied = "core", chamber = 1 },
  { tape = "0.06 mm", wraps = 2, chamber = 1 },
  { wind = "P", turns = 40, chamber = 1 },
  { wind = "S", turns = 12, chamber = 2 },
]
"""
DESIGNS["split bobbin"] = parse_design(SPLIT_BOBBIN)
ON_THE_EDGE = """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
gap = "0.25 mm"
[bobbin]
wall = "1.1 mm"
flange = "1.0 mm"
[[winding]]
name = "P"
wire = { diameter = "0.40 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "1.115 mm", grade = 2, in_hand = 3 }
[build]
steps = [{ wind = "P", turns = 18 }, { tape = "0.06 mm", wraps = 3 }, { wind = "S", turns = 6 }]
"""
DESIGNS["on the edge"] = parse_design(ON_THE_EDGE)
FOIL = """
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1.4 mm"
[[winding]]
name = "P"
wire = { diameter = "0.355 mm", grade = 2 }
[[winding]]
name = "RESET"
wire = { diameter = "0.20 mm", grade = 2 }
circuit = "P"
[[winding]]
name = "S"
wire = { foil = "0.1 mm", width = "14 mm" }
[build]
margin = "3 mm"
steps = [
  { wind = "P", turns = 44, layers = 2, with = ["RESET"] },
  { tape = "0.06 mm", wraps = 3 },
  { wind = "S", turns = 6, interlayer = "0.05 mm" },
]
[[test]]
name = "R_S"
measure = "resistance"
drive = "S"
"""
DESIGNS["foil"] = parse_design(FOIL)
LITZ = """
[core]
shape = "PQ 32/30"
material = "MnZn 2300"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = { litz_strands = 60, strand = "0.1 mm", overall = "1.15 mm" }
[[winding]]
name = "S"
wire = { litz_strands = 100, strand = "0.1 mm", overall = "1.5 mm", in_hand = 2 }
[build]
steps = [
  { wind = "P", turns = 16 },
  { spacer = "1 mm", permittivity = 3 },
  { wind = "S", turns = 3, breadth = "10 mm", from_end = "6 mm" },
]
"""
DESIGNS["litz"] = parse_design(LITZ)
BOARD = two_layers("2.0 mm", 2)
DESIGNS["board"] = parse_design(BOARD)
PAIR_ON_A_RING = """
[core]
shape = "R 16/9.6/6.3"
material = "MnZn 5000"
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "A"
wire = { diameter = "0.25 mm", grade = 2 }
[[winding]]
name = "B"
wire = { diameter = "0.25 mm", grade = 2 }
[[winding]]
name = "G"
wire = { diameter = "0.25 mm", grade = "triple" }
[build]
steps = [{ wind = "A", turns = 14, with = ["B"] }, { wind = "G", turns = 16 }]
"""
DESIGNS["pair on a ring"] = parse_design(PAIR_ON_A_RING)
CLASSES = {
    "turns": {"turns", "shorted-turn"},
    "core": {
        *("gap", "ungapped", "unseated", "material", "mixed-set", "cracked", "bias", "wrong-core"),
        "wrong-al",
    },
    "layout": {
        *(
            "order",
            "insulation",
            "bunched",
            "layer",
            "crowded",
            "offset",
            "margin",
            "scramble",
            "chamber",
            "style",
        ),
    },
    "copper": {"wire", "reel", "strand", "joint", "conductor"},
    "wiring": {"reversed", "misjoined", "lead-out"},
    "process": {"dielectric", "shield", "stress", "metal-near"},
    "design": {"mean-turn", "effective-breadth", "al-basis"},
    "bench": {
        *("short-link", "leads", "display", "frequency", "level", "temperature", "two-wire", "wrong-short"),
    },
}


def test_identifiers_are_those_of_the_contract() -> None:
    found: dict[str, set[str]] = {}
    for cause in CATALOGUE:
        found.setdefault(cause.kind, set()).add(cause.name)
    assert found.keys() == CLASSES.keys()
    assert all(names <= found[kind] for kind, names in CLASSES.items())


def place_is_known(design: Design, place: str) -> bool:
    names = {winding.name for winding in design.windings} | {"core", "bench"}
    steps = {f"step {number + 1}" for number in range(len(design.build.steps))}
    return place in names | steps or set(place.split("+")) <= {winding.name for winding in design.windings}


def _with_many_tests(design: Design) -> Design:
    """The design with every winding driven, and every other one shorted or sensed: no change stays unseen."""
    tests = []
    ports = [(Member(winding.name),) for winding in design.windings]
    for number, drive in enumerate(ports):
        tests.append(BenchTest(name=f"L{number}", measure="inductance", drive=drive, frequency=1e4))
        tests.append(BenchTest(name=f"R{number}", measure="resistance", drive=drive))
        for place, other in enumerate(ports):
            if place != number:
                tests.append(
                    BenchTest(
                        name=f"Lk{number}{place}",
                        measure="inductance",
                        drive=drive,
                        short=other,
                        frequency=1e5,
                    )
                )
            if place > number:
                pair = f"{number}{place}"
                tests.append(
                    BenchTest(
                        name=f"Rk{pair}", measure="ac_resistance", drive=drive, short=other, frequency=1e5
                    )
                )
                tests.append(
                    BenchTest(name=f"n{pair}", measure="ratio", drive=drive, sense=other, frequency=1e4)
                )
                tests.append(
                    BenchTest(name=f"M{pair}", measure="mutual", drive=drive, sense=other, frequency=1e4)
                )
                tests.append(
                    BenchTest(name=f"C{pair}", measure="capacitance", drive=drive, sense=other, frequency=1e5)
                )
        tests.append(BenchTest(name=f"Q{number}", measure="quality", drive=drive, frequency=1e4))
        if len(ports) == 2:  # the search costs six times what all other tests of three windings do
            tests.append(BenchTest(name=f"f{number}", measure="resonance", drive=drive))
    return replace(design, tests=tuple(tests))


RICH = {name: _with_many_tests(design) for name, design in DESIGNS.items()}
QUICK = ("flyback-24w", "foil")
"""Designs whose every cause is tried with every run; the others with --slow and in .ci/run."""
CASES = [
    pytest.param(
        name,
        cause,
        place,
        id=f"{name}-{cause.name}-{place}",
        marks=[] if name in QUICK else pytest.mark.slow,
    )
    for name, design in RICH.items()
    for cause in CATALOGUE
    for place in cause.places(design)
]


@functools.cache
def read_of_every_variant(name: str) -> dict[tuple[str, str], FloatArray]:
    """Readings of a rich design's variants by (cause, place), predicted in one batch."""
    design = RICH[name]
    places = [(cause, place) for cause in CATALOGUE for place in cause.places(design)]
    found = [cause.variants(design, place) for cause, place in places]
    rows = iter(predict_many([variant.design for variants in found for variant in variants], readings))
    return {
        (cause.name, place): np.array([next(rows) for _ in variants])
        for (cause, place), variants in zip(places, found, strict=True)
    }


@pytest.mark.parametrize(("name", "cause", "place"), CASES)
def test_every_variant_can_be_read_and_seen(name: str, cause: Cause, place: str) -> None:
    """Amounts rise, readings are finite, and each variant alone moves some reading by 1 part in 10 000 (a
    loop of lead-outs hardly shows beside the leakage of many turns)."""
    design = RICH[name]
    assert place_is_known(design, place)
    variants = cause.variants(design, place)
    assert variants
    amounts = [variant.amount for variant in variants if variant.amount is not None]
    assert amounts == sorted(amounts)
    assert len(amounts) in (0, len(variants))
    plain = readings(design)
    moved = read_of_every_variant(name)[cause.name, place]
    assert np.all(np.isfinite(moved))
    for variant, row in zip(variants, moved, strict=True):
        assert variant.weight > 0
        assert variant.title
        if name == "pair on a ring" and variant.title in (
            "A was shorted instead of B",
            "B was shorted instead of A",
        ):
            assert np.max(np.abs(row / plain - 1)) < 1e-12, "turn beside turn, the two read alike"
        else:
            assert np.max(np.abs(row / plain - 1)) > 1e-4, variant.title


@pytest.mark.parametrize("cause", CATALOGUE, ids=lambda cause: cause.name)
def test_texts_name_their_place_and_known_causes(cause: Cause) -> None:
    assert cause.weight > 0
    for text in (cause.confirm, cause.remedy):
        assert text
        assert "{" not in text.format(where="step 3")
    assert set(cause.confusable) <= {other.name for other in CATALOGUE} | {"bad-reading"}
    assert (cause.title is not None) == cause.continuous


def _turns(design: Design, place: str) -> list[float]:
    """Turns of each section of a winding; of all together where they are in series."""
    steps = [design.build.steps[number] for number in wind_steps(design, place)]
    turns = [
        float(step.turns)
        + float(dict(zip((step.winding, *step.companions), step.miscount, strict=False)).get(place, 0))
        for step in steps
        if isinstance(step, WindStep)
    ]
    return turns if design.winding(place).sections == "parallel" else [sum(turns)]


def _wraps(design: Design, place: str) -> list[float]:
    step = design.build.steps[int(place.removeprefix("step ")) - 1]
    if isinstance(step, SpacerStep):
        return [first_build(step.thickness)]
    assert isinstance(step, TapeStep)
    return [float(step.wraps)]


def _covered(design: Design, place: str) -> list[float]:
    steps = [design.build.steps[number] for number in wind_steps(design, place)]
    return [float(step.covered) for step in steps if isinstance(step, WindStep)]


def _of_steps(design: Design, place: str, name: str) -> list[float]:
    return [getattr(design.build.steps[number], name) for number in wind_steps(design, place)]


def _breadth(design: Design) -> float:
    assert not isinstance(design.core.dimensions, ToroidDimensions)
    return design.core.dimensions.window_height - 2 * first_build(design.bobbin.flange)


def _ring_turns(design: Design, place: str) -> list[float]:
    """Turns whose copper lies in closed rings, or in a winding that every alternating test shorts."""
    area = first_build(conductor_area(design.winding(place).wire)) / design.winding(place).wire.in_hand
    closed = [first_build(ring.thickness) * first_build(ring.width) for ring in design.shields if ring.closed]
    loops = [winding.wire for winding in design.windings if winding.name == "(shorted turn)"]
    return [(sum(closed) + sum(first_build(conductor_area(wire)) for wire in loops)) / area]


def _covered_part(design: Design, place: str) -> list[float]:
    """Part of the circumference."""
    sectors = _of_steps(design, place, "sector")
    return [1.0 if sector is None else sector / math.tau for sector in sectors]


def layers_of(design: Design, place: str) -> float:
    """Layers of a winding that is wound in one step."""
    layout = lay_out(design)
    own = [index for index, section in enumerate(layout.sections) if section.winding == place]
    return float(np.sum(np.asarray(layout.turns)[0, own] > 0))


def _size(wire: Wire) -> float:
    """Bare diameter of a wire; thickness of foil and tracks."""
    return first_build(wire.overall if wire.flat else wire.diameter)


def _conducting(wire: Wire) -> float:
    """Wires in hand that conduct; strands of a single litz."""
    return first_build(wire.strands if wire.litz and wire.in_hand == 1 else wire.in_hand - wire.open_strands)


MEASURED: dict[str, tuple[str, Callable[[Design, str], Sequence[Real | Count]]]] = {
    "turns": ("difference", _turns),
    "layer": ("difference", lambda design, place: [layers_of(design, place)]),
    "cracked": ("difference", lambda design, _: [2 * first_build(design.core.face_gap)]),
    "bias": ("ratio", lambda design, _: [design.core.material.initial_permeability]),
    "stress": ("ratio", lambda design, _: [design.core.material.initial_permeability]),
    "offset": ("difference", lambda design, place: _of_steps(design, place, "shift")),
    "margin": ("difference", lambda design, _: [design.build.margin]),
    "joint": ("difference", lambda design, place: [design.winding(place).joint_resistance]),
    "lead-out": ("difference", lambda design, place: [design.winding(place).loop_inductance]),
    "dielectric": ("ratio", lambda design, _: [design.model.permittivity]),
    "mean-turn": ("ratio", lambda design, _: [design.build.mean_turn_scale]),
    "effective-breadth": ("ratio", lambda design, _: [_breadth(design)]),
    "al-basis": ("ratio", lambda design, _: [design.core.al_scale]),
    "shorted-turn": ("difference", _ring_turns),
    "frequency": ("ratio", lambda design, _: [design.tests[0].frequency or 0.0]),
    "level": ("ratio", lambda design, _: [design.bench.level_scale]),
    "gap": ("ratio", lambda design, _: [design.core.gap]),
    "unseated": ("difference", lambda design, _: [design.core.face_gap]),
    "material": ("ratio", lambda design, _: [design.core.material.initial_permeability]),
    "insulation": ("difference", _wraps),
    "bunched": ("ratio", _covered),
    "wire": ("ratio", lambda design, place: [_size(design.winding(place).wire)]),
    "reel": ("ratio", lambda design, place: [_size(design.winding(one).wire) for one in place.split("+")]),
    "strand": ("difference", lambda design, place: [-_conducting(design.winding(place).wire)]),
    "short-link": ("difference", lambda design, _: [design.bench.short_inductance]),
    "leads": ("difference", lambda design, _: [design.bench.lead_inductance]),
    "temperature": ("difference", lambda design, _: [design.bench.temperature_error]),
    "two-wire": ("difference", lambda design, _: [design.bench.direct_lead_resistance]),
    "wrong-al": ("ratio", lambda design, _: [core_inductance_factor(design.core)]),
    "crowded": ("of a turn", _covered_part),
}
"""Cause → whether its amount is built − designed, built ÷ designed or what was built, and of what (contract
5.1 and 9)."""


@pytest.mark.parametrize("name", RICH)
def test_an_amount_is_what_was_built_against_what_was_designed(name: str) -> None:
    design = RICH[name]
    for cause, place in [(each, place) for each in CATALOGUE for place in each.places(design)]:
        for variant in cause.variants(design, place):
            if cause.name not in MEASURED:
                assert variant.amount is None, variant.title
                continue
            kind, measure = MEASURED[cause.name]
            designed, built = measure(design, place), measure(variant.design, place)
            assert len(built) == len(designed) >= 1, variant.title
            for before, after in zip(designed, built, strict=True):
                found = {"difference": after - before, "of a turn": after}.get(kind) or after / before
                assert found == pytest.approx(variant.amount, rel=1e-9, abs=1e-15), variant.title


def test_link_and_leads_bring_the_resistance_of_their_wire() -> None:
    """0.1 mΩ per nH of a shorting link, 0.08 mΩ per nH of leads (contract 5.1)."""
    design = DESIGNS["flyback-24w"]
    causes = {cause.name: cause for cause in CATALOGUE}
    for name, part, ohm_per_henry in (("short-link", "short", 1e5), ("leads", "lead", 0.8e5)):
        for variant in causes[name].variants(design, "bench"):
            before, after = (getattr(one.bench, f"{part}_resistance") for one in (design, variant.design))
            assert variant.amount is not None
            assert after - before == pytest.approx(variant.amount * ohm_per_henry, rel=1e-9)


def _titles(name: str, design: str, place: str | None = None) -> list[str]:
    """What is said of a cause at a place of a design, or at all of its places."""
    found = (cause for cause in CATALOGUE if cause.name == name)
    at = [(cause, where) for cause in found for where in cause.places(DESIGNS[design])]
    return [
        variant.title
        for cause, where in at
        if place in (None, where)
        for variant in cause.variants(DESIGNS[design], where)
    ]


def test_what_the_trade_gets_wrong_on_rings_boards_and_litz() -> None:
    """Each was missing, so that a part with it was called something else: the meter's display, a warm part, a
    reading of unknown kind."""
    orders = _titles("order", "pair on a ring")
    assert "A and B were wound one on the other, not together turn by turn" in orders
    assert "B and A were wound one on the other, not together turn by turn" in orders
    assert "the sections were wound in the order G A instead of A G" in orders
    assert _titles("strand", "litz", "P")[0] == "2 of the 60 strands of P do not conduct"
    assert _titles("strand", "litz", "S") == ["1 of the 2 wires in hand of S does not conduct"]
    assert "the tracks of P are of thinner copper (0.035 mm instead of 0.07 mm)" in _titles("wire", "board")
    together = "the tracks of P and S are both of thinner copper (0.035 mm instead of 0.07 mm)"
    assert together in _titles("reel", "board")
    assert "step 2 (spacer) is 0.80 mm thick instead of 0.40 mm" in _titles("insulation", "board")
    assert "step 2 (spacer) is missing" in _titles("insulation", "litz")


def test_a_narrow_winding_may_lie_at_the_flange() -> None:
    """S, 10 mm of 19.3 mm and 6 mm from one flange: 6 mm and 3.3 mm of room. A third of the window's height,
    7.1 mm, is the most that was asked before; its copper then meets the yoke."""
    titles = _titles("offset", "litz", "S")
    amounts = [float(title.split()[4]) for title in titles]
    assert len(titles) > 4
    assert max(amounts) == pytest.approx(7.0)
    narrow = DESIGNS["litz"]
    step = narrow.build.steps[2]
    assert isinstance(step, WindStep)
    moved = with_step(narrow, 2, breadth=3e-3, from_end=9e-3)
    (cause,) = (cause for cause in CATALOGUE if cause.name == "offset")
    found = [variant.amount for variant in cause.variants(moved, "S")]
    assert found[0] == pytest.approx(-9e-3, abs=0.5e-3)
    assert found[-1] == pytest.approx(7.3e-3, abs=0.5e-3)


def test_sectors_that_are_exchanged_are_the_same_part() -> None:
    text = PAIR_ON_A_RING.replace('turns = 14, with = ["B"]', 'turns = 14, sector = "170 deg"').replace(
        '{ wind = "G", turns = 16 }', '{ wind = "B", turns = 14, sector = "170 deg", from_angle = "180 deg" }'
    )
    text = text.replace('[[winding]]\nname = "G"\nwire = { diameter = "0.25 mm", grade = "triple" }\n', "")
    order = next(cause for cause in CATALOGUE if cause.name == "order")
    assert not order.places(parse_design(text))


def test_every_cause_applies_to_some_sample() -> None:
    designs = (*DESIGNS.values(), parse_design(design_like("mains")))
    for cause in CATALOGUE:
        assert any(cause.places(design) for design in designs), cause.name


def test_a_pair_reads_alike_whichever_of_the_two_misses_a_turn() -> None:
    """Symmetry: leakage with both shorted is the same whether one or the other ends a turn early."""
    text = FOIL[: FOIL.index("[[test]]")].replace('"0.355 mm"', '"0.20 mm"')
    design = parse_design(
        text
        + '[[test]]\nname = "Lk"\nmeasure = "inductance"\ndrive = "S"\nshort = ["P", "RESET"]\n'
        + 'frequency = "100 kHz"\n'
    )
    first, second = (float(readings(with_step(design, 0, miscount=each))[0]) for each in ((-1, 0), (0, -1)))
    assert first == pytest.approx(second, rel=2e-3)


def test_a_shorted_turn_is_no_screen_between_windings() -> None:
    """Capacitance between windings follows what faces what: turns shorted on themselves hide nothing, and
    what is left of the winding faces the other one as before."""
    tests = (
        BenchTest(name="C", measure="capacitance", drive=(Member("P"),), sense=(Member("S"),), frequency=1e5),
    )
    design = replace(parse_design(ON_THE_EDGE), tests=tests)
    drawn = float(readings(design)[0])
    for winding in "PS":
        for variant in _placed("shorted-turn", design)[winding].variants(design, winding):
            assert 0.8 * drawn < float(readings(variant.design)[0]) < drawn


def test_a_title_names_all_that_a_change_moves() -> None:
    """P in two steps, AUX beside it in the first alone: its last section alone is miscounted by itself, both
    lie wrong together."""
    text = FOIL.replace("RESET", "AUX").replace("turns = 44, layers = 2,", "turns = 22,")
    text = text.replace("  { tape", '  { wind = "P", turns = 22 },\n  { tape', 1)
    design = parse_design(text)
    told = [variant.title for variant in _placed("turns", design)["P"].variants(design, "P")]
    assert told[0] == "P has about 14 turns too few"
    assert "P has 2 turns too few" in told
    told = [variant.title for variant in _placed("turns", design)["AUX"].variants(design, "AUX")]
    assert told[0] == "AUX (with P) has 7 turns too few"
    assert "AUX (with P) has 2 turns too few" in told
    told = _placed("bunched", design)["P"].variants(design, "P")[0].title
    assert told.startswith("P (with AUX) covers only")


GAPPED_RING = """
[core]
shape = "R 25/15/10"
material = "MnZn 2300"
gap = "0.5 mm"
gap_angle = "90 deg"
[bobbin]
wall = "0.3 mm"
[[winding]]
name = "S"
wire = { diameter = "0.5 mm", grade = 1 }
[[winding]]
name = "ONE"
wire = { diameter = "0.5 mm", grade = 1 }
[build]
steps = [{ wind = "S", turns = 20 }, { wind = "ONE", turns = 1 }]
"""


def test_turns_crowd_where_there_are_several_and_a_gap_has_its_place() -> None:
    """One turn is where it is; beside a gap nobody placed there is no model."""
    assert list(_placed("crowded", parse_design(GAPPED_RING))) == ["S"]
    unplaced = GAPPED_RING.replace('gap_angle = "90 deg"\n', "")
    assert not _placed("crowded", parse_design(unplaced))


def test_laminations_are_sheets_not_halves() -> None:
    design = parse_design(design_like("mains"))
    titles = [variant.title for variant in _placed("unseated", design)["core"].variants(design, "core")]
    assert all(title.startswith("the sheets of the stack are ") for title in titles)
    ferrite = DESIGNS["flyback-24w"]
    titles = [variant.title for variant in _placed("unseated", ferrite)["core"].variants(ferrite, "core")]
    assert all(title.startswith("the core halves are ") for title in titles)
    assert not _placed("cracked", design), "laminations do not crack"
    assert _placed("cracked", ferrite)


def test_windings_on_legs_of_their_own_have_no_order() -> None:
    """One winding on each leg of a U core: the legs exchanged are the same part."""
    wound = "".join(
        f'[[winding]]\nname = "{name}"\nwire = {{ diameter = "0.3 mm", grade = 2 }}\n' for name in "PS"
    )
    text = (
        '[core]\nshape = "U 15/11/6"\nmaterial = "MnZn 2300"\n[bobbin]\nwall = "0.8 mm"\nflange = "1 mm"\n'
        f"{wound}[build]\nsteps = [\n"
        '{ wind = "P", turns = 40, leg = 1 },\n{ wind = "S", turns = 20, leg = 2 },\n]\n'
    )
    assert not _placed("order", parse_design(text))
    assert _placed("order", DESIGNS["flyback-24w"])


def test_ratios_written_the_wrong_way_round_are_one_slip() -> None:
    """Sensed over driven voltage in every ratio of the part: one mistake at the bench, and no other part."""
    design = DESIGNS["flyback-24w"]
    drawn = dict(zip([test.name for test in design.tests], readings(design).tolist(), strict=True))
    rows = [f"X,L_P,{drawn['L_P']} H", f"X,n,{1 / drawn['n']}", f"X,n_AUX,{1 / drawn['n_AUX']}"]
    (diagnosis,) = explain(design, parse_readings("\n".join(["sample,test,reading", *rows]), design))
    best = diagnosis.causes[0]
    assert (best.cause, best.where) == ("bad-reading", "n")
    assert best.title == "n, n_AUX were written the wrong way round (1 over the ratio)"
    assert best.probability > 0.95
    assert [row.score for row in best.readings] == pytest.approx([0.0] * 3, abs=0.1)
    (single,) = explain(design, parse_readings("\n".join(["sample,test,reading", *rows[:2]]), design))
    assert single.causes[0].title == "n was written the wrong way round (1 over the ratio)"


SLIPS = [("L_P", "609 mH"), ("R_P", "5.62 ohm"), ("n", "75.0"), ("Lk_P", "3.7 nH")]


@pytest.mark.parametrize(("test", "reading"), SLIPS)
def test_a_slip_of_unit_or_decade_is_a_bad_reading(test: str, reading: str) -> None:
    rows = (ROOT / "samples" / "flyback-24w.csv").read_text(encoding="utf-8").splitlines()
    sound = [row for row in rows if row.startswith(("sample", "A1,"))]
    text = "\n".join(f"A1,{test},{reading}" if row.startswith(f"A1,{test},") else row for row in sound)
    (diagnosis,) = explain(DESIGNS["flyback-24w"], parse_readings(text, DESIGNS["flyback-24w"]))
    best = diagnosis.causes[0]
    assert (best.cause, best.where) == ("bad-reading", test)
    assert best.probability > 0.8


def test_exchanged_rows_are_a_bad_reading() -> None:
    design = DESIGNS["flyback-24w"]
    rows = (ROOT / "samples" / "flyback-24w.csv").read_text(encoding="utf-8").splitlines()
    sound = [row for row in rows if row.startswith(("sample", "A1,"))]
    swapped = {"A1,n,": "A1,n_AUX,", "A1,n_AUX,": "A1,n,"}
    text = []
    for row in sound:
        start = next((old for old in swapped if row.startswith(old)), None)
        text.append(swapped[start] + row[len(start) :] if start else row)
    (diagnosis,) = explain(design, parse_readings("\n".join(text), design))
    both = sum(cause.probability for cause in diagnosis.causes if cause.cause == "bad-reading")
    assert both > 0.8
    assert "exchanged" in diagnosis.causes[0].title


def test_packages_list_every_folder_with_modules() -> None:
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    roots = {"aswound.predict": "predict", "aswound.compare": "compare", "aswound.cli": "cli"}
    expected = {"aswound"}
    for package, folder in roots.items():
        for module in (ROOT / folder).rglob("*.py"):
            inside = module.parent.relative_to(ROOT / folder)
            if "aswound" not in inside.parts:
                expected.add(".".join([package, *inside.parts]))
    assert set(settings["packages"]) == expected


def test_sections_that_change_legs_are_weighed() -> None:
    """Both windings on both legs of a U core: other orders leave the legs unbalanced."""
    wire = 'wire = { diameter = "0.8 mm", overall = "1.0 mm" }'
    wound = "".join(f'[[winding]]\nname = "{name}"\n{wire}\n' for name in "PS")
    steps = ", ".join(
        f'{{ wind = "{name}", turns = {turns}, leg = {leg} }}'
        for leg in (1, 2)
        for name, turns in (("P", 15), ("S", 6))
    )
    design = parse_design(
        '[core]\nmu_i = 2000\n[core.dimensions]\nform = "U"\nleg_width = "10 mm"\nleg_depth = "12 mm"\n'
        'window_width = "9 mm"\nwindow_height = "22 mm"\nback = "5 mm"\n'
        '[bobbin]\nwall = "1 mm"\nflange = "1 mm"\n'
        f"{wound}[build]\nsteps = [{steps}]\n"
        '[[test]]\nname = "L_P"\nmeasure = "inductance"\ndrive = "P"\nfrequency = "10 kHz"\n'
        '[[test]]\nname = "Lk_P"\nmeasure = "inductance"\ndrive = "P"\nshort = ["S"]\nfrequency = "10 kHz"\n'
    )
    _, hypotheses = forward(design, CATALOGUE)
    weighed = {(hypothesis.cause.name, hypothesis.location) for hypothesis in hypotheses}
    assert {("bunched", "P"), ("bunched", "S"), ("material", "core")} <= weighed
    assert all(np.all(np.isfinite(hypothesis.shift)) for hypothesis in hypotheses)
    (order,) = [cause for cause in CATALOGUE if cause.name == "order"]
    possible = sum(len(order.variants(design, place)) for place in order.places(design))
    assert sum(len(item.variants) for item in hypotheses if item.cause is order) == possible


def test_a_change_that_the_models_do_not_describe_is_not_weighed() -> None:
    """A sector on a ring whose gap may lie anywhere: that variant is left out, the others stand."""
    design = parse_design(
        '[core]\nshape = "R 25/15/10"\nmaterial = "MnZn 2300"\ngap = "0.5 mm"\n[bobbin]\nwall = "0.3 mm"\n'
        '[[winding]]\nname = "S"\nwire = { diameter = "0.5 mm", grade = 1 }\n'
        '[build]\nsteps = [{ wind = "S", turns = 20 }]\n'
        '[[test]]\nname = "L"\nmeasure = "inductance"\ndrive = "S"\nfrequency = "10 kHz"\n'
    )

    def variants(design: Design, _: str) -> list[Variant]:
        changed = [
            with_step(design, 0, turns=19),
            with_step(design, 0, sector=2.0),
            with_step(design, 0, turns=21),
        ]
        return [Variant(float(k), 1.0, variant, f"change {k}") for k, variant in enumerate(changed)]

    (turns,) = [cause for cause in CATALOGUE if cause.name == "turns"]
    partly = replace(turns, places=lambda _: ("S",), variants=variants)
    _, hypotheses = forward(design, (partly,))
    assert [variant.title for item in hypotheses for variant in item.variants] == ["change 0", "change 2"]


def test_the_guide_counts_the_causes_and_says_when_a_part_is_decided_against() -> None:
    text = (ROOT / "cli" / "guide" / "diagnosis.md").read_text(encoding="utf-8")
    assert f"for every cause ({len({cause.name for cause in CATALOGUE})} of them)" in text
    assert f"has fallen below {100 * HARDLY:.0f} %" in text


def _placed(name: str, design: Design) -> dict[str, Cause]:
    """Where a cause may be in a design, each with the entry of the catalogue that puts it there."""
    return {place: cause for cause in CATALOGUE if cause.name == name for place in cause.places(design)}


def test_windings_wound_together_lie_wrong_together() -> None:
    """One winding of a pair cannot be pushed aside without the other: one cause, not two with half each."""
    design = DESIGNS["foil"]
    assert list(_placed("bunched", design)) == list(_placed("offset", design)) == ["P", "S"]
    variant = _placed("bunched", design)["P"].variants(design, "P")[0]
    assert variant.title == "P (with RESET) covers only 45 % of its breadth, pushed to the start flange"


def test_a_counter_miscounts_all_that_it_winds_and_an_end_one_of_them() -> None:
    """Both windings of a pair have a turn less, under the name of the first; or one of them has."""
    design = replace(
        DESIGNS["foil"],
        tests=tuple(
            BenchTest(name=name, measure="ratio", drive=(Member("S"),), sense=(Member(name),), frequency=1e4)
            for name in ("P", "RESET")
        ),
    )
    drawn = readings(design)
    cause = _placed("turns", design)["P"]
    ratios = {}
    for place in ("P", "RESET", "S"):
        for variant in cause.variants(design, place):
            if variant.amount == -1.0:
                ratios[variant.title] = readings(variant.design) / drawn
    one, more = 44 / 43, 5 / 6
    assert list(ratios) == [
        "P (with RESET) has 1 turn too few",
        "P alone has 1 turn too few",
        "RESET alone has 1 turn too few",
        "S has 1 turn too few",
    ]
    expected = [(one, one), (one, 1), (1, one), (more, more)]
    assert np.array(list(ratios.values())) == pytest.approx(np.array(expected), rel=2e-3)


def test_foil_cannot_be_bunched_but_may_be_narrow_or_of_another_thickness() -> None:
    design = DESIGNS["foil"]
    bunched = _placed("bunched", design)["S"]
    assert bunched.variants(design, "S")[0].title == "the foil of S covers only 45 % of the breadth drawn"
    assert "width" in bunched.confirm
    assert "in hand" not in bunched.remedy
    wire = _placed("wire", design)["S"].variants(design, "S")
    assert [variant.amount for variant in wire] == pytest.approx([0.7, 0.8, 1.25, 1.5])
    assert wire[1].title == "S is wound with thinner foil (0.08 mm instead of 0.1 mm)"
    read = [readings(variant.design)[0] for variant in wire]
    drawn = readings(design)[0]
    for resistance, variant in zip(read, wire, strict=True):
        assert resistance / drawn == pytest.approx(1 / (variant.amount or 0.0), rel=0.02)


def test_a_miscount_takes_turns_from_the_last_layers() -> None:
    """Two turns fewer of [43, 1] are one of each; two more lie on the last."""
    design = parse_design(ON_THE_EDGE.replace("turns = 18", "turns = 44").replace("0.40 mm", "0.45 mm"))
    drawn = lay_out(design).turns[0]
    layers = [index for index, section in enumerate(lay_out(design).sections) if section.winding == "P"]
    assert len(layers) == 2
    assert drawn[layers[1]] == 1
    for amount, expected in ((-2, [drawn[layers[0]] - 1, 0]), (2, [drawn[layers[0]], 3])):
        changed = with_step(design, 0, miscount=(amount,))
        assert lay_out(changed).turns[0][layers].tolist() == expected


def test_a_shorted_turn_leaves_the_resistance_of_the_other_windings() -> None:
    """What lies above a winding with shorted turns lies as drawn, however few its turns."""
    design = replace(
        parse_design(ON_THE_EDGE),
        tests=tuple(
            BenchTest(name=f"R_{name}", measure="resistance", drive=(Member(name),)) for name in ("P", "S")
        ),
    )
    drawn = readings(design)
    cause = _placed("shorted-turn", design)["P"]
    for variant in cause.variants(design, "P"):
        read = readings(variant.design)
        assert read[1] == pytest.approx(drawn[1], rel=1e-9)
        assert read[0] == pytest.approx(drawn[0] * (18 - (variant.amount or 0.0)) / 18, rel=1e-9)


def test_a_shorted_turn_round_a_leg_is_a_band_of_its_copper_two_or_ten_wires_broad() -> None:
    """As broad as turns side by side lie, or hardly more than one; either has the copper of one wire."""
    design = DESIGNS["flyback-24w"]
    wire = design.winding("P").wire
    copper, overall = float(np.asarray(conductor_area(wire))), float(np.asarray(wire.overall))
    assert wire.in_hand == 1
    broad = []
    for variant in _placed("shorted-turn", design)["P"].variants(design, "P"):
        (band,) = (shield for shield in variant.design.shields if shield.name == "(shorted turn)")
        width = first_build(band.width)
        assert first_build(band.thickness) * width == pytest.approx(
            (variant.amount or 0.0) * copper, rel=1e-12
        )
        broad.append(width / overall)
    assert broad == pytest.approx([10.0, 2.0, 10.0, 2.0], rel=1e-12)


def test_a_shorted_turn_on_a_ring_core_takes_the_inductance_of_every_winding() -> None:
    """No band stands on a ring core: the turn is a winding of its own around all others. Shorted, it leaves
    stray inductance, far less than a tenth on ferrite; direct currents do not see it, and the other
    windings lie as drawn."""
    design = DESIGNS["pair on a ring"]
    names = [winding.name for winding in design.windings]
    tests = [
        BenchTest(name=f"L_{name}", measure="inductance", drive=(Member(name),), frequency=1e4)
        for name in names
    ] + [BenchTest(name=f"R_{name}", measure="resistance", drive=(Member(name),)) for name in names]
    design = replace(design, tests=tuple(tests))
    drawn = readings(design)
    placed = _placed("shorted-turn", design)
    assert set(placed) == set(names)
    for variant in placed["G"].variants(design, "G"):
        ratio = readings(variant.design) / drawn
        assert np.all(ratio[: len(names)] < 0.1)
        assert ratio[len(names) :] == pytest.approx([1.0, 1.0, (16 - (variant.amount or 0.0)) / 16], rel=1e-9)


def test_turns_in_two_layers_of_a_ring_may_be_crowded_as_far_as_two_layers_allow() -> None:
    """26 turns of 1.1 mm do not fit into one layer of a hole of 9 mm, and cover at least their part of what
    both layers hold."""
    text = (
        PAIR_ON_A_RING.split("[[winding]]")[0]
        + """
[[winding]]
name = "A"
wire = { diameter = "1.0 mm", overall = "1.1 mm" }
[build]
allowance = "0 %"
steps = [{ wind = "A", turns = 26 }]
"""
    )
    design = parse_design(text)
    assert int(lay_out(design).turns.shape[-1]) == 2
    amounts = [variant.amount for variant in _placed("crowded", design)["A"].variants(design, "A")]
    holds = sum(2 * math.pi * (4.5 - depth) / 1.1 for depth in (0.55, 1.65))
    assert amounts[0] == pytest.approx(1.05 * 26 / holds, rel=1e-9)
    for variant in _placed("crowded", design)["A"].variants(design, "A"):
        assert int(lay_out(variant.design).turns.shape[-1]) == 2


def test_a_wire_of_twice_the_resistance_is_a_gauge_in_reach() -> None:
    """ASTM B258: three gauges are half the cross-section. A joint may double a resistance by chance, a wrong
    reel does."""
    design = DESIGNS["flyback-24w"]
    for winding in ("P", "AUX"):
        causes = [cause for cause in CATALOGUE if cause.name == "wire" and winding in cause.places(design)]
        ratios = [variant.amount for cause in causes for variant in cause.variants(design, winding)]
        assert any(ratio is not None and ratio**-2 == pytest.approx(2.0, rel=0.01) for ratio in ratios)


def test_pins_taken_for_another_windings_are_wrong_in_one_connection_or_in_all() -> None:
    """Of three leakages, each short by itself may be missing or be another winding's, and all at once."""
    shorts = {"Lk_S": ("S",), "Lk_B": ("B",), "Lk": ("S", "B")}
    tests = tuple(
        BenchTest(
            name=name,
            measure="inductance",
            drive=(Member("P"),),
            short=tuple(Member(each) for each in short),
            frequency=1e5,
        )
        for name, short in shorts.items()
    )
    design = replace(DESIGNS["bridge-300w"], tests=tests)
    (cause,) = _placed("wrong-short", design).values()
    found = {
        variant.title: tuple("+".join(m.name for m in test.short) for test in variant.design.tests)
        for variant in cause.variants(design, "bench")
    }
    assert found == {
        "nothing was shorted": ("", "", ""),
        "S was shorted instead of another winding": ("S", "S", "S"),
        "B was shorted instead of another winding": ("B", "B", "B"),
        "nothing was shorted where S should be": ("", "B", "S+B"),
        "B was shorted instead of S": ("B", "B", "S+B"),
        "nothing was shorted where B should be": ("S", "", "S+B"),
        "S was shorted instead of B": ("S", "S", "S+B"),
        "nothing was shorted where S and B should be": ("S", "B", ""),
        "S alone was shorted instead of S and B": ("S", "B", "S"),
        "B alone was shorted instead of S and B": ("S", "B", "B"),
    }
    weights = [variant.weight for variant in cause.variants(design, "bench")]
    assert weights == pytest.approx([4.0, 2.0, 2.0, *3 * [2.0, 1.0], 1.0]), "all at once, twice one alone"


def test_a_short_that_only_a_proposed_test_has_is_no_mistake_of_the_readings() -> None:
    """Of Lk_P alone the other side is proposed: what is shorted wrong there says nothing of the part."""
    design = DESIGNS["flyback-24w"]
    read = [test for test in design.tests if test.name in ("L_P", "Lk_P")]
    found = inquire(replace(design, tests=tuple(read)), read, CATALOGUE)
    assert any(member.name == "P" for test in found.tests[found.read :] for member in test.short)
    (wrong,) = (item for item in found.hypotheses if item.cause.name == "wrong-short")
    assert np.all(np.any(wrong.shift[:, : found.read] != 0.0, axis=1))
    assert {wrong.title(design, node) for node in range(len(wrong.weights))} == {
        "nothing was shorted",
        "AUX was shorted instead of another winding",
    }, "of one connection that was read, the whole and the part are the same"
    assert float(wrong.weights.sum()) == pytest.approx(1.0)


RING = """
[core]
mu_i = 10
al = "4.9 nH"
[core.dimensions]
form = "toroid"
outer_diameter = "12.7 mm"
inner_diameter = "7.70 mm"
height = "4.83 mm"
[[winding]]
name = "P"
wire = { diameter = "0.5 mm", grade = 1 }
[build]
steps = [{ wind = "P", turns = 14 }]
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "1 MHz"
[[test]]
name = "R_P"
measure = "resistance"
drive = "P"
"""
"""14 turns on an iron-powder ring T50-2 (AL 4.9 nH, ring and factor from memory)."""


def test_a_crowded_winding_on_a_ring_is_called_that() -> None:
    """A measured case (handed down without a source): 1.06 µH spread evenly, 1.60 µH crowded on about 120°.
    At 120° the model says 1.78 µH, 11 % more; 1.60 µH it has on 145°."""
    design = parse_design(RING)
    even = float(readings(design)[0])
    assert even == pytest.approx(1.06e-6, rel=0.04)
    (cause,) = [cause for cause in CATALOGUE if cause.name == "crowded"]
    variants = cause.variants(design, "P")
    amounts = [float(variant.amount or 0.0) for variant in variants]
    values = [float(readings(variant.design)[0]) for variant in variants]
    assert float(np.interp(1 / 3, amounts, values)) == pytest.approx(1.60e-6, rel=0.13)
    rows = f"sample,test,reading\nA1,L_P,1.60 uH\nA1,R_P,{readings(design)[1]:.5f} ohm\n"
    (diagnosis,) = explain(design, parse_readings(rows, design))
    best = diagnosis.causes[0]
    assert (best.cause, best.where) == ("crowded", "P")
    assert best.amount is not None
    assert 110 < 360 * best.amount < 170
    even_rows = f"sample,test,reading\nA1,L_P,1.06 uH\nA1,R_P,{readings(design)[1]:.5f} ohm\n"
    (sound,) = explain(design, parse_readings(even_rows, design))
    assert sound.as_designed > 0.3
    assert sound.as_designed > sound.causes[0].probability


def test_the_stated_range_holds_the_measured_case() -> None:
    """The case above, drawn on its 120°, on a core that is good to 5 %: 1.60 µH lies within the 95 % range,
    which is that of the arc for the most part. All round there is no arc to be unsure of."""
    text = RING.replace('al = "4.9 nH"', 'al = "4.9 nH"\nal_tolerance = "5 %"')
    drawn = parse_design(text.replace("turns = 14 }", 'turns = 14, sector = "120 deg" }'))
    found = spread(drawn, origins=("build", "model"))
    assert found.nominal[0] == pytest.approx(1.78e-6, rel=0.01)
    assert found.low[0] < 1.60e-6 < found.high[0]
    assert found.low[0] > 1.5e-6
    arc = float(arc_errors(sections_of(drawn), np.zeros((1, 1, 2)))[0, 0])
    assert arc == pytest.approx(0.11, abs=0.015)
    even = parse_design(text)
    assert arc_errors(sections_of(even), np.zeros((1, 1, 1)))[0, 0] == 0.0
    assert (spread(even).high / spread(even).low)[0] < 1.12


@pytest.mark.parametrize(
    ("which", "milliohms", "least"),
    [
        ("flyback-24w", 8.0, 0.55),
        *and_slow(("flyback-24w", 5.0, 0.65), ("flyback-24w", 12.0, 0.87), ("gate-drive", 80.0, 0.8)),
    ],
)
def test_few_milliohms_in_every_reading_are_leads_and_no_strand(
    which: str, milliohms: float, least: float
) -> None:
    """Two wires: equal offsets in all windings. One or two of three wires in hand lost read ×1.5 and ×3 and
    nothing between, so that ×1.41, ×1.65 and ×1.98 of the secondary are none (of 8 mΩ a third stays with
    aluminium, whose ×1.65 is the same number; 1.4 % of the primary is less than its wire varies). The bounds
    are on two wires alone or beside a fault that a few resistances cannot show: 2 to 3 % in all."""
    design = DESIGNS[which]
    names = [test.name for test in design.tests if test.measure == "resistance"]
    values = dict(zip([test.name for test in design.tests], readings(design).tolist(), strict=True))
    rows = "\n".join(
        ["sample,test,reading", *(f"A1,{name},{1e3 * values[name] + milliohms:.6g} mohm" for name in names)]
    )
    (diagnosis,) = explain(design, parse_readings(rows, design))
    best = diagnosis.causes[0]
    assert (best.cause, best.where) == ("two-wire", "bench")
    assert best.amount == pytest.approx(1e-3 * milliohms, rel=0.15)
    strands = sum(item.probability for item in diagnosis.causes if item.cause == "strand")
    assert strands < 0.05
    assert best.marginal > least
    assert best.probability > least - 0.03


def test_the_same_lead_resistance_in_every_reading_is_two_wires() -> None:
    design = DESIGNS["flyback-24w"]
    rows = (ROOT / "samples" / "flyback-24w.csv").read_text(encoding="utf-8").splitlines()
    sound = [row for row in rows if row.startswith(("sample", "A1,"))]
    plain = dict(zip([test.name for test in design.tests], readings(design).tolist(), strict=True))
    text = "\n".join(
        next(
            (
                f"A1,{name},{plain[name] + 35e-3:.5f} ohm"
                for name in ("R_P", "R_S")
                if row.startswith(f"A1,{name},")
            ),
            row,
        )
        for row in sound
    )
    (diagnosis,) = explain(design, parse_readings(text, design))
    best = diagnosis.causes[0]
    assert (best.cause, best.where) == ("two-wire", "bench")
    assert best.probability > 0.9
    assert best.amount == pytest.approx(35e-3, rel=0.1)


GAPPED = """
[core]
shape = "RM 8"
material = "MnZn 2300"
al = "400 nH"
[bobbin]
wall = "0.9 mm"
flange = "0.9 mm"
[[winding]]
name = "P"
wire = { diameter = "0.30 mm", grade = 2 }
[[winding]]
name = "S"
wire = { diameter = "0.50 mm", grade = 2, in_hand = 2 }
[build]
steps = [
  { wind = "P", turns = 36 },
  { tape = "0.06 mm", wraps = 2 },
  { wind = "S", turns = 6 },
]
"""


@pytest.mark.parametrize(("step", "least"), [(250, 0.55), *and_slow((160, 0.9), (1000, 0.75))])
def test_another_set_of_the_series_is_no_slip(step: int, least: float) -> None:
    """A set of 160, 250 or 1000 nH in place of 400 nH: read by L, leakage, ratio and resistances alone.
    Halves 60 µm apart read as 250 nH too, in each of the inductances alike, and keep a third: these readings
    cannot tell which of the two it is."""
    design = parse_design(GAPPED)
    (cause,) = [cause for cause in CATALOGUE if cause.name == "wrong-al" and cause.places(design)]
    (fitted,) = [one for one in cause.variants(design, "core") if f"AL {step} nH" in one.title]
    assert fitted.amount == pytest.approx(step / 400, rel=1e-6)
    names = [test.name for test in design.tests]
    values = readings(fitted.design)
    rows = ["sample,test,reading"]
    units = {"inductance": "H", "resistance": "ohm", "ratio": "", "capacitance": "F"}
    for name, test, value in zip(names, design.tests, values, strict=True):
        rows.append(f"A1,{name},{value:.6g} {units[test.measure]}")
    (diagnosis,) = explain(design, parse_readings("\n".join(rows), design))
    bad = sum(one.probability for one in diagnosis.causes if one.cause == "bad-reading")
    first = diagnosis.causes[0]
    assert bad < 0.01
    assert first.cause == "wrong-al"
    assert first.probability > least
    assert first.probability > 1.5 * diagnosis.causes[1].probability
    assert first.amount == pytest.approx(step / 400, rel=1e-6)


def test_a_slip_is_never_above_a_cause_that_explains_the_readings_as_well() -> None:
    """ln (prior × evidence) of a slip against two causes: capped by the first, which goes with the readings
    as well at its best severity, never by the second, which does not."""
    logs = [np.array([-9.0, 4.0]), np.array([-30.0])]
    assert not_above(3.0, 5.0, [1.0, -40.0], logs) == 1.0
    assert not_above(0.5, 5.0, [1.0, -40.0], logs) == 0.5
    assert not_above(3.0, 5.6, [1.0, -40.0], logs) == 3.0


def test_exchanged_rows_are_one_entry() -> None:
    design = parse_design(GAPPED)
    plain = dict(zip([test.name for test in design.tests], readings(design).tolist(), strict=True))
    rows = f"sample,test,reading\nA1,R_P,{plain['R_S']:.6g} ohm\nA1,R_S,{plain['R_P']:.6g} ohm\n"
    rows += f"A1,L_P,{plain['L_P']:.6g} H\n"
    (diagnosis,) = explain(design, parse_readings(rows, design))
    first, *rest = diagnosis.causes
    assert (first.cause, first.where) == ("bad-reading", "R_P")
    assert first.title == "the readings of R_P and R_S are exchanged"
    assert first.probability > 0.95
    assert all(one.probability < 0.01 for one in rest if one.cause == "bad-reading")


@pytest.mark.parametrize(("wrong", "sign"), [("R_P", 1.3), ("L_P", 0.85)])
def test_what_no_decade_brings_home_is_no_slip(wrong: str, sign: float) -> None:
    design = parse_design(GAPPED)
    rows = "sample,test,reading\n"
    for test, value in zip(design.tests, readings(design).tolist(), strict=True):
        if test.measure in ("inductance", "resistance"):
            unit = "H" if test.measure == "inductance" else "ohm"
            rows += f"A1,{test.name},{value * (sign if test.name == wrong else 1.0):.6g} {unit}\n"
    (diagnosis,) = explain(design, parse_readings(rows, design))
    assert sum(one.probability for one in diagnosis.causes if one.cause == "bad-reading") < 1e-3


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("unseated", 4e-6, 60e-6),
        ("cracked", 3e-6, 40e-6),
        ("short-link", 8e-9, 80e-9),
        ("leads", 100e-9, 900e-9),
        ("dielectric", 1.25, 2.2),
    ],
)
def test_any_size_is_as_likely(name: str, low: float, high: float) -> None:
    """Severities of a cause are a uniform law over its range: mean and standard deviation of that law within
    6 %, whatever the nodes (in proportion to 1/a the mean would be 0.65 to 0.75 of it)."""
    design = DESIGNS["flyback-24w"]
    (hypothesis,) = [item for item in forward(design, CATALOGUE)[1] if item.cause.name == name]
    amounts, weights = hypothesis.amounts, hypothesis.weights
    assert (amounts.min(), amounts.max()) == (pytest.approx(low), pytest.approx(high))
    mean = float(weights @ amounts)
    assert mean == pytest.approx((low + high) / 2, rel=0.06)
    assert float(weights @ (amounts - mean) ** 2) ** 0.5 == pytest.approx((high - low) / 12**0.5, rel=0.06)


def test_wraps_too_many_and_missing_are_two_common_faults() -> None:
    tape, spacer = (cause for cause in CATALOGUE if cause.name == "insulation")
    (gap,) = [cause for cause in CATALOGUE if cause.name == "gap"]
    assert (tape.weight, spacer.weight) == (pytest.approx(2 * gap.weight), gap.weight)


def test_faces_that_do_not_meet_lead_before_a_crack_that_reads_alike() -> None:
    """The catalogue of faults has them common and cracks occasional."""
    weights = {cause.name: cause.weight for cause in CATALOGUE}
    assert weights["unseated"] == pytest.approx(1.5 * weights["gap"])
    assert weights["unseated"] == pytest.approx(2.25 * weights["cracked"])


def test_the_amount_of_what_readings_say_nothing_about_is_in_the_middle() -> None:
    """One inductance and one resistance: leads and permittivities of any size fit as well; the middle of the
    range is named, not its end."""
    design = DESIGNS["flyback-24w"]
    values = dict(zip([test.name for test in design.tests], readings(design).tolist(), strict=True))
    rows = f"sample,test,reading\nA1,R_P,{values['R_P']:.6g} ohm\nA1,L_P,{values['L_P']:.6g} H"
    (diagnosis,) = explain(design, parse_readings(rows, design))
    amounts = {entry.cause: entry.amount for entry in diagnosis.causes if entry.also is None}
    assert amounts["leads"] == pytest.approx(500e-9, rel=0.15)
    assert amounts["dielectric"] == pytest.approx(1.72, rel=0.06)


def test_few_severities_stand_for_equally_likely_parts() -> None:
    """Pairs of causes are tried at few severities: each stands for the same part of the prior, as two wires
    show: most have about 20 mohm, one in four a few, so that the middle lies at 12 or 13."""
    design = DESIGNS["flyback-24w"]
    (wires,) = [item for item in forward(design, CATALOGUE)[1] if item.cause.name == "two-wire"]
    points = _few(wires, 3, np.zeros(len(wires.weights)))
    assert [share for _, share, _ in points] == pytest.approx([1 / 3] * 3)
    below = np.cumsum(wires.weights)
    assert [float(below[node]) for node, _, _ in points] == pytest.approx([1 / 6, 1 / 2, 5 / 6], abs=0.04)
    assert wires.amounts[points[1][0]] == pytest.approx(12.5e-3, rel=0.25)


def test_the_severity_that_fits_alone_is_tried_in_pairs() -> None:
    """Two turns too many are one of the rarer counts. Where they alone fit the ratio, they are tried beside
    other causes too: with leads in the resistances the part had no cause in the catalogue (> 99 %)."""
    design = DESIGNS["flyback-24w"]
    hypotheses = forward(design, CATALOGUE)[1]
    (turns,) = [item for item in hypotheses if item.cause.name == "turns" and item.location == "AUX"]
    by_amount = {turns.amount(node): node for node in range(len(turns.weights))}
    for amount in (2.0, -2.0):
        logs = np.where(turns.amounts == amount, 0.0, -30.0)
        nodes = [node for node, *_ in _few(turns, 3, logs)]
        assert nodes == sorted([by_amount[-1.0], by_amount[1.0], by_amount[amount]])


def test_no_severity_stands_for_a_part_as_designed() -> None:
    """Displacements either way, arcs on either side of the drawn one: nothing is filled in between the least
    of both sides, where the part would be as it is drawn."""
    text = RING.replace("turns = 14", 'turns = 14, sector = "160 deg", from_angle = "30 deg"')
    ring = parse_design(text)
    for design, name, drawn in (
        (DESIGNS["flyback-24w"], "offset", 0.0),
        (ring, "crowded", 160 / 360),
    ):
        causes = tuple(cause for cause in CATALOGUE if cause.name == name)
        _, hypotheses = forward(design, causes)
        assert hypotheses
        for item in hypotheses:
            least = min(abs(float(one.amount or 0.0) - drawn) for one in item.variants)
            assert len(item.amounts) > len(item.variants)
            assert np.min(np.abs(item.amounts - drawn)) >= least * (1 - 1e-6)
            assert item.amounts.min() < drawn < item.amounts.max()


def test_margins_are_a_cause_only_where_they_are_drawn() -> None:
    """A design without margins has none that could be wider: it is not listed."""
    (cause,) = [cause for cause in CATALOGUE if cause.name == "margin"]
    assert cause.places(parse_design(GAPPED)) == ()
    assert cause.places(DESIGNS["flyback-24w"]) == ("core",)
    drawn = cause.variants(DESIGNS["flyback-24w"], "core")
    assert {one.title.split(" mm ")[1] for one in drawn} == {"wider at each end", "narrower at each end"}
    one_step = parse_design(GAPPED.replace('{ wind = "P",', '{ wind = "P", margin = "1 mm",', 1))
    assert cause.places(one_step) == ("core",)


@pytest.mark.parametrize("ratio", [GAUGE_STEP**-1, GAUGE_STEP**0.5])
def test_a_wrong_reel_on_both_halves_is_one_cause(ratio: float) -> None:
    """The two gate windings come off one reel: they are off alike, and the drive winding is not."""
    design = DESIGNS["gate-drive"]
    (reel,) = (cause for cause in CATALOGUE if cause.name == "reel")
    assert tuple(reel.places(design)) == ("G1+G2",)
    (built,) = (one for one in reel.variants(design, "G1+G2") if one.amount == pytest.approx(ratio))
    assert built.title.startswith("G1 and G2 are both wound with ")
    values = readings(built.design)
    rows = [
        Reading(sample="R1", test=test.name, value=float(value))
        for test, value in zip(design.tests, values, strict=True)
    ]
    (found,) = explain(design, rows)
    assert (found.causes[0].cause, found.causes[0].where) == ("reel", "G1+G2")
    assert found.causes[0].probability > 0.5
    assert found.unlisted < 0.05


def test_wires_in_hand_come_off_one_reel_and_foil_off_none() -> None:
    (reel,) = (cause for cause in CATALOGUE if cause.name == "reel")
    assert tuple(reel.places(DESIGNS["bridge-300w"])) == ("P+S",)  # 2 and 4 in hand of 0.63 mm
    assert tuple(reel.places(DESIGNS["flyback-24w"])) == ()  # three wires


def test_tracks_that_do_not_fit_on_their_layer_are_no_miscount() -> None:
    """A board has the layers that are drawn; a fifth track beside four that fill it is another board."""
    path = Path(__file__).parents[1] / "benchmarks" / "designs" / "tuning" / "e32-planar.toml"
    design = load_design(path)
    drawn = len(layout_of(design).sections)
    turns = next(cause for cause in CATALOGUE if cause.name == "turns")
    for name in turns.places(design):
        variants = turns.variants(design, name)
        assert all(abs(variant.amount) <= 2 for variant in variants)
        assert {len(layout_of(variant.design).sections) for variant in variants} <= {drawn}
