"""Charts: where a value lies on the page, and what stands at the ticks. Labels: exact, cli."""

from __future__ import annotations

import math
import re
from types import SimpleNamespace
from typing import cast
from xml.etree import ElementTree

import numpy as np
import pytest

from aswound.cli.views.report_drivers import drivers_svg
from aswound.cli.views.report_lot import LotReadings, lot_svg
from aswound.cli.views.report_ranges import Mark, Strip, ranges_svg
from aswound.cli.views.svg_chart import (
    WIDTH,
    LegendKey,
    Scale,
    chart_legend,
    limits_drawn,
    logarithmic_ticks,
    tick_texts,
)
from aswound.cli.views.svg_marks import FILL, SHAPES, mark, text_width
from aswound.cli.views.sweep_chart import Curve
from aswound.cli.views.sweep_svg import sweep_svg
from aswound.compare.lots import LotTest
from aswound.predict.production import Driver, Resonance


def texts(svg: str) -> list[tuple[str, float, float]]:
    """(text, x, y) of a picture."""
    found = [each for each in ElementTree.fromstring(svg).iter() if each.tag.endswith("}text")]
    return [(each.text or "", float(each.attrib["x"]), float(each.attrib["y"])) for each in found]


def boxes(svg: str, fill: str) -> list[tuple[float, float]]:
    """(left, right) of the rectangles with a fill, the legend's left out."""
    found = [each.attrib for each in ElementTree.fromstring(svg).iter() if each.tag.endswith("}rect")]
    wide = [(float(each["x"]), float(each["width"])) for each in found if each.get("fill") == fill]
    return [(x, x + width) for x, width in wide if width != 20.0]


def test_scales() -> None:
    """Exact: halfway along, halfway along in the logarithm; beyond the ends too, but not without end."""
    assert Scale(low=10.0, high=30.0, start=100.0, end=200.0)(15.0) == 125.0
    assert Scale(low=0.0, high=1.0, start=90.0, end=10.0)(0.25) == 70.0
    assert Scale(low=1.0, high=1e4, start=0.0, end=80.0, logarithmic=True)(1e3) == pytest.approx(60.0)
    assert Scale(low=0.0, high=1.0, start=0.0, end=100.0)(1e9) == 1000.0
    assert Scale(low=0.0, high=1.0, start=0.0, end=100.0)(1.5) == 150.0


def test_logarithmic_ticks() -> None:
    """Exact: decades; fewer where there is no room; 1, 2, 5 within one; evenly where even those are too far
    apart."""
    assert logarithmic_ticks(1e3, 1e7, 10) == [1e3, 1e4, 1e5, 1e6, 1e7]
    assert logarithmic_ticks(1.0, 1e9, 5) == [1.0, 1e2, 1e4, 1e6, 1e8]
    assert logarithmic_ticks(1.3, 14.0, 6) == [2.0, 5.0, 10.0]
    assert logarithmic_ticks(2.1, 4.5, 3) == [3.0, 4.0]


def test_numbers_of_ticks() -> None:
    assert tick_texts([0.0, 0.5, 1.0]) == ["0.0", "0.5", "1.0"]
    assert tick_texts([-0.02, -0.0, 0.02]) == ["-0.02", "0.00", "0.02"]
    assert tick_texts([560.0, 580.0]) == ["560", "580"]
    assert tick_texts([7.5]) == ["7.5"]


def test_widths_of_letters_order_texts() -> None:
    """Property: an estimate, but narrow letters are narrow, wide ones wide, accents none."""
    assert text_width("iiii", 9.0) < text_width("nnnn", 9.0) < text_width("WWWW", 9.0)
    assert text_width("線", 10.0) == 10.0
    assert text_width("n\N{COMBINING ACUTE ACCENT}", 9.0) == text_width("n", 9.0)


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes_are_closed_differ_and_stay_near_their_place(shape: str) -> None:
    drawn = mark(shape, 50.0, 20.0)
    assert re.search(r'd="M[^"]*Z"', drawn)
    assert sum(mark(other, 50.0, 20.0) == drawn for other in SHAPES) == 1
    path = re.search(r'd="M([^aZ]*)', drawn)
    assert path is not None
    points = [tuple(map(float, pair.split())) for pair in path[1].split("L")]
    assert all(math.hypot(x - 50.0, y - 20.0) < 4.0 for x, y in points)


def test_legend_stays_on_the_page() -> None:
    """Property: as many lines as it needs, none beyond the right edge, none over another."""
    keys = [LegendKey(f"a driver of some length {number}", "#fff") for number in range(7)]
    lines, end = chart_legend(keys, 0.0)
    shown = texts(f'<svg xmlns="http://www.w3.org/2000/svg">{"".join(lines)}</svg>')
    assert len({y for _, _, y in shown}) > 1
    assert all(x + text_width(text, 8.5) < WIDTH for text, x, _ in shown)
    assert max(y for *_, y in shown) < end


def test_what_lies_outside_a_limit_is_hatched() -> None:
    """Exact: from the limit to the end of the axis on its side."""
    scale = Scale(low=0.0, high=10.0, start=0.0, end=100.0)

    def hatched(low: float | None, high: float | None) -> list[tuple[float, float]]:
        body = "".join(limits_drawn(scale, (low, high), (0.0, 20.0)))
        return boxes(f'<svg xmlns="http://www.w3.org/2000/svg">{body}</svg>', "url(#outside)")

    assert hatched(3.0, 6.0) == [(0.0, 30.0), (60.0, 100.0)]
    assert hatched(None, 6.0) == [(60.0, 100.0)]
    assert hatched(None, None) == []


def test_a_strip_shows_its_numbers() -> None:
    """Exact: range, nominal, reading and its bar stand where the ticks say."""
    strip = Strip(
        label="L_P", measure="inductance", nominal=590e-6, low=560e-6, high=620e-6, minimum=None,
        maximum=None, marks=(Mark("A", 600e-6, 6e-6),),
    )  # fmt: skip
    svg = ranges_svg([strip])
    ticks = {float(text): x for text, x, _ in texts(svg) if re.fullmatch(r"\d+", text)}
    (one, first), (two, last) = min(ticks.items()), max(ticks.items())

    def at(value: float) -> float:
        return first + (value - one) * (last - first) / (two - one)

    assert boxes(svg, "#c3d3e8")[0] == pytest.approx((at(560.0), at(620.0)), abs=1e-3)
    assert f"M{at(590.0):.4f}".rstrip("0")[:8] in svg
    ends = [
        float(x) for x, y, x2, y2 in re.findall(r'd="M([\d.]+) ([\d.]+)L([\d.]+) ([\d.]+)"', svg) if y != y2
    ]
    for value in (594.0, 606.0):
        assert min(abs(x - at(value)) for x in ends) < 1e-3
    assert "A read 600.0 µH" in svg
    assert "(µH)" in svg


def test_readings_beyond_a_strip_stand_apart() -> None:
    """Four far ones: three told with their samples, each on a line of its own, and that there is one more."""
    far = [Mark(f"S{number}", 1e-3 * number, 1e-6) for number in range(2, 6)]
    strip = Strip(
        label="L", measure="inductance", nominal=590e-6, low=560e-6, high=620e-6, minimum=None, maximum=None,
        marks=tuple(far),
    )  # fmt: skip
    told = [(text, y) for text, _, y in texts(ranges_svg([strip])) if "→" in text]
    assert [text for text, _ in told] == ["S2 2.00 mH →", "S3 3.00 mH →", "S4 4.00 mH and 1 more →"]
    assert np.all(np.diff([y for _, y in told]) > 7.5)


def test_shares_add_up_along_the_bar() -> None:
    """Exact: parts lie end to end, in proportion to their shares; those from 9 % carry their number."""
    drivers = [
        Driver(parameter="al", share=0.75),
        Driver(parameter="gap", share=0.2),
        Driver(parameter="wall", share=0.05),
    ]
    svg = drivers_svg(["L"], [drivers])
    left, right = (next(x for text, x, _ in texts(svg) if text == end) for end in ("0 %", "100 %"))
    bars = [boxes(svg, f"url(#driver{index})")[0] for index in range(3)]
    assert bars[0] == pytest.approx((left, left + 0.75 * (right - left)), abs=1e-3)
    assert bars[1][0] == pytest.approx(bars[0][1], abs=1e-3)
    assert bars[2][1] == pytest.approx(right, abs=1e-3)
    assert {text for text, *_ in texts(svg)} >= {"75 %", "20 %"}
    assert "5 %" not in {text for text, *_ in texts(svg)}


def test_sweep_breaks_where_a_value_is_missing() -> None:
    """A curve of |Z| over one decade of values (round numbers, no powers in another spelling), and one with a
    hole: two lines and two areas."""
    f = np.geomspace(1e3, 1e6, 31)
    z = 2.0 + 10.0 * f / 1e6
    holed = np.where(np.abs(np.arange(31) - 15) < 2, np.nan, 1e-6 * f / 1e3)
    curves = [
        Curve(title="|Z|", unit="ohm", frequencies=f, nominal=z, low=0.9 * z, high=1.1 * z, logarithmic=True),
        Curve(title="inductance", unit="H", frequencies=f, nominal=holed, low=holed, high=holed),
    ]
    svg = sweep_svg("t <b>", "s", curves, [("A", [[(1e4, 2.1)], []])], [Resonance(1e5, "parallel")])
    shown = [text for text, *_ in texts(svg)]
    assert {"2 Ω", "5 Ω", "10 Ω", "1 kHz", "10 kHz", "100 kHz", "1 MHz", "A", "parallel 100 kHz"} <= set(
        shown
    )
    assert shown.count("100 kHz") == 1
    assert "nan" not in svg
    assert len(re.findall(r'fill="none" stroke="#1b2129" stroke-width="1.3" stroke-linejoin', svg)) == 3
    line = next(x for text, x, _ in texts(svg) if text == "100 kHz")
    assert f'd="M{line:.4f}'.rstrip("0") in svg, "the resonance lies at its tick"


def test_a_phase_is_drawn_in_degrees() -> None:
    """Exact: curve and measured point lie where the numbers of the axis say, in degrees."""
    f = np.geomspace(1e3, 1e6, 31)
    phase = np.radians(np.linspace(-80.0, 80.0, 31))
    curve = Curve(title="phase", unit="rad", frequencies=f, nominal=phase, low=phase, high=phase)
    svg = sweep_svg("t", "s", [curve], [("A", [[(3e4, math.radians(31.0))]])], [])
    shown = [(float(text), y - 2.8) for text, _, y in texts(svg) if re.fullmatch(r"-?\d+", text)]
    assert [value for value, _ in shown] == [-50.0, 0.0, 50.0]
    (low, start), (high, end) = shown[0], shown[-1]

    def at(degrees: float) -> float:
        return start + (degrees - low) / (high - low) * (end - start)

    (circle,) = re.findall(r'd="M[\d.]+ ([\d.]+)a2\.3', svg)
    assert float(circle) == pytest.approx(at(31.0), abs=1e-3)
    line = re.findall(r'd="M([^"Z]*)" fill="none"[^>]*stroke-width="1.3" stroke-linejoin', svg)[-1].split("L")
    assert float(line[0].split()[1]) == pytest.approx(at(-80.0), abs=0.01)
    assert float(line[-1].split()[1]) == pytest.approx(at(80.0), abs=0.01)
    assert "phase (°)" in [text for text, *_ in texts(svg)]


def test_a_histogram_has_limits_and_prediction_where_its_numbers_say() -> None:
    """Exact: ten parts of 586 to 595 µH, limits of 560 and 620 µH, 95 % from 572 to 611 µH as predicted."""
    values = tuple(1e-6 * (586.0 + part) for part in range(10))
    test = SimpleNamespace(
        name="L_P", measure="inductance", n=10, cpk=None, cpk_lower=None, outside=0,
        minimum=560e-6, maximum=620e-6, predicted=590e-6, predicted_low=572e-6, predicted_high=611e-6,
    )  # fmt: skip
    svg = lot_svg([LotReadings(cast(LotTest, test), values)])
    ticks = {float(text): x for text, x, _ in texts(svg) if re.fullmatch(r"[56]\d\d", text)}
    (one, first), (two, last) = min(ticks.items()), max(ticks.items())

    def at(value: float) -> float:
        return first + (value - one) * (last - first) / (two - one)

    ((low, high),) = [box for box in boxes(svg, "url(#predicted)") if box[1] - box[0] > 21]
    assert (low, high) == pytest.approx((at(572.0), at(611.0)), abs=1e-3)
    below, above = sorted(boxes(svg, "url(#outside)"))
    assert (below[1], above[0]) == pytest.approx((at(560.0), at(620.0)), abs=1e-3)
    bars = boxes(svg, FILL)
    assert (min(bars)[0], max(bars)[1]) == pytest.approx((at(586.0), at(595.0)), abs=1e-3)
    assert "(µH)" in svg
