"""Every form of core answers whatever the rooms ask of a form, and nobody asks which form it is."""

from __future__ import annotations

import ast
import dataclasses
import math
import typing
from dataclasses import dataclass, replace
from typing import ClassVar

import numpy as np
import pytest
from product_source import ROOT, nodes_of, sources

from aswound.predict import load_design, predict_bench
from aswound.predict.cores import effective_parameters
from aswound.predict.design import ShieldStep, SpacerStep, Step, TapeStep, WindStep, Wire
from aswound.predict.forms import (
    FORMS,
    AirDimensions,
    CoreForm,
    EDimensions,
    PotDimensions,
    RoundDimensions,
    ToroidDimensions,
    UDimensions,
)
from aswound.predict.winding import lay_out
from aswound.predict.winding.rectangles import cross_section

EXAMPLES: dict[str, CoreForm] = {
    "E": EDimensions(
        leg_width=0.012,
        leg_depth=0.015,
        window_width=0.009,
        window_height=0.03,
        outer_leg=0.006,
        back=0.006,
        outer_depth=0.015,
    ),
    "round": RoundDimensions(
        leg_diameter=0.0108,
        window_diameter=0.0256,
        length=0.034,
        depth=0.0108,
        window_height=0.0236,
        back=0.0054,
    ),
    "pot": PotDimensions(
        leg_diameter=0.011,
        window_diameter=0.027,
        outer_diameter=0.034,
        window_height=0.022,
        back=0.005,
        slots=2,
        slot_angle=0.5,
    ),
    "U": UDimensions(0.01, 0.016, 0.02, 0.03, 0.01),
    "toroid": ToroidDimensions(0.04, 0.024, 0.016),
    "air": AirDimensions(0.02, 0.03),
}
ASKED = sorted(name for name in CoreForm.__abstractmethods__)


@dataclass(frozen=True)
class Stub(EDimensions):
    """An invented form: an E core whose centre leg stands for a square stub of its own kind. What it does not
    say for itself it has of the E core; it stands in no list of forms."""

    form: ClassVar[str] = "stub"
    facing_name: ClassVar[str] = "the stub's wall"
    leakage_model: ClassVar[str] = "the stub's own window"


@pytest.mark.parametrize("form", FORMS)
def test_a_form_answers_everything(form: str) -> None:
    dimensions = EXAMPLES[form]
    assert not getattr(type(dimensions), "__abstractmethods__", None)
    for name in ASKED:
        assert name in {key for parent in type(dimensions).__mro__[:-2] for key in vars(parent)}, name
    assert dimensions.form == form
    assert FORMS[form] is type(dimensions)
    assert dimensions.leakage_model
    assert dimensions.faults() == []
    assert all(value > 0 for value in dimensions.window)
    assert dimensions.perimeter > 0
    assert all(c1 > 0 and c2 > 0 for c1, c2 in dimensions.magnetic_sections)
    wound, back = dimensions.wound_leg, dimensions.return_legs
    assert wound.area > 0
    assert back.area > 0
    part = dimensions.turn_in_window(np.array([0.5 * dimensions.perimeter, 2 * dimensions.perimeter]))
    assert np.all((part > 0) & (part <= 1))


@pytest.mark.parametrize("form", [form for form, kind in FORMS.items() if not kind.ring])
def test_a_turn_on_the_leg_is_as_long_as_the_leg_is_round(form: str) -> None:
    """Exact: at no distance from the leg the whole turn is the leg's perimeter, and part of it lies under the
    core."""
    dimensions = EXAMPLES[form]
    under, whole = dimensions.turn(np.zeros(1))
    assert float(whole[0]) == pytest.approx(dimensions.perimeter, rel=1e-12)
    assert float(under[0]) > 0 if dimensions.permeable else float(under[0]) == 0
    assert float(under[0]) <= float(whole[0])


def test_a_ring_has_no_turn_under_a_core() -> None:
    with pytest.raises(TypeError, match="no window"):
        EXAMPLES["toroid"].turn(np.zeros(1))


@pytest.mark.parametrize("form", FORMS)
def test_a_form_without_an_answer_cannot_be_made(form: str) -> None:
    """Take any one answer away from a form, and it can no longer be built."""
    kind, values = type(EXAMPLES[form]), dataclasses.asdict(EXAMPLES[form])
    for name in ASKED:
        torn = type(f"Torn{name}", (kind,), {name: getattr(CoreForm, name)})
        with pytest.raises(TypeError, match=name):
            torn(**values)


@pytest.mark.parametrize("form", FORMS)
def test_a_length_of_zero_is_a_fault(form: str) -> None:
    dimensions = EXAMPLES[form]
    for item in dataclasses.fields(dimensions):
        if item.name not in dimensions.may_vanish:
            broken = replace(dimensions, **{item.name: 0.0})
            assert (item.name, "0", "a positive length") in broken.faults()


def test_an_invented_form_walks_through_all_rooms() -> None:
    """A form that no list knows predicts what the form does whose geometry it has, from the layout to the
    display; what it says of itself appears."""
    design = load_design(ROOT / "samples" / "flyback-24w.toml")
    plain = EDimensions(
        leg_width=0.0107,
        leg_depth=0.0107,
        window_width=0.0072,
        window_height=0.0236,
        outer_leg=0.0055,
        back=0.0055,
        outer_depth=0.0107,
    )
    stub = Stub(**dataclasses.asdict(plain))
    read = []
    for dimensions in (plain, stub):
        found = effective_parameters(dimensions)
        core = replace(
            design.core,
            dimensions=dimensions,
            effective_area=found.effective_area,
            effective_length=found.effective_length,
        )
        made = replace(design, core=core)
        read.append(predict_bench(made).values)
        assert cross_section(made, lay_out(made)).pieces
    assert np.all(np.isfinite(read[0]))
    assert read[1] == pytest.approx(read[0], rel=0, abs=0)


def test_nobody_asks_which_form_a_core_has() -> None:
    """Outside the forms' room only the ring is told apart, by the modules that hold the equations of a ring;
    and a stack of laminations is cut from an E sheet."""
    asked: dict[str, set[str]] = {}
    for path, text in sources().items():
        if path.parent.name == "forms":
            continue
        assert "__class__" not in text, path
        for node in nodes_of(text) if "isinstance" in text else ():
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "isinstance":
                names = {each.id for each in ast.walk(node.args[1]) if isinstance(each, ast.Name)}
                forms = names & {kind.__name__ for kind in FORMS.values()}
                if forms:
                    asked.setdefault(path.relative_to(ROOT).as_posix(), set()).update(forms)
    assert asked == {
        "predict/catalogue/lookup.py": {"EDimensions"},
        "predict/circuit/leakage_statement.py": {"ToroidDimensions"},
        "predict/circuit/section_coupling.py": {"ToroidDimensions"},
        "predict/copper/alternating_current.py": {"ToroidDimensions"},
        "predict/field/turn_field.py": {"ToroidDimensions"},
    }


def test_the_ring_is_the_only_form_without_legs() -> None:
    assert [form for form, kind in FORMS.items() if kind.ring] == [ToroidDimensions.form]
    assert math.isinf(EXAMPLES["toroid"].window[1])


def test_nobody_compares_the_kind_of_a_wire() -> None:
    """What a kind decides is a property of the wire; a word that is printed, or a default's case, is no
    decision."""
    compared = [
        f"{path.relative_to(ROOT)}: {ast.unparse(node)}"
        for path, text in sources().items()
        if path.parent.name != "design" and "kind" in text
        for node in nodes_of(text)
        if isinstance(node, ast.Compare) and ast.unparse(node.left).endswith(("wire.kind", "wires[0].kind"))
    ]
    assert compared == []


def test_every_kind_of_wire_says_what_it_is() -> None:
    kinds = [Wire(kind=kind, diameter=1e-3, overall=1.1e-3) for kind in ("round", "litz", "foil", "track")]
    assert [wire.flat for wire in kinds] == [False, False, True, True]
    assert [(wire.litz, wire.foil, wire.track) for wire in kinds] == [
        (False, False, False),
        (True, False, False),
        (False, True, False),
        (False, False, True),
    ]
    assert [wire.bundle for wire in kinds] == [False, True, False, False]
    assert Wire(kind="round", diameter=1e-3, overall=1.1e-3, twisted=True).bundle


@pytest.mark.parametrize(
    ("step", "windings", "names"),
    [
        (WindStep(winding="P", turns=9, companions=("S",)), ("P", "S"), ("P", "S")),
        (ShieldStep(name="SCR", thickness=5e-5, width=8e-3), (), ("SCR",)),
        (TapeStep(wraps=2, thickness=6e-5), (), ()),
        (SpacerStep(1e-3), (), ()),
    ],
)
def test_a_step_says_what_it_lays(step: Step, windings: tuple[str, ...], names: tuple[str, ...]) -> None:
    """A winding and those wound with it carry turns, a shield only conducts, tape and spacers do neither."""
    assert (step.windings, step.names) == (windings, names)
    assert step.conducts == bool(names)


def test_every_kind_of_step_is_among_them() -> None:
    assert {kind.__name__ for kind in typing.get_args(Step)} == {
        "WindStep",
        "ShieldStep",
        "TapeStep",
        "SpacerStep",
    }
