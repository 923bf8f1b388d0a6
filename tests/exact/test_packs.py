"""Packs of equal layers against every layer by itself."""

from __future__ import annotations

import itertools
from dataclasses import replace

import ladder
import numpy as np
import pytest

from aswound.predict import lay_out, parse_design, readings
from aswound.predict.design import Design
from aswound.predict.winding import packed, packs

pytestmark = pytest.mark.exact

COUNT = itertools.count()

FOIL = """
[core]
shape = "ETD 39/20/13"
material = "MnZn 2300"
gap = "0.5 mm"
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
[[winding]]
name = "P"
wire = { foil = "0.1 mm", width = "22 mm" }
[[winding]]
name = "S"
wire = { foil = "0.2 mm", width = "20 mm" }
[build]
interlayer = "0.05 mm"
steps = [
  { wind = "P", turns = 12 },
  { tape = "0.1 mm", wraps = 2 },
  { wind = "S", turns = 7 },
]
""" + ladder.tests("10 kHz", "100 kHz")


def _design(name: str) -> Design:
    return parse_design(FOIL if name == "foil" else ladder.RUNGS[name])


def _apart(monkeypatch: pytest.MonkeyPatch, design: Design) -> np.ndarray:
    with monkeypatch.context() as patch:
        patch.setattr(packs, "FEW", 10_000)
        return _afresh(design)


def _afresh(design: Design) -> np.ndarray:
    """Readings computed anew: nothing is remembered of a design of another title."""
    return np.asarray(readings(replace(design, title=f"{design.title} {next(COUNT)}")))


@pytest.mark.parametrize("name", ["10 layers", "20 layers", "mains", "litz 60", "bifilar"])
def test_packs_read_as_layers_by_themselves(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every inductance within 0.1 %, what alternating current adds to resistance within 1 %."""
    design = _design(name)
    apart, together = _apart(monkeypatch, design), _afresh(design)
    still = replace(design, tests=tuple(_at_rest(test) for test in design.tests))
    rest = np.asarray(readings(still))
    for place, test in enumerate(design.tests):
        if test.measure == "ac_resistance":
            added = apart[place] - rest[place]
            assert together[place] - rest[place] == pytest.approx(added, rel=0.01), test.name
        else:
            assert together[place] == pytest.approx(apart[place], rel=1e-3), test.name


def _at_rest(test):  # type: ignore[no-untyped-def]
    """An alternating-current resistance at so low a frequency that it is that of direct current."""
    return replace(test, frequency=1.0) if test.measure == "ac_resistance" else test


def test_a_reading_moves_by_packs_at_all(monkeypatch: pytest.MonkeyPatch) -> None:
    """The comparison compares two things: with packs the numbers are others in the seventh digit."""
    design = _design("10 layers")
    apart, together = _apart(monkeypatch, design), _afresh(design)
    assert np.any(np.abs(together / apart - 1) > 1e-7)


def test_strips_stay_by_themselves(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twelve turns of foil beside a gap, whose currents redistribute each by itself: the same to the last
    digit."""
    design = _design("foil")
    assert np.array_equal(_apart(monkeypatch, design), _afresh(design))


def test_the_ripple_is_what_straight_lines_leave_out() -> None:
    """Sheets of thickness t at the pitch p: by hand, (p − t)/6 over breadth times length for each."""
    layout = lay_out(_design("10 layers"))
    found = packed(layout)
    assert found is not None
    x0, x1, y0, y1 = np.moveaxis(layout.copper[0], -1, 0)
    inside = slice(3, 6)  # of the secondary, all in packs
    pitch = np.diff((x0 + x1) / 2)[3]
    expected = (pitch - (x1 - x0)) / (6 * (y1 - y0)) * layout.turn_length[0]
    assert found.ripple[0, inside] == pytest.approx(expected[inside], rel=1e-9)
    alone = np.flatnonzero(found.layout.layers[0] == 1)
    assert found.ripple[0, [int(np.argmax(found.share[0, :, pack])) for pack in alone]] == pytest.approx(0.0)


def test_turns_and_their_lengths_are_all_there() -> None:
    """Of every branch: turns, and length of wire, as in the layers."""
    layout = lay_out(_design("20 layers"))
    found = packed(layout)
    assert found is not None
    assert len(found.layout.sections) < len(layout.sections)
    for number in range(len(layout.branches)):
        fine = [k for k, section in enumerate(layout.sections) if section.branch == number]
        coarse = [k for k, section in enumerate(found.layout.sections) if section.branch == number]
        assert layout.turns[:, fine].sum() == found.layout.turns[:, coarse].sum()
        assert (layout.turns * layout.turn_length)[:, fine].sum() == pytest.approx(
            (found.layout.turns * found.layout.turn_length)[:, coarse].sum(), rel=1e-12
        )
    assert found.share.sum(axis=1) == pytest.approx(1.0)


def test_few_layers_stay_by_themselves() -> None:
    """Three layers: nothing to take together; and the number of packs never exceeds five a step."""
    assert packed(lay_out(_design("3 layers"))) is None
    counts = np.arange(1, 100)
    number = packs.packs_of(counts)
    assert np.all(number <= np.minimum(counts, 1 + packs.MOST))
    assert np.array_equal(number[:3], [1, 2, 3])
