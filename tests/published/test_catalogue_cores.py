"""Every core of the catalogue: effective parameters by IEC 60205 against the published ones.

The published figures and their sources stand in the rows of predict/data/cores.toml (``from_memory`` where
nobody has held them against the source yet). Bounds: 1 % for E and toroid, 4 % for round legs. A mistyped row
must fail.
"""

import dataclasses

import pytest

from aswound.predict.catalogue import CoreRecord, load_catalogue, published_deviation
from aswound.predict.design import EDimensions, RoundDimensions, ToroidDimensions
from aswound.predict.errors import DesignError

pytestmark = pytest.mark.published

CORES = load_catalogue().cores
BOUND = {"E": 0.01, "toroid": 0.01, "ETD": 0.04, "PQ": 0.04}


def worst_deviation(core: CoreRecord) -> float:
    """Largest deviation of area, length and core constant, in units of the family's bound."""
    deviations = published_deviation(core)
    held = [abs(deviations[key]) for key in ("area", "length", "constant") if key in deviations]
    return max(held) / BOUND[core.family]


def fits_designation(core: CoreRecord) -> bool:
    """Whether overall length, half height and depth are those that the name rounds (a ring's are exact)."""
    named = [float(number) for number in core.name.split()[1].split("/")]
    dimensions = core.dimensions
    if isinstance(dimensions, ToroidDimensions):
        sizes = (dimensions.outer_diameter, dimensions.inner_diameter, dimensions.height)
        return all(abs(size * 1e3 - number) < 1e-6 for size, number in zip(sizes, named, strict=True))
    assert isinstance(dimensions, EDimensions | RoundDimensions)
    half_height = dimensions.window_height / 2 + dimensions.back
    if isinstance(dimensions, EDimensions):
        length = dimensions.leg_width + 2 * (dimensions.window_width + dimensions.outer_leg)
        sizes = (length, half_height, dimensions.leg_depth)
    elif core.family == "PQ":  # the name gives the height of the set
        sizes = (dimensions.length, 2 * half_height)
    else:
        sizes = (dimensions.length, half_height, dimensions.leg_diameter)
    return all(
        abs(size * 1e3 - number) <= bound
        for size, number, bound in zip(sizes, named, (1.0, 0.61, 0.61), strict=False)
    )


def trips(core: CoreRecord) -> bool:
    """Whether any check of this file refuses the row."""
    try:
        return worst_deviation(core) > 1 or not fits_designation(core)
    except DesignError:  # no such core can exist
        return True


@pytest.mark.parametrize("name", CORES)
def test_row_agrees_with_published(name: str) -> None:
    core = CORES[name]
    deviations = published_deviation(core)
    assert worst_deviation(core) <= 1, deviations
    assert set(deviations) == {"area", "length", "volume"}


@pytest.mark.parametrize("name", CORES)
def test_published_figures_agree_among_themselves(name: str) -> None:
    # Ve = le Ae; sheets round Ae and le to three digits and Ve on its own.
    core = CORES[name]
    assert core.published_area is not None
    assert core.published_length is not None
    assert core.published_area * core.published_length == pytest.approx(core.published_volume, rel=0.012)


@pytest.mark.parametrize("name", CORES)
def test_dimensions_agree_with_designation(name: str) -> None:
    assert fits_designation(CORES[name])


@pytest.mark.parametrize("name", CORES)
def test_mistyped_dimension_fails(name: str) -> None:
    # 10 % off in any one dimension trips a check; 25 % in a round-leg yoke's thickness, which weighs little.
    core = CORES[name]
    slips = []
    for key, value in vars(core.dimensions).items():
        if key in ("leg_corner", "outer_depth"):
            continue
        step = 0.25 if key == "back" and core.family in ("ETD", "PQ") else 0.1
        for factor in (1 - step, 1 + step):
            change = {key: value * factor}
            if key == "leg_depth" and core.family == "E":
                change["outer_depth"] = value * factor
            wrong = dataclasses.replace(core, dimensions=dataclasses.replace(core.dimensions, **change))
            if not trips(wrong):
                slips.append((key, factor))
    assert slips == []


@pytest.mark.parametrize("name", CORES)
def test_mistyped_published_figure_fails(name: str) -> None:
    core = CORES[name]
    assert core.published_area is not None
    assert core.published_length is not None
    assert trips(dataclasses.replace(core, published_area=core.published_area * 1.1))
    assert trips(dataclasses.replace(core, published_length=core.published_length * 1.1))


def test_catalogue_is_broad_enough() -> None:
    families = [core.family for core in CORES.values()]
    assert len(families) >= 25
    assert {family: families.count(family) >= 5 for family in BOUND} == dict.fromkeys(BOUND, True)
