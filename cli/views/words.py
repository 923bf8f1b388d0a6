"""Words and tables that several views share."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from ...predict.design import MEASURE_UNITS, BenchTest, Member, Port
from ...predict.quantity import format_quantity, format_uncertain

if TYPE_CHECKING:
    from rich.table import Table

WIDTH = 78
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
    names = {"ac_resistance": "AC resistance", "quality": "Q"}
    text = f"{names.get(test.measure, test.measure)} {port(test.drive)}"
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
    if low is None:
        return f"≤ {quantity(high, measure)}"
    if high is None:
        return f"≥ {quantity(low, measure)}"
    return f"{quantity(low, measure)} … {quantity(high, measure)}"


def table(columns: Sequence[str], rows: Iterable[Sequence[str]], *, right: Sequence[int] = ()) -> Table:
    """A plain table: a line under the heads, numbers (columns ``right``) to the right, long words folded."""
    from rich import box
    from rich.table import Table

    result = Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1), show_edge=False)
    for place, column in enumerate(columns):
        result.add_column(column, justify="right" if place in right else "left", overflow="fold")
    for row in rows:
        result.add_row(*row)
    return result


def paragraph(text: str, indent: str = "", first: str | None = None) -> str:
    """Text folded to the page, ``indent`` before each line (``first`` before the first one)."""
    return textwrap.fill(
        text, WIDTH, initial_indent=indent if first is None else first, subsequent_indent=indent
    )


def heading(text: str) -> str:
    """A heading with a line under it."""
    return f"\n{text}\n{'─' * min(len(text), WIDTH)}"


def per_cent(probability: float) -> str:
    """A probability in per cent, never rounded to certainty."""
    if probability >= 0.995:
        return "> 99 %"
    if probability < 0.005:
        return "< 1 %"
    return f"{probability * 100:.0f} %"
