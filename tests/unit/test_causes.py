"""The catalogue of causes: valid places, variants that can be predicted and that change something,
identifiers of the contract."""

from __future__ import annotations

import tomllib
from pathlib import Path

import numpy as np
import pytest

from aswound.compare import explain
from aswound.compare.causes import CATALOGUE, Cause
from aswound.compare.readingsfile import parse_readings
from aswound.predict import load_design, readings
from aswound.predict.design import Design

ROOT = Path(__file__).parents[2]
DESIGNS = {
    name: load_design(ROOT / "samples" / f"{name}.toml")
    for name in ("flyback-24w", "bridge-300w", "gate-drive")
}
CLASSES = {
    "turns": {"turns"},
    "core": {"gap", "unseated", "material"},
    "layout": {"order", "insulation", "bunched"},
    "copper": {"wire", "strand"},
    "wiring": {"reversed", "misjoined"},
    "bench": {"short-link", "leads", "display", "temperature"},
}


def test_identifiers_are_those_of_the_contract() -> None:
    found: dict[str, set[str]] = {}
    for cause in CATALOGUE:
        found.setdefault(cause.kind, set()).add(cause.name)
    assert found == CLASSES


def place_is_known(design: Design, place: str) -> bool:
    names = {winding.name for winding in design.windings} | {"core", "bench"}
    steps = {f"step {number + 1}" for number in range(len(design.build.steps))}
    return place in names | steps


@pytest.mark.parametrize("name", DESIGNS)
@pytest.mark.parametrize("cause", CATALOGUE, ids=lambda cause: cause.name)
def test_variants(name: str, cause: Cause) -> None:
    design = DESIGNS[name]
    plain = readings(design)
    seen = False
    for place in cause.places(design):
        assert place_is_known(design, place)
        variants = cause.variants(design, place)
        amounts = [variant.amount for variant in variants if variant.amount is not None]
        assert amounts == sorted(amounts)
        for variant in variants:
            assert variant.weight > 0
            assert variant.title
            moved = readings(variant.design)
            assert np.all(np.isfinite(moved))
            seen = seen or bool(np.any(np.abs(moved - plain) > 1e-6 * np.abs(plain)))
        assert "{" not in cause.confirm.format(where=place) + cause.remedy.format(where=place)
    assert seen or not cause.places(design)
    names = {other.name for other in CATALOGUE} | {"bad-reading"}
    assert set(cause.confusable) <= names


def test_every_cause_applies_to_some_sample() -> None:
    for cause in CATALOGUE:
        assert any(cause.places(design) for design in DESIGNS.values()), cause.name


SLIPS = [("L_P", "609 mH"), ("R_P", "5.62 ohm"), ("n", "75.0")]


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
