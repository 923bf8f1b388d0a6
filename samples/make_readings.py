"""Makes the readings beside the sample designs: what a bench would have shown for parts with a known fault.

Every sample is a build of its own: the design with one fault of ``aswound.compare.causes`` at an amount
that is no node of the diagnosis, then random production tolerances, random errors of the model and a random
set-up, then the noise of a meter and its handling. The seed of each sample is its own. So the readings lie
off the prediction by all that separates a real part from a drawing; they are invented, and only for show.

    python samples/make_readings.py        # writes samples/*.csv again, byte for byte
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from aswound.compare.meter.accuracy import meter_uncertainty
from aswound.predict import Design, load_design
from aswound.predict.circuit.bench import predict_bench, stated_temperature
from aswound.predict.copper.resistance import temperature_factor
from aswound.predict.design import TapeStep, WindStep
from aswound.predict.production.tolerances import parameters
from aswound.predict.quantity import format_quantity

HERE = Path(__file__).parent
HANDLING = {"resistance": 0.003, "ratio": 0.0005, "phase": 0.0}
"""Relative scatter of re-connecting a part, standard deviation; 0.2 % where not named."""


@dataclass(frozen=True)
class Sample:
    """A part: its name, the seed of its build, what is wrong with it, and what the comment in the file
    says."""

    name: str
    seed: int
    fault: Callable[[Design], Design]
    remark: str


def sound(design: Design) -> Design:
    """Nothing wrong."""
    return design


def _steps(design: Design, **changes: WindStep | TapeStep) -> Design:
    steps = list(design.build.steps)
    for number, step in changes.items():
        steps[int(number.removeprefix("step")) - 1] = step
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def _step(design: Design, number: int, **fields: object) -> Design:
    step = design.build.steps[number - 1]
    return _steps(design, **{f"step{number}": replace(step, **fields)})  # type: ignore[arg-type]


def halves_together(design: Design) -> Design:
    """Both halves of P first, then S: steps 3 and 5 exchanged."""
    third, fifth = design.build.steps[2], design.build.steps[4]
    return _steps(design, step3=fifth, step5=third)  # type: ignore[arg-type]


def one_turn_more(design: Design) -> Design:
    """S with 9 turns instead of 8."""
    return _step(design, 3, turns=9)


def bunched_secondary(design: Design) -> Design:
    """S on 63 % of its breadth, pushed to the start flange."""
    return _step(design, 3, covered=0.63)


def long_link(design: Design) -> Design:
    """A link of 33 nH more than entered."""
    bench = design.bench
    return replace(
        design,
        bench=replace(bench, short_inductance=bench.short_inductance + 33e-9, short_resistance=4.3e-3),
    )


def dirty_faces(design: Design) -> Design:
    """19 µm more at each pair of faces."""
    return replace(design, core=replace(design.core, face_gap=design.core.face_gap + 19e-6))


def lost_strand(design: Design) -> Design:
    """One of four wires of S open in both halves."""
    windings = tuple(
        replace(winding, wire=replace(winding.wire, open_strands=1)) if winding.name == "S" else winding
        for winding in design.windings
    )
    return replace(design, windings=windings)


def parallel_display(design: Design) -> Design:
    """The meter left in its parallel equivalent circuit."""
    tests = tuple(
        replace(test, equivalent="parallel") if test.measure in ("inductance", "ac_resistance") else test
        for test in design.tests
    )
    return replace(design, tests=tests)


def reversed_gate(design: Design) -> Design:
    """G2 connected the wrong way round."""
    windings = tuple(
        replace(winding, turning="ccw") if winding.name == "G2" else winding for winding in design.windings
    )
    return replace(design, windings=windings)


def warm_part(design: Design) -> Design:
    """Just out of the varnish oven: 27 K warmer than the room."""
    return replace(design, bench=replace(design.bench, temperature_error=27.0))


def wrong_wire(design: Design) -> Design:
    """D wound from the reel of 0.28 mm wire instead of 0.315 mm."""

    def thinner(design: Design) -> Design:
        windings = tuple(
            replace(winding, wire=replace(winding.wire, diameter=0.28e-3, overall=0.322e-3))
            if winding.name == "D"
            else winding
            for winding in design.windings
        )
        return replace(design, windings=windings)

    return thinner(design)


SAMPLES = {
    "flyback-24w": (
        Sample("A1", 11, sound, "sound"),
        Sample("A2", 12, one_turn_more, "S has one turn too many (9 instead of 8)"),
        Sample("A3", 13, halves_together, "interleaving lost: wound P P S instead of P S P"),
        Sample("A4", 14, bunched_secondary, "S covers 63 % of its breadth, pushed to the start flange"),
        Sample("A5", 15, long_link, "bench: the shorting link has 33 nH more than entered"),
    ),
    "bridge-300w": (
        Sample("B1", 21, sound, "sound"),
        Sample("B2", 22, dirty_faces, "core halves not seated: 19 µm more at each pair of faces"),
        Sample("B3", 23, lost_strand, "one of the four wires in hand of S does not conduct"),
        Sample("B4", 24, parallel_display, "bench: the meter showed the parallel equivalent circuit"),
    ),
    "gate-drive": (
        Sample("C1", 31, sound, "sound"),
        Sample("C2", 32, reversed_gate, "G2 is reversed"),
        Sample("C3", 33, warm_part, "bench: the part was 27 K warmer than the room"),
        Sample("C4", 34, wrong_wire, "D wound with 0.28 mm wire instead of 0.315 mm"),
    ),
}


def read_part(design: Design, sample: Sample) -> list[tuple[str, str]]:
    """The readings of one part as a meter with five digits shows them: (test, text)."""
    random = np.random.default_rng(sample.seed)
    part = sample.fault(design)
    for parameter in parameters(design):
        part = parameter.change(part, float(random.standard_normal()))
    shown = predict_bench(part)
    rows = []
    for test, value, impedance in zip(design.tests, shown.values, shown.impedance, strict=True):
        meter = float(
            meter_uncertainty(design.bench, test.measure, value, complex(impedance), test.frequency)
        )
        handling = HANDLING.get(test.measure, 0.002) * abs(value)
        read = float(value) + float(random.standard_normal()) * float(np.hypot(meter, handling))
        if test.measure == "resistance":  # the file holds what the meter showed at the bench's temperature
            warm = temperature_factor("copper", design.bench.temperature)
            read *= float(warm / temperature_factor("copper", stated_temperature(design, test)))
        unit = {"inductance": "H", "ac_resistance": "ohm", "resistance": "ohm", "phase": "rad"}.get(
            test.measure, "1"
        )
        rows.append((test.name, format_quantity(read, unit, digits=5, ascii=True)))
    return rows


def main() -> None:
    """Write the readings of every sample design."""
    for name, samples in SAMPLES.items():
        design = load_design(HERE / f"{name}.toml")
        lines = [
            f"# Invented readings for {name}.toml, made by make_readings.py. What is wrong with each part:"
        ]
        lines += [f"# {sample.name}: {sample.remark}" for sample in samples]
        lines.append("sample,test,reading")
        for sample in samples:
            lines += [f"{sample.name},{test},{text}" for test, text in read_part(design, sample)]
        (HERE / f"{name}.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
