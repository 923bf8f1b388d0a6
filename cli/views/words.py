"""Words and tables that several views share."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING

from ...predict.circuit import HIGHEST, beyond_search, leakage_model
from ...predict.design import BenchTest, Design, Member, Port
from ...predict.measures import MEASURE_UNITS, MEASURES
from ...predict.quantity import format_quantity, format_range, format_sides, format_uncertain, uneven
from .page import Grid, Paragraph, Part

if TYPE_CHECKING:
    from ...compare.plan import PlannedTest

SAFETY = (
    "Insulation between circuits follows the applicable safety standard and the decision of a qualified "
    "person; this tool does not judge creepage, clearance or insulation. Mains and high voltage can kill: "
    "test them only by licensed practice and local codes."
)

SAFETY_LINE = (
    "Insulation: the safety standard and a qualified person decide, not this tool. Mains and high voltage "
    "kill: 'aswound guide safety'."
)
"""The same on a screen: in short, with where the rest is read."""

MARKS = "F fails a limit, * deviates."
"""What stands before the name of a test in a table of verdicts."""


def marked(name: str, *, fails: bool, deviates: bool) -> str:
    """A test's name with the mark of its verdict before it.

    Parameters
    ----------
    name : str, name of the test
    fails : bool, whether it fails a limit
    deviates : bool, whether it deviates
    """
    return f"{'F' if fails else '*' if deviates else ' '} {name}"


AT_TEMPERATURE = (
    "Direct-current resistances are referred to the test's temperature (20 °C unless it says otherwise), "
    "from the temperature of the reading, else of the bench."
)

NO_RESONANCE = f"none < {HIGHEST / 1e6:.0f} MHz"
"""Instead of a frequency, where the search for a resonance ended without one."""

SYMBOLS = {name: measure.symbol for name, measure in MEASURES.items() if measure.symbol}
"""What a meter calls a measure, where that is shorter than its name."""


def unit_of(measure: str) -> str:
    """The SI unit of a measure's reading."""
    return MEASURE_UNITS[measure]


def quantity_text(value: float | None, measure: str, digits: int = 4) -> str:
    """A reading as text; "-" where there is none, and where no resonance is found, that.

    Parameters
    ----------
    value : float or None, the reading, SI; None: none
    measure : str, what the test measures
    digits : int, optional, significant digits, count
    """
    if beyond_search(measure, value):
        return NO_RESONANCE
    return "-" if value is None else format_quantity(value, unit_of(measure), digits)


def within(value: float, low: float, high: float, measure: str) -> str:
    """A reading beside its range, with the digits that show where in the range it lies (four to seven).

    Parameters
    ----------
    value, low, high : float, the reading, and the lower and the upper end, SI
    measure : str, what the test measures
    """
    breadth = high - low
    if measure == "phase" or not (0 < breadth < math.inf) or value == 0:
        return quantity_text(value, measure)
    needed = math.floor(math.log10(abs(value))) - math.floor(math.log10(breadth)) + 2
    return quantity_text(value, measure, min(max(needed, 4), 7))


def width(value: float | None, measure: str) -> str:
    """A deviation or half width of readings to two digits; of phases to a thousandth of a degree.

    Parameters
    ----------
    value : float or None, the width, SI; None: none
    measure : str, what the test measures
    """
    return quantity_text(value, measure, 4 if measure == "phase" else 2)


def uncertain(
    value: float | None,
    uncertainty: float | None,
    measure: str,
    low: float | None = None,
    high: float | None = None,
) -> str:
    """A reading with twice its standard uncertainty, or with both sides of its range where these are uneven.

    Parameters
    ----------
    value, uncertainty : float or None, the reading and standard uncertainty, SI; None: none
    measure : str, what the test measures
    low : float or None, lower end of the range, SI; None: not known apart
    high : float or None, upper end, SI
    """
    if value is None:
        return "-"
    if beyond_search(measure, value):
        return NO_RESONANCE
    if uncertainty is None or uncertainty == 0:
        return quantity_text(value, measure)
    if low is not None and high is not None and uneven(value, low, high):
        return format_sides(value, low, high, unit_of(measure))
    return format_uncertain(value, uncertainty, unit_of(measure))


def span(low: float, high: float, measure: str) -> str:
    """A range of readings, open if it reaches beyond the search for a resonance.

    Parameters
    ----------
    low, high : float, lower and upper end, SI
    measure : str, what the test measures
    """
    if beyond_search(measure, low):
        return NO_RESONANCE
    return format_range(low, None if beyond_search(measure, high) else high, unit_of(measure))


def json_number(value: float | None, measure: str) -> float | None:
    """A prediction for JSON.

    Parameters
    ----------
    value : float or None, the prediction, SI; None: none
    measure : str, what the test measures

    Returns
    -------
    float or None, the same, SI; None if it is not finite or there is no resonance
    """
    return None if value is None or not math.isfinite(value) or beyond_search(measure, value) else value


def resonance_cautions(tests: Iterable[tuple[str, str, float]]) -> tuple[str, ...]:
    """What it means that no resonance was found, for the tests (name, measure, prediction) of which it is
    said."""
    names = [name for name, measure, value in tests if beyond_search(measure, value)]
    if not names:
        return ()
    return (
        f"{', '.join(names)}: no resonance up to {frequency(HIGHEST)}, where the search ends. Well below "
        "that, turns no longer act as lumped parts, and a reading there owes as much to the bench as to "
        f"the part; one that is given is compared with {frequency(HIGHEST)}.",
    )


def port_text(members: Port) -> str:
    """A port as the design file writes it: "P", "P + S", "P - S"."""
    text = ""
    for member in members:
        sign = "-" if member.reversed else "+" if text else ""
        text += f" {sign} {member.name}" if text else f"{sign}{member.name}"
    return text


def frequency(value: float | None) -> str:
    """A frequency, or "DC"."""
    return "DC" if value is None else format_quantity(value, "Hz", 3).replace(".00", "").replace(".0 ", " ")


LEVEL_LOST = 0.01
"""Part of the level lost across the meter's source from which what is left is said."""


def level(set_level: float, across: float | None) -> str:
    """The level set on the meter, and the voltage across the part if that is lower.

    Parameters
    ----------
    set_level : float, RMS level as set, V
    across : float or None, RMS voltage across the part, V; None: not known
    """
    text = f"{format_quantity(set_level, 'V', 3)} RMS on the meter"
    if across is None or abs(across - set_level) <= LEVEL_LOST * set_level:
        return text
    return f"{text} ({format_quantity(across, 'V', 3)} across the part)"


def how(test: BenchTest) -> str:
    """How a test is made, in few words."""
    text = f"{SYMBOLS.get(test.measure, test.measure)} {port_text(test.drive)}"
    if test.sense:
        text += f" : {port_text(test.sense)}"
    if test.short:
        text += " short " + ", ".join(_member(member) for member in test.short)
    if test.frequency is not None:
        text += f", {frequency(test.frequency)}"
    return text


def _member(member: Member) -> str:
    return f"-{member.name}" if member.reversed else member.name


def limits(low: float | None, high: float | None, measure: str) -> str:
    """Limits in words; "" where there are none.

    Parameters
    ----------
    low, high : float or None, lower and upper limit, SI; None: none
    measure : str, what the test measures
    """
    if low is None and high is None:
        return ""
    return format_range(low, high, unit_of(measure))


def table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = ()) -> Grid:
    """A plain table.

    Parameters
    ----------
    columns : Sequence[str], heads
    rows : Iterable[Sequence[str]], cells, row by row
    right : Sequence[int], optional, columns set to the right, as numbers are, index
    """
    return Grid(tuple(columns), tuple(tuple(row) for row in rows), tuple(right))


def caution(text: str) -> Paragraph:
    """A paragraph that must not be overlooked."""
    return Paragraph(text, "  ", "! ")


def cautions(*texts: str) -> Iterator[Part]:
    """What must not be overlooked, and last the line on safety, at the end of a page."""
    yield from map(caution, (*texts, SAFETY_LINE))


def readings_end(design: Design, *texts: str) -> Iterator[Part]:
    """The end of a page of readings: at which temperature resistances are judged, then the cautions.

    Parameters
    ----------
    design : Design
    *texts : str, cautions
    """
    if any(test.measure == "resistance" for test in design.tests):
        yield Paragraph(AT_TEMPERATURE)
    yield from cautions(*texts)


def set_up(test: PlannedTest) -> str:
    """What to set on the meter: "10 kHz, 1.00 V RMS, series equivalent"."""
    told = [test.sweep or frequency(test.frequency)]
    if test.level is not None:
        told.append(level(test.level, test.terminal_level))
    if test.equivalent:
        told.append(f"{test.equivalent} equivalent")
    return ", ".join(told)


_FAR = 100
"""Standard uncertainties beyond which scores are not told apart in text; JSON has the number."""


def score(value: float | None) -> str:
    """A score with its sign, what rounds to zero as "+0.0"; "-" where there is none. Beyond 100 its size says
    nothing more: "> +100"."""
    if value is not None and abs(value) > _FAR:
        return f"> +{_FAR}" if value > 0 else f"< -{_FAR}"
    return "-" if value is None else f"{round(value, 1) + 0.0:+.1f}"


def per_cent(probability: float) -> str:
    """A probability in per cent, never rounded to certainty."""
    if probability >= 0.995:
        return "> 99 %"
    if probability < 0.005:
        return "< 1 %"
    return f"{probability * 100:.0f} %"


def design_cautions(design: Design) -> tuple[str, ...]:
    """What to know of a design's predictions: its own cautions, and those of its leakage model."""
    return (*design.cautions, *leakage_model(design).cautions)
