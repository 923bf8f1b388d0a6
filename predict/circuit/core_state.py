"""What a reader of a prediction has to know about the state of the core in each test."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ..cores import (
    DirectState,
    incremental_ratio,
    level_ratio,
    remanent_core,
    remanent_flux_density,
    reversible_ratio,
    saturation,
)
from ..design import BenchTest, Design
from ..quantity import format_quantity
from .bench import BenchPrediction, predict_bench
from .bench_network import stated_temperature

LEVEL_DEPENDENCE = 0.02
"""Change of a reading between half and double the level above which a caution is given (judged; a caution,
no verdict)."""
BOTH_COUNT = 0.05
"""Change of permeability by the level, and by the direct current, above which a caution about both together
is given (judged; a caution, no verdict)."""
NEAR_SATURATION = 0.7
"""Share of the saturation flux density above which a caution is given (common practice, no source)."""


def core_cautions(design: Design, prediction: BenchPrediction | None = None) -> tuple[str, ...]:
    """Sentences about level, saturation, bias and the tables of the material, for a design of one build.

    - tests whose reading changes by more than 2 % between half and double the level;
    - tests in which the direct and the alternating flux density together reach 70 % of saturation;
    - a direct current in a material of unknown saturation, whose effect is not predicted;
    - a direct current and a level that both move the permeability;
    - the remanence of closed steel, and what open windings read down to with it;
    - frequencies above the material's table of permeability, levels above that of amplitude permeability.

    The change by the level is found by predicting both levels.

    Parameters
    ----------
    design : Design of one build
    prediction : BenchPrediction or None, its prediction, if at hand

    Raises
    ------
    BuildError
        Where the layout is outside the models.
    """
    alternating = [index for index, test in enumerate(design.tests) if test.measure != "resistance"]
    if not alternating or not design.core.dimensions.permeable:
        return ()
    nominal = predict_bench(design) if prediction is None else prediction
    return (
        *_level(design, alternating),
        *_saturation(design, nominal, alternating),
        *_direct_current(design, nominal, alternating),
        *_remanence(design, nominal, alternating),
        *_tables(design, nominal, alternating),
    )


def _names(tests: list[BenchTest]) -> str:
    return ", ".join(test.name for test in tests)


def _level(design: Design, test_indices: list[int]) -> list[str]:
    def at(factor: float) -> np.ndarray:
        tests = tuple(replace(test, level=test.level * factor) for test in design.tests)
        return np.asarray(predict_bench(replace(design, tests=tests)).values)

    low, high = at(0.5), at(2.0)
    listed = []
    for test_index in test_indices:
        test = design.tests[test_index]
        if test.measure == "phase" or low[test_index] == 0:
            continue
        change = float(high[test_index] / low[test_index] - 1)
        if abs(change) > LEVEL_DEPENDENCE:
            listed.append(f"{test.name} ({change * 100:+.0f} %)")
    if not listed:
        return []
    return [
        f"These readings depend on the level (change from half to twice the stated one): "
        f"{', '.join(listed)}. "
        "Set the level exactly, and state it with the reading."
    ]


def _saturation(design: Design, prediction: BenchPrediction, test_indices: list[int]) -> list[str]:
    material = design.core.material
    result = []
    biased = [design.tests[test_index] for test_index in test_indices if design.tests[test_index].bias > 0]
    top = float(saturation(material))
    if biased and not np.isfinite(top) and material.bias_field <= 0:
        result.append(
            f"{_names(biased)}: the effect of the direct current on the permeability is not predicted, "
            f"because the saturation of {material.name} is not known. Name a material of the catalogue."
        )
    for test_index in test_indices:
        test = design.tests[test_index]
        limit = float(saturation(material, stated_temperature(design, test)))
        steady = float(prediction.bias_flux_density[test_index])
        total = steady + float(prediction.flux_density[test_index])
        if total > NEAR_SATURATION * limit:
            result.append(
                f"{test.name}: the core reaches {total * 1e3:.0f} mT"
                + (f", {steady * 1e3:.0f} mT of it from the direct current" if steady > 0 else "")
                + f"; {material.name} saturates at about {limit * 1e3:.0f} mT. The reading falls steeply "
                "there, and its prediction is rough."
            )
    return result


def _direct_current(design: Design, prediction: BenchPrediction, test_indices: list[int]) -> list[str]:
    """What is uncertain in a test with a direct current and a level together."""
    material, result = design.core.material, []
    biased = [test_index for test_index in test_indices if design.tests[test_index].bias > 0]
    for test_index in biased:
        test = design.tests[test_index]
        warm = stated_temperature(design, test)
        steady, peak = prediction.bias_flux_density[test_index], prediction.flux_density[test_index]
        held = reversible_ratio(material, steady, warm)
        lifted = float(level_ratio(material, peak, warm))
        both = float(incremental_ratio(material, DirectState(steady, held), np.asarray(peak), warm))
        if material.bias_field <= 0 and float(held) < 1 - BOTH_COUNT and lifted > 1 + BOTH_COUNT:
            result.append(
                f"{test.name}: the direct current alone takes the permeability to ×{float(held):.2g}, the "
                f"level alone to ×{lifted:.2g}; both together are taken as ×{both:.2g}, which has not been "
                "measured for any grade, so the range includes a factor of about 2 either way. Lower the "
                "level until the reading no longer changes."
            )
    return result


def _remanence(design: Design, prediction: BenchPrediction, test_indices: list[int]) -> list[str]:
    """What an earlier direct current leaves in closed steel, and how much less open windings then read."""
    core = design.core
    result: list[str] = []
    if float(np.max(np.asarray(core.gap))) > 0 or core.material.sheet_thickness <= 0:
        return result
    kept = ""
    if core.material.remanence > 0:
        left = float(remanent_flux_density(core))
        kept = f", up to {left:.2g} T in this core"
        if left < (1 - LEVEL_DEPENDENCE) * core.material.remanence:
            kept += f" ({core.material.remanence:.2g} T without its joints)"
    biased = [design.tests[index] for index in test_indices if design.tests[index].bias > 0]
    still = [test for test in design.tests if test.measure == "resistance"]
    lower, most = _magnetized(design, prediction, test_indices)
    read_after = still and any(not design.tests[index].short for index in test_indices)
    if biased:
        others = (
            f" The ohmmeter's direct current ({_names(still)}) leaves it magnetized too, and open windings "
            f"may then read less{lower}: take resistances last, or demagnetize after them."
        )
        result.append(
            f"{_names(biased)}: steel without an air gap keeps remanence{kept}. Demagnetize the core before "
            "each reading, and raise the current in one direction only." + (others if read_after else "")
        )
    elif read_after:
        result.append(
            f"{_names(still)}: the ohmmeter's direct current leaves the core magnetized{kept}, and open "
            f"windings may then read less{lower}. Take resistances last, or demagnetize the core after them "
            "(an alternating voltage that falls slowly to zero)."
        )
    elif most > LEVEL_DEPENDENCE:
        result.append(
            f"A direct current or a switch-off before the reading leaves the core magnetized{kept}, and open "
            f"windings may then read less{lower}. Demagnetize the core before the reading (an alternating "
            "voltage that falls slowly to zero)."
        )
    return result


def _magnetized(design: Design, prediction: BenchPrediction, test_indices: list[int]) -> tuple[str, float]:
    """The least readings of open inductances in words, from remanent to demagnetized, and the largest change
    (relative)."""
    listed, most = [], 0.0
    for index in test_indices:
        test = design.tests[index]
        if test.measure != "inductance" or test.short or test.bias > 0:
            continue
        core = remanent_core(design.core, float(prediction.flux_density[index]))
        found = predict_bench(replace(design, core=core, tests=(test,)))
        low, nominal = float(found.values[0]), float(np.asarray(prediction.values)[index])
        change = 1 - low / nominal
        most = max(most, change)
        if change > LEVEL_DEPENDENCE:
            span = f"{format_quantity(low, 'H', 3)} instead of {format_quantity(nominal, 'H', 3)}"
            listed.append(f"{test.name} down to {span}")
    less = ": " + ", ".join(listed) if listed else f", by no more than {LEVEL_DEPENDENCE * 100:.0f} % here"
    return less, most


def _tables(design: Design, prediction: BenchPrediction, test_indices: list[int]) -> list[str]:
    material = design.core.material
    result = []
    last = material.frequencies[-1]
    beyond = [
        design.tests[test_index]
        for test_index in test_indices
        if len(material.frequencies) > 1 and design.tests[test_index].alternating_frequency > last
    ]
    if beyond:
        result.append(
            f"{_names(beyond)}: above {last / 1e3:.4g} kHz, where the table of {material.name} ends, its "
            "permeability keeps the last value."
        )
    if material.level_flux_densities:
        most = material.level_flux_densities[-1]
        above = [
            design.tests[test_index]
            for test_index in test_indices
            if float(prediction.flux_density[test_index]) > most
        ]
        if above:
            result.append(
                f"{_names(above)}: above {most * 1e3:.4g} mT, where the table of {material.name} ends, it is "
                "taken as saturated."
            )
    return result
