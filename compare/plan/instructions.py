"""How to take a reading, in words: connections, the meter's circuit, corrections."""

from __future__ import annotations

from ...predict.circuit import HIGHEST, beyond_search, two_terminal
from ...predict.design import BenchTest, Design, Member, Port
from ...predict.quantity import format_quantity

REVERSAL = 0.01
"""Below this direct-current resistance (ohm) the current is reversed to cancel thermal voltages (judged: 1 µV
of thermal voltage at 10 mA is 1 % there)."""


def shown_circuit(design: Design, test: BenchTest) -> str | None:
    """Equivalent circuit to which the meter is set; None if the display does not depend on it.

    Parameters
    ----------
    design : Design
    test : BenchTest
    """
    if test.measure not in ("inductance", "ac_resistance"):
        return None
    return test.equivalent or design.bench.equivalent


def _pins(design: Design, member: Member) -> str:
    winding = next((winding for winding in design.windings if winding.name == member.name), None)
    sign = "reversed " if member.reversed else ""
    if member.name == "core":
        return "the core"
    if winding is None or not (winding.start and winding.finish):
        return f"{sign}{member.name}"
    return f"{sign}{member.name} (pins {winding.start}–{winding.finish})"


def _listed(design: Design, port: Port, joint: str) -> str:
    return joint.join(_pins(design, member) for member in port)


def connections(design: Design, test: BenchTest) -> str:
    """Connections of a test in one sentence, with the pins (start–finish) if the design has them.

    Parameters
    ----------
    design : Design
    test : BenchTest
    """
    driven = _listed(design, test.drive, " in series with ")
    ties = "".join(f"; tie {' to '.join(ends)}" for ends in test.tie)
    if test.measure == "resistance":
        return f"Connect {driven} with four wires, the sense wires inside{ties}; leave the rest open."
    if test.measure == "capacitance" and test.sense:
        sensed = _listed(design, test.sense, " in series with ")
        itself = "" if test.sense[0].name == "core" else " on itself"
        joined = f"Short {driven} on itself, and {sensed}{itself}" if itself else f"Short {driven} on itself"
        between = "the two" if itself else "it and the core"
        rest = "the rest" if not itself or _ties_core(test) else "the rest and the core"
        return f"{joined}{ties}; measure between {between}; leave {rest} open."
    text = f"Drive {driven}"
    if test.short:
        how_linked = "each with its own link" if len(test.short) > 1 else "with its own link"
        shorted = _listed(design, test.short, " and ")
        text += f"; short {shorted}, {how_linked}, as short as possible, soldered at the pins"
    if test.sense:
        text += f"; read the voltage on {_listed(design, test.sense, ' in series with ')}, unloaded"
    if test.bias > 0:
        text += f"; send {format_quantity(test.bias, 'A', 3)} of direct current through what is driven"
    return text + f"{ties}; leave the rest open."


def _ties_core(test: BenchTest) -> bool:
    return any("core" in ends for ends in test.tie)


def sweep_range(test: BenchTest, low: float, high: float) -> str | None:
    """Frequencies to sweep for a resonance, in words: from a third of the lowest to three times the highest
    of production.

    Parameters
    ----------
    test : BenchTest
    low, high : float, lowest and highest resonance of production, Hz

    Returns
    -------
    str or None, the range in words; None for any other measure
    """
    if test.measure != "resonance":
        return None
    if beyond_search(test.measure, low):
        return f"a sweep up to {format_quantity(HIGHEST, 'Hz', 3)}"
    top = min(3 * high, HIGHEST)
    return f"a sweep from {format_quantity(low / 3, 'Hz', 2)} to {format_quantity(top, 'Hz', 2)}"


def corrections(test: BenchTest, expected: float) -> tuple[str, ...]:
    """What to correct or take care of in a test, in sentences.

    Parameters
    ----------
    test : BenchTest
    expected : float, expected reading, SI
    """
    if test.measure == "resistance":
        note = "Note the part's own temperature: copper changes by 0.39 % per kelvin."
        if expected < REVERSAL:
            return (note, "Milliohms: reverse the current and take the mean of both directions.")
        return (note,)
    if not two_terminal(test):
        return ("Keep the wires to the sensed winding away from the driving ones.",)
    if test.frequency is None:
        text = (
            "Open and short correction over the whole sweep, with the fixture as used. Read the lowest "
            "frequency at which the phase falls through zero."
        )
    else:
        frequency = format_quantity(test.frequency, "Hz", 3)
        text = f"Open and short correction at {frequency} with the fixture as used."
    if test.short:
        return (text, "It does not remove the link across what is shorted: that stays in the reading.")
    return (text,)
