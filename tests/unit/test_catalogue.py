"""Catalogue files: look-up, extra files, and every fault of a file in one report."""

import itertools
from pathlib import Path

import numpy as np
import pytest

from aswound.predict.catalogue.lookup import (
    awg_diameter,
    find_core,
    find_material,
    insulated_range,
    load_catalogue,
)
from aswound.predict.catalogue.wire_builds import insulated_diameter
from aswound.predict.cores.effective_dimensions import effective_parameters
from aswound.predict.cores.normal_curve import level_ratio, temperature_ratio
from aswound.predict.design import EDimensions, Material, PotDimensions, RoundDimensions, ToroidDimensions
from aswound.predict.errors import CatalogueError, DesignError

CATALOGUE = load_catalogue()
MM = 1e-3

OWN_CORE = """
[[core]]
name = "E 99/1"
family = "E"
dimensions = { form = "E", leg_width = "12 mm", leg_depth = "15 mm", window_width = "9 mm", \
window_height = "30 mm", outer_leg = "6 mm", back = "6 mm" }
source = "our drawing 4711"
"""


def written(folder: Path, text: str) -> Path:
    path = folder / "our-parts.toml"
    path.write_text(text, encoding="utf-8")
    return path


# --- look up ---


@pytest.mark.parametrize(
    "name", ["ETD 34/17/11", "ETD34/17/11", "etd 34/17/11", "etd-34/17/11", " ETD_34/17/11"]
)
def test_find_core_by_any_spelling(name: str) -> None:
    assert find_core(CATALOGUE, name).name == "ETD 34/17/11"


def test_core_of_the_readme_is_there() -> None:
    core = find_core(CATALOGUE, "E 25/13/7")
    assert isinstance(core.dimensions, EDimensions)
    assert core.dimensions.outer_depth == core.dimensions.leg_depth


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("E 25/13/8", "Nearest: E 25/13/7"),
        ("ETD 34", "Known: ETD 34/17/11."),
        ("PQ26", "PQ 26/20, PQ 26/25"),
    ],
)
def test_unknown_core_names_the_nearest(name: str, hint: str) -> None:
    with pytest.raises(CatalogueError) as raised:
        find_core(CATALOGUE, name)
    (fault,) = raised.value.faults
    assert fault.found == repr(name)
    assert hint in fault.hint


@pytest.mark.parametrize("name", ["", " ", "-"])
def test_empty_core_name(name: str) -> None:
    with pytest.raises(CatalogueError):
        find_core(CATALOGUE, name)


def test_find_material() -> None:
    assert find_material(CATALOGUE, "mnzn2300").initial_permeability == 2300
    with pytest.raises(CatalogueError, match="Nearest: MnZn 2300"):
        find_material(CATALOGUE, "MnZn 2301")


def test_materials_are_generic_and_complete() -> None:
    names = list(CATALOGUE.materials)
    kinds = (
        "MnZn",
        "NiZn",
        "sendust",
        "MPP",
        "iron powder",
        "silicon steel",
        "nickel iron",
        "nanocrystalline",
    )
    assert {
        material.name.rsplit(" ", 1)[0].split(" GO")[0].split(" NO")[0] for material in _materials()
    } == set(kinds)
    assert len(names) >= 20
    for material in _materials():
        if "steel" not in material.name and "nickel" not in material.name:
            assert material.name.split()[-1] == f"{material.initial_permeability:g}"
        assert len(material.frequencies) == len(material.real_ratio) == len(material.loss_tangent)
        assert len(material.frequencies) >= 5 or material.sheet_thickness > 0
        assert list(material.frequencies) == sorted(material.frequencies)
        rising = np.maximum.accumulate(material.loss_tangent)  # but for ripples where it is small and flat
        assert np.all(rising <= 1.5 * np.asarray(material.loss_tangent))
        assert material.real_ratio[0] == pytest.approx(1, abs=0.01)
        assert 0.3 <= material.saturation_flux_density <= 2.1
        assert "no single source" in material.source


def _materials() -> list[Material]:
    return list(CATALOGUE.materials.values())


def test_tables_of_materials_pass_through_the_initial_permeability() -> None:
    """μa/μi is 1 without flux, θ is 1 at 23 °C, and the field B/μa rises with B in every material."""
    for material in _materials():
        assert float(level_ratio(material, 0.0)) == 1.0
        assert float(temperature_ratio(material, 23.0)) == pytest.approx(1.0)
        flux = np.linspace(1e-6, 0.95 * material.saturation_flux_density, 400)
        assert np.all(np.diff(flux / level_ratio(material, flux)) > 0), material.name


def test_every_row_names_its_source() -> None:
    rows = [*CATALOGUE.cores.values(), *CATALOGUE.wires, *CATALOGUE.materials.values()]
    assert all(row.source for row in rows)


def test_catalogue_cannot_be_changed() -> None:
    with pytest.raises(TypeError):
        CATALOGUE.cores["E 1"] = CATALOGUE.cores["E 25/13/7"]  # type: ignore[index]
    with pytest.raises(TypeError):
        CATALOGUE.wires[0].overall[1] = (0.0, 0.0)  # type: ignore[index]


# --- wires ---


def test_insulated_diameter_is_the_middle_of_the_range() -> None:
    assert insulated_diameter(CATALOGUE, 0.4 * MM, 2) == pytest.approx((0.440 + 0.459) / 2 * MM, abs=1e-9)


def test_diameter_in_between_takes_the_increases_of_the_next_larger_size() -> None:
    minimum, maximum = insulated_range(CATALOGUE, 0.42 * MM, 2)
    assert minimum == pytest.approx((0.42 + 0.042) * MM, abs=1e-9)
    assert maximum == pytest.approx((0.42 + 0.513 - 0.450) * MM, abs=1e-9)


def test_rounding_of_a_nominal_diameter_does_not_change_its_row() -> None:
    assert insulated_diameter(CATALOGUE, 0.4000000001 * MM, 1) == pytest.approx(
        insulated_diameter(CATALOGUE, 0.4 * MM, 1), rel=1e-6
    )


def test_overall_diameter_grows_with_diameter_and_grade() -> None:
    table = [wire for wire in CATALOGUE.wires if not wire.derived]
    for thinner, thicker in itertools.pairwise(table):
        for grade in thinner.overall:
            assert thinner.overall[grade][0] < thicker.overall[grade][0]
            assert thinner.overall[grade][1] < thicker.overall[grade][1]
    for wire in CATALOGUE.wires:
        maxima = [wire.diameter, *(wire.overall[grade][1] for grade in sorted(wire.overall))]
        assert maxima == sorted(maxima)
        assert all(wire.diameter < minimum < maximum for minimum, maximum in wire.overall.values())


def test_awg_rows_follow_the_table() -> None:
    (wire,) = [wire for wire in CATALOGUE.wires if wire.name == "AWG 26"]
    assert wire.derived
    assert wire.diameter == awg_diameter(26)
    assert wire.overall[2] == insulated_range(CATALOGUE, awg_diameter(26), 2)


@pytest.mark.parametrize(("diameter", "grade"), [(0.04, 1), (3.2, 2), (0.05, 3)])
def test_diameter_outside_the_table(diameter: float, grade: int) -> None:
    with pytest.raises(CatalogueError, match=rf"{diameter:g} mm; allowed: .* for grade {grade}") as raised:
        insulated_diameter(CATALOGUE, diameter * MM, grade)
    assert "overall" in raised.value.faults[0].hint


def test_nan_diameter() -> None:
    with pytest.raises(CatalogueError, match=r"wire\.diameter"):
        insulated_diameter(CATALOGUE, float("nan"), 1)


@pytest.mark.parametrize("grade", [0, 4, -1])
def test_unknown_grade(grade: int) -> None:
    with pytest.raises(CatalogueError, match="1, 2 or 3"):
        insulated_diameter(CATALOGUE, 0.4 * MM, grade)


@pytest.mark.parametrize("gauge", [-1, 57, 26.5, True, "26"])
def test_unknown_gauge(gauge: object) -> None:
    with pytest.raises(CatalogueError, match="from 0 to 56"):
        awg_diameter(gauge)  # type: ignore[arg-type]


# --- files ---


def test_extra_file_adds_and_replaces(tmp_path: Path) -> None:
    text = OWN_CORE + OWN_CORE.replace("E 99/1", "E 25/13/7")
    text += """
[[wire]]
kind = "round"
diameter = "0.400 mm"
grade_1 = { increase = "0.030 mm", maximum = "0.450 mm" }
source = "self-bonding, maker's sheet"
[[material]]
name = "our ferrite"
initial_permeability = 1800
tolerance = "20 %"
temperature_coefficient = "-0.001 1/K"
level_coefficient = "2 1/T"
frequencies = ["10 kHz", "1 MHz"]
real_ratio = [1.0, 0.9]
loss_tangent = [0.002, 0.1]
source = "measured"
"""
    catalogue = load_catalogue([written(tmp_path, text)])
    assert find_core(catalogue, "e99/1").published_area is None
    assert find_core(catalogue, "E 25/13/7").source == "our drawing 4711"
    assert find_core(CATALOGUE, "E 25/13/7").source != "our drawing 4711"
    assert len(catalogue.cores) == len(CATALOGUE.cores) + 1
    assert insulated_diameter(catalogue, 0.4 * MM, 1) == pytest.approx(0.44 * MM)
    material = find_material(catalogue, "Our Ferrite")
    assert (material.tolerance, material.temperature_coefficient, material.level_coefficient) == (
        0.2,
        -0.001,
        2.0,
    )
    assert material.frequencies == (1e4, 1e6)


def test_every_form_can_be_written(tmp_path: Path) -> None:
    text = ""
    for name, dimensions in {
        "P 18/11": 'form = "pot", leg_diameter = "7.45 mm", window_diameter = "15.15 mm", outer_diameter = '
        '"17.6 mm", window_height = "7.4 mm", back = "1.5 mm", slots = 2, slot_angle = "17 deg", '
        'hole_diameter = "3.1 mm"',
        "U 10": 'form = "U", leg_width = "3 mm", leg_depth = "3 mm", window_width = "4 mm", window_height = '
        '"10 mm", back = "3 mm"',
        "EFD 15": 'form = "E", leg_width = "5.3 mm", leg_depth = "2.4 mm", window_width = "2.8 mm", '
        'window_height = "11 mm", outer_leg = "2 mm", back = "2 mm", outer_depth = "4.65 mm"',
    }.items():
        text += f'[[core]]\nname = "{name}"\nfamily = "x"\nsource = "y"\ndimensions = {{ {dimensions} }}\n'
    catalogue = load_catalogue([written(tmp_path, text)])
    pot = find_core(catalogue, "P 18/11").dimensions
    assert isinstance(pot, PotDimensions)
    assert pot.slot_angle == pytest.approx(0.29671, rel=1e-4)
    efd = find_core(catalogue, "EFD15").dimensions
    assert isinstance(efd, EDimensions)
    assert efd.outer_depth == pytest.approx(4.65 * MM)


def test_all_faults_at_once(tmp_path: Path) -> None:
    path = written(
        tmp_path,
        """
colour = "red"
[[core]]
name = "E 1"
family = "E"
dimensions = { form = "E", leg_widht = "12 mm", leg_depth = 15, window_width = "9 kHz", \
window_height = "30 mm", outer_leg = "-6 mm", back = "6 mm" }
published = { area = "97.1 mm", lenght = "3 mm" }
[[core]]
name = "T 1"
family = "toroid"
dimensions = { form = "ring" }
source = "s"
from_memory = "yes"
[[core]]
name = "T 2"
family = "toroid"
dimensions = { form = "toroid", outer_diameter = "10 mm", inner_diameter = "12 mm", height = "4 mm" }
source = "s"
[[wire]]
kind = "square"
diameter = "0.4 mm"
grade_1 = { increase = "0.1 mm", maximum = "0.45 mm" }
grade_4 = { increase = "0.1 mm", maximum = "0.45 mm" }
source = "s"
[[material]]
name = "m"
initial_permeability = "2300"
frequencies = ["1 MHz", "1 kHz"]
real_ratio = [1.0]
loss_tangent = [0.1, -0.1]
source = "s"
""",
    )
    with pytest.raises(CatalogueError) as raised:
        load_catalogue([path])
    faults = raised.value.faults
    assert all(fault.file == "our-parts.toml" for fault in faults)
    places = [fault.place for fault in faults]
    for place in [
        "colour",
        "core 1 (E 1): source",
        "core 1 (E 1): dimensions.leg_widht",
        "core 1 (E 1): dimensions.leg_width",
        "core 1 (E 1): dimensions.leg_depth",
        "core 1 (E 1): dimensions.window_width",
        "core 1 (E 1): dimensions.outer_leg",
        "core 1 (E 1): published.area",
        "core 1 (E 1): published.lenght",
        "core 2 (T 1): dimensions.form",
        "core 2 (T 1): from_memory",
        "core 3 (T 2): dimensions.inner_diameter",
        "wire 1 (0.4 mm): kind",
        "wire 1 (0.4 mm): grade_1.maximum",
        "wire 1 (0.4 mm): grade_4",
        "material 1 (m): initial_permeability",
        "material 1 (m): frequencies",
        "material 1 (m): loss_tangent",
    ]:
        assert place in places
    (misspelt,) = [fault for fault in faults if fault.place.endswith("leg_widht")]
    assert misspelt.hint == "Did you mean 'leg_width'?"


def test_faults_of_several_files_together(tmp_path: Path) -> None:
    broken = written(tmp_path, "[[core]\n")
    with pytest.raises(CatalogueError) as raised:
        load_catalogue([broken, tmp_path / "absent.toml"])
    assert [Path(fault.file).name for fault in raised.value.faults] == ["our-parts.toml", "absent.toml"]


@pytest.mark.parametrize("text", ["core = 1", "core = [1]", "wire = { }"])
def test_table_that_is_no_table(tmp_path: Path, text: str) -> None:
    with pytest.raises(CatalogueError, match=r"tables written \[\["):
        load_catalogue([written(tmp_path, text)])


def test_same_name_twice_in_a_file(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="once in a file"):
        load_catalogue([written(tmp_path, OWN_CORE + OWN_CORE.replace("E 99/1", "e99/1"))])


@pytest.mark.parametrize(
    ("dimensions", "key"),
    [
        (ToroidDimensions(0.01, 0.01, 0.01), "inner_diameter"),
        (ToroidDimensions(0.02, 0.01, 0.0), "height"),
        (ToroidDimensions(0.02, 0.01, float("nan")), "height"),
        (
            RoundDimensions(
                leg_diameter=0.02,
                window_diameter=0.018,
                length=0.03,
                depth=0.01,
                window_height=0.02,
                back=0.004,
            ),
            "leg_diameter",
        ),
        (
            RoundDimensions(
                leg_diameter=0.01,
                window_diameter=0.03,
                length=0.02,
                depth=0.01,
                window_height=0.02,
                back=0.004,
            ),
            "window_diameter",
        ),
        (
            PotDimensions(
                leg_diameter=0.01,
                window_diameter=0.02,
                outer_diameter=0.03,
                window_height=0.01,
                back=0.003,
                slots=2,
                slot_angle=3.2,
            ),
            "slot_angle",
        ),
        (
            PotDimensions(
                leg_diameter=0.01,
                window_diameter=0.02,
                outer_diameter=0.03,
                window_height=0.01,
                back=0.003,
                hole_diameter=0.011,
            ),
            "hole_diameter",
        ),
        (
            EDimensions(
                leg_width=0.01,
                leg_depth=0.02,
                window_width=0.01,
                window_height=0.02,
                outer_leg=0.005,
                back=0.005,
                outer_depth=0.02,
                leg_corner=0.006,
            ),
            "leg_corner",
        ),
        (
            EDimensions(
                leg_width=0.01,
                leg_depth=-0.02,
                window_width=0.01,
                window_height=0.02,
                outer_leg=0.005,
                back=0.005,
                outer_depth=0.02,
            ),
            "leg_depth",
        ),
    ],
)
def test_dimensions_that_enclose_no_core(
    dimensions: ToroidDimensions | RoundDimensions | PotDimensions | EDimensions, key: str
) -> None:
    with pytest.raises(DesignError) as raised:
        effective_parameters(dimensions)
    assert [fault.place for fault in raised.value.faults] == [f"core.dimensions.{key}"]
