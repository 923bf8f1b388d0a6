"""One part at several stages of its making: which step moved which reading."""

import math
from pathlib import Path

import pytest

from aswound.compare.readings.file import parse_readings
from aswound.compare.verdict.comparison import SampleComparison, compare
from aswound.compare.verdict.stages import coreless, finished_readings
from aswound.predict.designfile.reader import load_design
from aswound.predict.errors import ReadingsError

DESIGN = load_design(Path(__file__).parents[2] / "samples" / "flyback-24w.toml")
HEADER = "sample,test,reading,stage,temperature,uncertainty\n"


def compared(rows: str) -> tuple[SampleComparison, ...]:
    return compare(DESIGN, parse_readings(HEADER + rows, DESIGN), builds=50)


@pytest.mark.parametrize(
    ("stage", "expected"),
    [
        ("before core", True),
        ("Before coring", True),
        ("wound", True),
        ("without core, dry", True),
        ("assembled", False),
        ("", False),
        ("before varnish", False),
    ],
)
def test_stages_before_the_core(stage: str, expected: bool) -> None:
    assert coreless(stage) is expected


def test_the_step_that_moved_a_reading() -> None:
    """+3 % by varnishing, with 0.2 % of handling each time: 0.03/(0.002 √(1 + 1.03²)) = 10.4."""
    samples = compared("A,L_P,600 uH,assembled,,\nA,L_P,618 uH,varnished,,\nA,L_P,618.5 uH,cured,,\n")
    assert samples[0].changes == ()
    (varnish,), (cure,) = samples[1].changes, samples[2].changes
    assert (varnish.start, varnish.end, varnish.moved) == ("assembled", "varnished", True)
    assert varnish.change == pytest.approx(0.03)
    assert varnish.score == pytest.approx(0.03 / (0.002 * math.hypot(1, 1.03)), rel=1e-9)
    assert (cure.start, cure.moved) == ("varnished", False)


def test_the_meter_common_to_both_readings_cancels() -> None:
    """A stated 3 % (k = 2) hides the same step from the limit, not from the change."""
    samples = compared("A,L_P,600 uH,assembled,,3 %\nA,L_P,618 uH,varnished,,3 %\n")
    (change,) = samples[1].changes
    assert change.moved
    assert samples[1].tests[0].read_uncertainty == pytest.approx(0.015 * 618e-6)


def test_repeats_show_the_handling_themselves() -> None:
    rows = "".join(f"A,L_P,{value} uH,assembled,,\n" for value in (580, 600, 620))
    (change,) = compared(rows + "A,L_P,618 uH,varnished,,\n")[1].changes
    assert not change.moved
    assert change.change_uncertainty == pytest.approx(math.hypot(20 / math.sqrt(3), 0.002 * 618) / 600)


def test_rooms_of_which_nobody_told() -> None:
    """A copper resistance that rises by 1.2 %: 3 K if the room is not told, a step if it is."""
    untold = compared("A,R_P,560 mohm,assembled,,\nA,R_P,566.7 mohm,varnished,,\n")[1].changes[0]
    told = compared("A,R_P,560 mohm,assembled,23 degC,\nA,R_P,566.7 mohm,varnished,26 degC,\n")[1].changes[0]
    assert not untold.moved
    assert told.change == pytest.approx(0.0, abs=5e-4)  # brought to one temperature, the 3 K are gone
    assert told.change_uncertainty < untold.change_uncertainty / 2


def test_before_the_core_only_copper_is_judged() -> None:
    before, after = compared(
        "A,R_P,560 mohm,before core,,\nA,L_P,20 uH,before core,,\nA,n,4,before core,,\n"
        "A,R_P,561 mohm,assembled,,\nA,L_P,600 uH,assembled,,\n"
    )
    verdicts = {test.name: (test.verdict, test.score is None) for test in before.tests}
    assert verdicts == {
        "R_P": ("no limit", False),
        "L_P": ("not judged", True),
        "n": ("not judged", True),
    }
    assert not before.deviates
    assert [change.name for change in after.changes] == ["R_P"]  # the core moves L_P: no news


def test_a_diagnosis_leaves_out_what_was_read_before_the_core() -> None:
    readings = parse_readings(HEADER + "A,L_P,20 uH,wound,,\nA,R_P,560 mohm,wound,,\n", DESIGN)
    kept, left = finished_readings(DESIGN, readings)
    assert [item.test for item in kept] == ["R_P"]
    assert left == ("A, wound: L_P",)
    with pytest.raises(ReadingsError, match="before the core is in"):
        finished_readings(DESIGN, readings[:1])


def test_a_stage_before_the_core_comes_first_wherever_it_stands() -> None:
    samples = compared("A,R_P,0.57 ohm,assembled,20 degC,\nA,R_P,0.55 ohm,before core,20 degC,\n")
    (change,) = samples[0].changes
    assert (change.start, change.end) == ("before core", "assembled")


def test_samples_do_not_mix() -> None:
    samples = compared("A,L_P,600 uH,assembled,,\nB,L_P,618 uH,varnished,,\n")
    assert all(sample.changes == () for sample in samples)
