"""Two wires in place of four, from the readings alone: equal offsets, windings in series (circuit theory)."""

from __future__ import annotations

import math

import pytest

from aswound.compare.consistency.checks import part_checks
from aswound.compare.consistency.derived_otherwise import missing
from aswound.compare.consistency.part import Check, PartReading, PartReadings
from aswound.predict.design import Bench, BenchTest, Join, Member

DRAWN = {"P": 0.300, "S": 0.010}


def item(name: str, value: float, *drive: str, uncertainty: float = 0.5e-3) -> PartReading:
    members = tuple(Member(one) for one in (drive or (name,)))
    return PartReading(
        test=BenchTest(name=f"R_{name}", measure="resistance", drive=members),
        value=value,
        uncertainty=uncertainty,
    )


def found(readings: PartReadings, name: str) -> Check | None:
    return next((check for check in part_checks(readings) if check.check == name), None)


def of(*items: PartReading, drawn: dict[str, float] | None = None) -> PartReadings:
    return PartReadings(
        items=items, bench=Bench(), turning={"P": 1, "S": 1}, drawn=DRAWN if drawn is None else drawn
    )


@pytest.mark.parametrize("offset", [15e-3, 35e-3, 200e-3])
def test_an_equal_offset_is_the_leads(offset: float) -> None:
    """Both windings exactly r above the drawing: χ²(r) = 0, so that the score is the root of the better of
    the two others, nothing and a common factor, by hand."""
    check = found(of(item("P", 0.300 + offset), item("S", 0.010 + offset)), "equal offsets")
    assert check is not None
    assert not check.holds
    doubt = [math.hypot(0.5e-3, 0.02 * drawn) for drawn in DRAWN.values()]
    nothing = sum((offset / one) ** 2 for one in doubt)
    factor = sum(drawn * offset / one**2 for drawn, one in zip(DRAWN.values(), doubt, strict=True))
    factor /= sum((drawn / one) ** 2 for drawn, one in zip(DRAWN.values(), doubt, strict=True))
    scaled = sum(
        ((offset - factor * drawn) / one) ** 2 for drawn, one in zip(DRAWN.values(), doubt, strict=True)
    )
    assert check.score == pytest.approx(math.sqrt(min(nothing, scaled)), rel=1e-9)
    assert f"{1e3 * offset:.3g} mΩ in each" in check.detail


@pytest.mark.parametrize(
    ("primary", "secondary"),
    [
        (0.300, 0.010),  # as drawn
        (0.330, 0.011),  # a tenth warmer or longer: a factor
        (0.300, 0.020),  # half of the wires in hand of S do not conduct
        (0.305, 0.005),  # of unlike sign
        (0.270, -0.005),  # the leads taken off twice
    ],
)
def test_other_deviations_are_not(primary: float, secondary: float) -> None:
    check = found(of(item("P", primary), item("S", secondary)), "equal offsets")
    assert check is not None
    assert check.holds


def test_windings_of_like_resistance_cannot_tell_an_offset_from_a_factor() -> None:
    alike = {"P": 0.100, "S": 0.120}
    assert found(of(item("P", 0.130), item("S", 0.150), drawn=alike), "equal offsets") is None
    assert found(of(item("P", 0.130), item("S", 0.150), drawn={}), "equal offsets") is None


def test_windings_one_by_one_against_in_series() -> None:
    """Leads of r: (R1 + r) + (R2 + r) − (R1 + R2 + r) = r, without any drawing."""
    r = 20e-3
    readings = of(item("P", 0.3 + r), item("S", 0.01 + r), item("PS", 0.31 + r, "P", "S"), drawn={})
    check = found(readings, "resistances in series")
    assert check is not None
    assert not check.holds
    assert check.score == pytest.approx(r / (math.sqrt(3) * 0.5e-3), rel=1e-9)
    assert "20 mΩ more in each single reading" in check.detail
    four = of(item("P", 0.3), item("S", 0.01), item("PS", 0.31, "P", "S"), drawn={})
    sound = found(four, "resistances in series")
    assert sound is not None
    assert sound.holds
    poor = found(
        of(item("P", 0.3), item("S", 0.01), item("PS", 0.33, "P", "S"), drawn={}), "resistances in series"
    )
    assert poor is not None
    assert "poor joint" in poor.detail


def test_without_a_drawing_the_reading_that_would_show_leads_is_named() -> None:
    apart = of(item("P", 0.3), item("S", 0.01), drawn={})
    (told,) = [text for text in missing(apart, ()) if "leads" in text]
    assert 'drive "P + S"' in told
    series = of(item("P", 0.3), item("S", 0.01), item("PS", 0.31, "P", "S"), drawn={})
    assert not [text for text in missing(series, ()) if "leads" in text]
    assert not [text for text in missing(of(item("P", 0.3), drawn={}), ()) if "leads" in text]


def test_a_join_lacks_no_coupling_to_what_is_in_it() -> None:
    """S is S1 beside S2, SS is S beside S3: shorting S1 shorts S. P is in neither."""
    joins = (
        Join("S", "parallel", (Member("S1"), Member("S2"))),
        Join("SS", "parallel", (Member("S"), Member("S3"))),
    )
    read = of(
        item("S", 0.01), item("S1", 0.02), item("S3", 0.03), item("SS", 0.005), item("P", 0.3), drawn={}
    )
    pairs = {text.partition(":")[0] for text in missing(read, (), joins) if text.startswith("k of")}
    assert pairs == {"k of S, S3", "k of S, P", "k of S1, S3", "k of S1, P", "k of S3, P", "k of SS, P"}
    assert len([text for text in missing(read, ()) if text.startswith("k of")]) == 10
    (leads,) = [text for text in missing(read, (), joins) if text.startswith("leads")]
    assert 'drive "S + S3"' in leads
