"""A design → the whole netlist file: head, and one subcircuit per build."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib.metadata import version

from ..design import CORE, Design
from ..errors import BuildError, Fault
from ..notation import format_quantity
from .builds import EndOfProduction, ends_of_production, leakage_frequency
from .check import TOLERANCE, Deviation, deviations
from .elements import Circuit, Range, fitted_circuit
from .spice_text import comments, identifier, pin_names, subcircuit


@dataclass(frozen=True, kw_only=True)
class NetlistFile:
    """A netlist file.

    Attributes
    ----------
    text : str
    subcircuits : tuple[str, ...], names of the subcircuits, one per build
    deviations : tuple[Deviation, ...], of the nominal one from the predicted readings
    cautions : tuple[str, ...], what the netlist leaves out, in sentences
    pins : tuple[tuple[str, str, str], ...], pins as from ``pin_names``
    builds : tuple[EndOfProduction, ...]
    """

    text: str
    subcircuits: tuple[str, ...]
    deviations: tuple[Deviation, ...]
    cautions: tuple[str, ...]
    pins: tuple[tuple[str, str, str], ...]
    builds: tuple[EndOfProduction, ...]


def netlist_file(
    design: Design, span: Range | None = None, flux_density: float = 0.0, temperature: float | None = None
) -> NetlistFile:
    """Netlist of a design: nominal, low and high builds, fitted over a range of frequencies.

    The circuit is that of the windings, without the bench's links and leads.

    Parameters
    ----------
    design : Design, the transformer
    span : Range or None, optional
        Frequencies between which the netlist should hold; None for 1 kHz to 1 MHz.
    flux_density : float, optional
        Peak flux density in the core, T: the one operating point at which the circuit is linear.
    temperature : float or None, optional, temperature, degC; None for the bench's

    Raises
    ------
    BuildError
        The layout is outside the models; a level of coils in air.
    """
    if flux_density > 0 and not design.core.dimensions.permeable:
        raise BuildError(
            Fault(
                "--flux-density",
                "a level for coils in air",
                "no --flux-density: there is no core to magnetize",
            )
        )
    span = span or Range()
    warm = design.bench.temperature if temperature is None else temperature
    ends = ends_of_production(replace(design, tests=()), span.low, span.high)
    circuits = [fitted_circuit(end.design, span, flux_density, warm) for end in ends]
    strays = deviations(circuits[0], span) if flux_density == 0 else ()
    name = identifier(design.title)[:40].strip("_").lower()
    names = tuple(f"{name}_{end.name}" for end in ends)
    cautions = (*_cautions(span, strays), *map(_ascii, _apart(ends[0])))
    text = comments(_head(design, circuits[0], ends, names, span, flux_density, warm))
    text += comments(["", "What it is not:", *(f"- {caution}" for caution in cautions)])
    for end, circuit, title in zip(ends, circuits, names, strict=True):
        text += "*\n" + comments([_end_words(end)]) + subcircuit(circuit, title)
    return NetlistFile(
        text=text,
        subcircuits=names,
        deviations=strays,
        cautions=cautions,
        pins=tuple(pin_names(circuits[0])),
        builds=ends,
    )


def _ascii(text: str) -> str:
    return text.encode("ascii", "replace").decode()


def _head(
    design: Design,
    circuit: Circuit,
    ends: tuple[EndOfProduction, ...],
    names: tuple[str, ...],
    span: Range,
    flux_density: float,
    temperature: float,
) -> list[str]:
    def shown(value: float, unit: str) -> str:
        return format_quantity(value, unit, ascii=True)

    pins = []
    for pin, name, end in pin_names(circuit):
        if name == CORE:
            pins.append(f"{pin}: the core itself, floating unless you connect it")
        elif not end:
            pins.append(f"{pin}: shield {_ascii(name)}")
        else:
            winding = design.winding(name)
            number = winding.start if end == "start" else winding.finish
            pins.append(
                f"{pin}: {end} of winding {_ascii(name)}" + (f", pin {_ascii(number)}" if number else "")
            )
    level = (
        "at small signal"
        if flux_density == 0
        else f"at a peak flux density of {shown(flux_density, 'T')} in the core"
    )
    return [
        f"{_ascii(design.title)}: the transformer as predicted, aswound {version('aswound')}",
        "",
        f"Subcircuits: {', '.join(names)}. Pins, in this order:",
        *(f"- {text}" for text in pins),
        "Starts are dots: current into every start magnetizes the core the same way, unless a winding "
        "turns the other way (then its E and F of the core below have a negative ratio)."
        if circuit.core
        else "Starts are dots: current into every start makes flux the same way, unless a winding turns the "
        "other way.",
        "",
        f"Holds from {shown(span.low, 'Hz')} to {shown(span.high, 'Hz')}, {level}, at "
        f"{temperature:.4g} degC: one linear operating point. Links and leads of the bench are not in it.",
        "Elements: R, L and C that are not negative, behind ideal transformers (an E and an F of one ratio; "
        "V of 0 V measures the current). So it is passive whatever the fit. Each stretch of winding has its "
        + (
            "direct-current resistance, leakage and eddy currents as R and L in parallel behind ratios, "
            "and the core as a chain of such elements (with C where the material's permeability resonates), "
            "per turn. "
            if circuit.core
            else "direct-current resistance; inductances, their coupling and eddy currents are R and L in "
            "parallel behind ratios. "
        )
        + "Mutual capacitances that a linear potential along the layers makes negative are behind "
        "ideal transformers too. Node 0 is only the reference of the transformers; no current leaves "
        "through it.",
        f"Low and high are corners: open inductance, {'leakage, ' if circuit.core else ''}resistance and "
        "capacitance each at the 2.5 % or the 97.5 % point of normal production and model error. "
        + _what_they_are_of(design, span),
        *(_end_words(end) for end in ends[1:]),
    ]


def _what_they_are_of(design: Design, span: Range) -> str:
    """Of which readings the ends are taken: those of the windings, not of a bench."""
    first, *others = (_ascii(winding.name) for winding in design.windings)
    low = format_quantity(span.low, "Hz", ascii=True)
    if not others:
        return f"Open inductance of {first} at {low}, without the bench's leads."
    if not design.core.dimensions.permeable:
        return (
            f"Open inductance of {first} (mutual ones alike) and capacitance to {others[0]} at {low}, "
            "without the bench's link and leads."
        )
    middle = format_quantity(leakage_frequency(span.low, span.high), "Hz", ascii=True)
    return (
        f"Open inductance of {first} and capacitance to {others[0]} at {low}, leakage of {first} with "
        f"{', '.join(others)} shorted at {middle}, without the bench's link and leads: readings that include "
        "them, such as those of predict, spread less in relation to their value."
    )


def _apart(plain: EndOfProduction) -> list[str]:
    """What low and high do not cover."""
    return [text.replace("…", "...").replace("µ", "u").replace("Ω", "ohm") for text in plain.apart]


def _end_words(end: EndOfProduction) -> str:
    if end.name == "nominal":
        return "nominal: as designed"
    changes = ", ".join(f"{name} {100 * (factor - 1):+.1f} %" for name, factor in end.factors)
    return f"{end.name}: against nominal {changes}"


_WORDS = {
    "open impedance": "The open impedance",
    "open resistance": "The resistance in series with an open winding",
    "short impedance": "The impedance with a winding shorted",
    "short resistance": "The resistance with a winding shorted",
    "ratio": "The voltage ratio",
}


def _cautions(span: Range, strays: tuple[Deviation, ...]) -> tuple[str, ...]:
    result = []
    for stray in strays:
        if abs(stray.size) <= TOLERANCE:
            continue
        where = f"{_ascii(stray.test)} at {format_quantity(stray.frequency, 'Hz', ascii=True)}"
        reason = ""
        if stray.kind.startswith("open"):
            reason = (
                " The material's tables of permeability and loss do not belong to one linear material "
                "(Kramers and Kronig); of the circuits of such elements this one comes closest."
            )
        elif stray.kind.startswith("short"):
            reason = (
                " Every test finds its field at lengths of its own; one circuit has those of every pair of "
                "windings, with the others carrying nothing."
            )
        result.append(
            f"{_WORDS[stray.kind]} deviates from the predicted reading by up to {100 * stray.size:+.1f} % "
            f"({where}).{reason}"
        )
    result.append(
        "Saturation, hysteresis and warming are not in it, nor anything below "
        f"{format_quantity(span.low, 'Hz', ascii=True)} or above "
        f"{format_quantity(span.high, 'Hz', ascii=True)} but by extrapolation."
    )
    result.append(
        "Insulation is not in it either: a simulation says nothing about safety. Whoever works on mains or "
        "high voltage follows the local codes and the safety standard of the product."
    )
    return tuple(result)
