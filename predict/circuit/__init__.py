"""From one laid-out design to the number that the meter displays: windings, joins, shorts, leads, level,
resonance.

This room predicts the readings of given builds; how builds scatter is handled in ``production``.
"""

from .ampere_turns import AmpereTurnFunction, ampere_turn_function, diagram_test
from .bench import BenchPrediction, impedance_sweep, inductance_matrix, predict_bench, predict_laid, readings
from .bench_network import stated_temperature
from .core_state import core_cautions
from .displayed_number import IMPEDANCE_MEASURES, display, reading_text, shown_with_uncertainty, two_terminal
from .leakage_statement import (
    is_leakage,
    leakage_errors,
    leakage_model,
    own_arc_errors,
    own_names,
    shared_leakage_error,
)
from .network import Wiring, members_of, wire
from .nodal_analysis import solve_around_core
from .resonance import HIGHEST, beyond_search
from .section_coupling import Sections, balanced_ampere_turns, section_interaction, sections_of
from .turns_and_readings import ring_turn_cautions, turns_cautions

__all__ = [
    "HIGHEST",
    "IMPEDANCE_MEASURES",
    "AmpereTurnFunction",
    "BenchPrediction",
    "Sections",
    "Wiring",
    "ampere_turn_function",
    "balanced_ampere_turns",
    "beyond_search",
    "core_cautions",
    "diagram_test",
    "display",
    "impedance_sweep",
    "inductance_matrix",
    "is_leakage",
    "leakage_errors",
    "leakage_model",
    "members_of",
    "own_arc_errors",
    "own_names",
    "predict_bench",
    "predict_laid",
    "reading_text",
    "readings",
    "ring_turn_cautions",
    "section_interaction",
    "sections_of",
    "shared_leakage_error",
    "shown_with_uncertainty",
    "solve_around_core",
    "stated_temperature",
    "turns_cautions",
    "two_terminal",
    "wire",
]
