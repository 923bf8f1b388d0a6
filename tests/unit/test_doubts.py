"""How far a diagnosis doubts the models: at least so much where nobody has said, else what was said."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from aswound.compare.causes import CATALOGUE
from aswound.compare.hypotheses.inquiry import inquire
from aswound.compare.verdict.doubts import LEAST, doubted
from aswound.predict import load_design
from aswound.predict.design import Spread
from aswound.predict.production.tolerances import model_leakage_error

SAMPLES = Path(__file__).parents[2] / "samples"


def test_where_nothing_is_stated_the_models_are_doubted() -> None:
    design = load_design(SAMPLES / "flyback-24w.toml")
    found = doubted(design).tolerances
    for key, least in LEAST.items():
        assert getattr(design.tolerances, key) is None
        assert getattr(found, key) >= least
    assert found.model_leakage == max(model_leakage_error(design), LEAST["model_leakage"])


def test_what_is_stated_stands() -> None:
    design = load_design(SAMPLES / "flyback-24w.toml")
    stated = Spread(model_leakage=0.01, model_capacitance=0.02, model_ac_resistance=0.03)
    sure = replace(design, tolerances=stated)
    assert doubted(sure) == sure


@pytest.mark.slow
def test_what_is_asked_of_a_design_is_asked_with_the_doubt() -> None:
    """The leakage's scatter under "as designed" holds the doubt of its part that is not the link's, and none
    where the error is stated."""
    design = load_design(SAMPLES / "flyback-24w.toml")
    place = next(n for n, test in enumerate(design.tests) if test.measure == "inductance" and test.short)
    stated = replace(design, tolerances=Spread(model_leakage=0.005))
    unsure, sure = (
        inquire(one, one.tests, CATALOGUE, ahead=False).background.covariance[place, place]
        for one in (design, stated)
    )
    whole = LEAST["model_leakage"] ** 2 - 0.005**2
    assert 0.5 * whole < unsure - sure <= whole


@pytest.mark.parametrize("key", LEAST)
def test_the_doubt_is_of_a_key_of_spread(key: str) -> None:
    assert key in Spread.__dataclass_fields__
