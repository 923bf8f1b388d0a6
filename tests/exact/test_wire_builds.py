"""Wire by the name of its covering, served bundles, triple-insulated wire between circuits.

Diameters by hand from the rows of the catalogue; what a maker's table says is labelled published.
"""

from __future__ import annotations

import math

import pytest

from aswound.predict import Design, parse_design, readings
from aswound.predict.catalogue import insulated_diameter, load_catalogue
from aswound.predict.catalogue.wire_builds import build_range
from aswound.predict.copper import lay_factor
from aswound.predict.errors import DesignError
from aswound.predict.winding import bundle_diameter, faces_between_circuits, lay_out

pytestmark = pytest.mark.exact

CATALOGUE = load_catalogue()
MM = 1e-3


def design(
    wire: str, other: str = '{ diameter = "0.30 mm", grade = 2 }', tape: str = "", turns: str = "10,8"
) -> Design:
    first, second = turns.split(",")
    return parse_design(f"""
[core]
shape = "ETD 39/20/13"
mu_i = 2300
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
[[winding]]
name = "P"
wire = {wire}
[[winding]]
name = "S"
wire = {other}
[build]
steps = [ {{ wind = "P", turns = {first} }}, {tape} {{ wind = "S", turns = {second} }} ]
[[test]]
name = "R"
measure = "resistance"
drive = "P"
[[test]]
name = "C"
measure = "capacitance"
drive = "P"
sense = "S"
frequency = "10 kHz"
""")


@pytest.mark.published
@pytest.mark.parametrize(("bare", "overall"), [(0.2, 0.4), (0.4, 0.6), (1.0, 1.2)])
def test_triple_insulated_wire(bare: float, overall: float) -> None:
    """Makers' tables (from memory): 0.20 mm above the bare diameter, of any size; ± 20 µm."""
    low, high = build_range(CATALOGUE, bare * MM, "triple")
    assert (low + high) / 2 == pytest.approx(overall * MM, rel=1e-9)
    assert (high - low) / 2 == pytest.approx(0.02 * MM)
    assert insulated_diameter(CATALOGUE, bare * MM, "triple") == pytest.approx(overall * MM)


def test_bonding_layers_lie_between_the_grades() -> None:
    """1B of 0.4 mm: from the greatest of grade 1 to that of grade 2; 2B on from there to that of grade 3."""
    of = {grade: build_range(CATALOGUE, 0.4 * MM, grade)[1] for grade in (1, 2, 3)}
    assert build_range(CATALOGUE, 0.4 * MM, "1B") == (of[1], of[2])
    assert build_range(CATALOGUE, 0.4 * MM, "2B") == (of[2], of[3])
    wire = design('{ diameter = "0.40 mm", grade = "1b" }').winding("P").wire
    assert (wire.overall, wire.label, wire.triple) == (
        pytest.approx((of[1] + of[2]) / 2),
        "0.40 mm, grade 1B",
        False,
    )


def test_litz_by_its_strands() -> None:
    """1.155 √n strands' overall diameter, and the serving on both sides."""
    wire = design('{ litz_strands = 40, strand = "0.071 mm", strand_grade = 1, serving = "0.035 mm" }')
    found = float(wire.winding("P").wire.overall)
    strand = insulated_diameter(CATALOGUE, 0.071 * MM, 1)
    assert found == pytest.approx(1.155 * math.sqrt(40) * strand + 0.07 * MM)
    assert found == pytest.approx(0.66 * MM, rel=0.02)
    assert wire.winding("P").wire.label == "litz 40 × 0.071 mm, grade 1, served 0.035 mm"


def test_a_served_bundle_takes_its_room_and_its_copper_is_that_without() -> None:
    """Three twisted wires, f = 1 + 2/√3: pitch and height grow by two servings; the lay counts from the
    wires."""
    text = '{{ diameter = "0.20 mm", grade = 1, in_hand = 3, twisted = true, lay = "10 mm"{} }}'
    plain, served = design(text.format("")), design(text.format(', serving = "0.05 mm"'))
    bare, covered = (float(bundle_diameter(d.winding("P").wire)) for d in (plain, served))
    assert bare == pytest.approx((1 + 2 / math.sqrt(3)) * float(plain.winding("P").wire.overall))
    assert covered == pytest.approx(bare + 0.1 * MM)
    heights = [float(lay_out(d).top[0]) for d in (plain, served)]
    assert heights[1] - heights[0] == pytest.approx(0.1 * MM, rel=1e-6)
    factor = float(lay_factor(bare / 2, 10 * MM))
    assert plain.winding("P").wire.lay_factor == pytest.approx(factor)
    assert served.winding("P").wire.lay_factor == pytest.approx(factor)
    one, other = (readings(d) for d in (plain, served))
    turn = lay_out(served).turn_length[0, 0] / lay_out(plain).turn_length[0, 0]
    assert float(other[0] / one[0]) == pytest.approx(float(turn), rel=1e-9)
    close = [
        float(readings(design(text.format(more), turns="40,70"))[1]) for more in ("", ', serving = "0.05 mm"')
    ]
    assert close[1] < 0.9 * close[0]  # close turns: the serving keeps the bundle from S


def test_litz_and_bundles_without_a_stated_lay_are_longer() -> None:
    """5 % of litz, 2 % of a twisted bundle, above the straight copper: rho l/A by hand."""
    for wire, strands, strand, more in (
        ('{ litz_strands = 40, strand = "0.071 mm", strand_grade = 1 }', 40, 0.071, 1.05),
        ('{ diameter = "0.20 mm", grade = 1, in_hand = 3, twisted = true }', 3, 0.2, 1.02),
    ):
        made = design(wire)
        length = 10 * float(lay_out(made).turn_length[0, 0])
        straight = length / 58e6 / (strands * math.pi / 4 * (strand * MM) ** 2)
        assert float(readings(made)[0]) == pytest.approx(more * straight, rel=1e-3)


def test_triple_insulated_wire_counts_between_circuits() -> None:
    """The wall of one wire lies in the face, beside the tape; of both sides where both are such."""
    triple = '{ diameter = "0.30 mm", grade = "triple" }'
    tape = '{ tape = "0.06 mm", wraps = 2 },'
    for one, other, walls in (
        ('{ diameter = "0.30 mm", grade = 2 }', triple, 1),
        (triple, triple, 2),
        (
            '{ diameter = "0.30 mm", overall = "0.50 mm", triple = true }',
            '{ diameter = "0.3 mm", grade = 2 }',
            1,
        ),
        ('{ diameter = "0.30 mm", overall = "0.50 mm" }', '{ diameter = "0.3 mm", grade = 2 }', 0),
    ):
        (face,) = faces_between_circuits(design(one, other))
        assert [part.what for part in face.insulation] == ["triple-insulated wire"] * walls
        assert face.thickness == pytest.approx(walls * 0.1 * MM)
        (taped,) = faces_between_circuits(design(one, other, tape))
        assert taped.thickness == pytest.approx(0.12 * MM + walls * 0.1 * MM)


@pytest.mark.parametrize(
    ("wire", "field", "said"),
    [
        ('{ diameter = "0.3 mm", grade = "1C" }', "wire.grade", '"1B" or "2B"'),
        ('{ diameter = "1.5 mm", grade = "triple" }', "wire.diameter", "0.2 mm to 1 mm"),
        ('{ diameter = "0.3 mm", grade = 2, serving = "0.1 mm" }', "wire.serving", "litz, or twisted"),
        (
            '{ diameter = "0.3 mm", grade = 2, triple = true }',
            "wire.triple",
            "triple with a measured overall",
        ),
        ('{ litz_strands = 40, strand = "0.1 mm" }', "wire.overall", "strand_grade"),
        (
            '{ litz_strands = 40, strand = "0.1 mm", overall = "1 mm", serving = "0.1 mm" }',
            "wire.serving",
            "one of the two",
        ),
    ],
)
def test_what_does_not_go_together_is_refused(wire: str, field: str, said: str) -> None:
    with pytest.raises(DesignError) as refused:
        design(wire)
    (fault,) = refused.value.faults
    assert fault.place.endswith(field)
    assert said in fault.allowed
