"""Words and tables that several views share."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from ...predict.design import MEASURE_UNITS, BenchTest, Member, Port
from ...predict.quantity import format_quantity, format_range, format_uncertain
from .page import Grid, Paragraph

SAFETY = (
    "Insulation between circuits follows the applicable safety standard and the decision of a "
    "qualified person; this tool "
    "does not judge creepage, clearance or insulation. Mains and high voltage can kill: test "
    "them only by licensed practice and local codes."
)

AT_TEMPERATURE = (
    "Direct-current resistances stand at the test's temperature (20 °C unless it says another), "
    "brought there from the "
    "temperature of the reading, else of the bench."
)

SYMBOLS = {
    "inductance": "L",
    "ac_resistance": "R (AC)",
    "quality": "Q",
    "resistance": "R",
    "mutual": "M",
    "capacitance": "C",
}
"""What a meter calls a measure, where that is shorter than its name."""


def unit_of(measure: str) -> str:
    """The SI unit of a measure's reading."""
    return MEASURE_UNITS[measure]


def quantity(value: float | None, measure: str, digits: int = 4) -> str:
    """A reading as text; "-" where there is none."""
    return "-" if value is None else format_quantity(value, unit_of(measure), digits)


def uncertain(value: float | None, uncertainty: float | None, measure: str) -> str:
    """A reading with its expanded uncertainty (k = 2)."""
    if value is None:
        return "-"
    if uncertainty is None or uncertainty == 0:
        return quantity(value, measure)
    return format_uncertain(value, uncertainty, unit_of(measure))


def port(members: Port) -> str:
    """A port as the design file writes it: "P", "P + S", "P - S"."""
    text = ""
    for member in members:
        sign = "-" if member.reversed else "+" if text else ""
        text += f" {sign} {member.name}" if text else f"{sign}{member.name}"
    return text


def frequency(value: float | None) -> str:
    """A frequency, or "DC"."""
    return "DC" if value is None else format_quantity(value, "Hz", 3).replace(".00", "").replace(".0 ", " ")


def how(test: BenchTest) -> str:
    """How a test is made, in few words."""
    text = f"{SYMBOLS.get(test.measure, test.measure)} {port(test.drive)}"
    if test.sense:
        text += f" : {port(test.sense)}"
    if test.short:
        text += " short " + ", ".join(_member(member) for member in test.short)
    if test.frequency is not None:
        text += f", {frequency(test.frequency)}"
    return text


def _member(member: Member) -> str:
    return f"-{member.name}" if member.reversed else member.name


def limits(low: float | None, high: float | None, measure: str) -> str:
    """Limits in words."""
    if low is None and high is None:
        return ""
    return format_range(low, high, unit_of(measure))


def table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = ()) -> Grid:
    """A plain table; numbers (columns ``right``) stand to the right."""
    return Grid(tuple(columns), tuple(tuple(row) for row in rows), tuple(right))


def caution(text: str) -> Paragraph:
    """A paragraph that must not be overlooked."""
    return Paragraph(text, "  ", "! ")


def per_cent(probability: float) -> str:
    """A probability in per cent, never rounded to certainty."""
    if probability >= 0.995:
        return "> 99 %"
    if probability < 0.005:
        return "< 1 %"
    return f"{probability * 100:.0f} %"
