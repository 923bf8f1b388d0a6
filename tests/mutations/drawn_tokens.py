"""Single tokens that ``generic.py`` drew (seed 1), each noticed by a test."""

from __future__ import annotations

from mistake import mistake

KEPT = "tests/property/test_insulation_kept.py"

TOKENS = (
    mistake(
        "compare/consistency/checks.py",
        "if not same_set_up(quality, coil, loss) or loss.value <= 0 or coil.value == 0:",
        "if not same_set_up(quality, coil, loss) or loss.value <= 1 or coil.value == 0:",
        "tests/exact/test_consistency_scores.py::test_quality_against_inductance_and_resistance",
    ),
    mistake(
        "compare/consistency/laws_of_coupling.py",
        "flipped = drive[0].reversed != sense[0].reversed",
        "flipped = drive[0].reversed == sense[0].reversed",
        "tests/exact/test_consistency.py::test_an_ideal_part_keeps_every_law",
    ),
    mistake(
        "compare/readings/file.py",
        "if not (test and equals and text):",
        "if not (test or equals and text):",
        "tests/unit/test_readingsfile.py::test_faulty_options_are_named_all_at_once",
    ),
    mistake(
        "compare/plan/limits.py",
        "down = coverage / _RANGE * max(middle - low, 0.0) + bench.expanded",
        "down = coverage * _RANGE * max(middle - low, 0.0) + bench.expanded",
        "tests/unit/test_limits.py::test_three_deviations_of_production_and_a_guard_band",
    ),
    mistake(
        "compare/aims/joint_search.py",
        "ranked.sort(key=lambda item: -item[0])",
        "ranked.sort(key=lambda item: item[0])",
        "tests/property/test_adjustments.py::test_an_aim_is_met_by_a_build_with_numbers",
    ),
    mistake(
        "predict/winding/space.py",
        "return Bay(self.wall, self.width * whole, 0.0 * whole, 0.0 * whole)",
        "return Bay(self.wall, self.width * whole, 1 * whole, 0.0 * whole)",
        "tests/exact/test_layout_places.py::test_layers_on_a_ring_share_the_turns_evenly",
    ),
    mistake(
        "compare/readings/delimited.py",
        "if not numbers or best(numbers[0]) > 0:",
        "if not numbers and best(numbers[0]) > 0:",
        "tests/unit/test_readingsfile.py::test_files_without_a_reading",
    ),
    mistake(
        "compare/plan/at_the_bench.py",
        "gap = abs(value * factor - guide.expected[index])",
        "gap = abs(value / factor - guide.expected[index])",
        "tests/cli/test_enter.py::test_a_session_from_the_first_reading_to_the_verdict",
    ),
    mistake(
        "compare/plan/interleaving.py",
        "if np.all((ratio >= low) & (ratio <= high)):",
        "if np.all((ratio < low) & (ratio <= high)):",
        "tests/exact/test_arrangements.py::test_what_reads_alike_is_one_row",
    ),
    mistake(
        "predict/circuit/network.py",
        "return pairs[0][0], pairs[-1][1]",
        "return pairs[0][0], pairs[-1][(1 * 2)]",
        "tests/exact/test_capacitance.py::test_foils_over_tape",
    ),
    mistake(
        "predict/winding/rectangles.py",
        "if thickness > 0:",
        "if thickness > 1:",
        "tests/exact/test_cross_section.py::test_pieces_of_a_build_touch",
    ),
    mistake(
        "predict/winding/rectangles.py",
        'pieces.append(Piece(kind="bobbin", x0=0.0, x1=width, y0=0.0, y1=flange))',
        'pieces.append(Piece(kind="bobbin", x0=1, x1=width, y0=0.0, y1=flange))',
        "tests/regression/test_drawings.py::test_drawing_is_as_it_was",
    ),
    mistake(
        "predict/winding/layering.py",
        "return replace(room, thickness=room.thickness * np.minimum(bodies / layers, 1.0))",
        "return replace(room, thickness=room.thickness * np.minimum(bodies * layers, 1.0))",
        "tests/exact/test_layout_places.py::test_turns_without_order_fill_a_body_over_the_whole_breadth",
    ),
    mistake(
        "compare/plan/limits.py",
        "most = _FINENESS * half if half > 0 else 1e-4 * size or 1.0",
        "most = _FINENESS * half if half <= 0 else 1e-4 * size or 1.0",
        "tests/unit/test_limits.py::test_three_deviations_of_production_and_a_guard_band",
    ),
    mistake(
        "predict/winding/layout.py",
        "s1=ground + thickness,\n        a0=low,\n        a1=low + step.width,",
        "s1=ground - thickness,\n        a0=low,\n        a1=low + step.width,",
        "tests/exact/test_layout_places.py::test_a_shield_lies_a_turn_from_the_margin_on_in_its_own_branch",
    ),
    mistake(
        "compare/consistency/laws_of_coupling.py",
        'yield check_of("reciprocity", first.value - second.value, uncertainty, detail, meaning)',
        'yield check_of("reciprocity", first.value + second.value, uncertainty, detail, meaning)',
        "tests/exact/test_consistency.py::test_the_score_is_the_residual_over_the_standard_uncertainty",
    ),
    mistake(
        "compare/verdict/evaluation.py",
        "mine = np.flatnonzero((where == test_index) & (count > 0))",
        "mine = np.flatnonzero((where == test_index) & (count <= 0))",
        "tests/unit/test_interventions.py::test_demagnetising_tells_remanence_from_a_wrong_material",
    ),
    mistake(
        "predict/winding/facing_windings.py",
        "for step in design.build.steps[first + 1 : second]:",
        "for step in design.build.steps[first - 1 : second]:",
        "tests/exact/test_insulated_faces.py::test_faces_as_counted",
    ),
    mistake(
        "compare/diagnosis/next_test.py",
        "density = np.exp(-0.5 * ((at[:, :, None, :] - mean) / sd) ** 2) * probability[:, None]",
        "density = np.exp(-0.5 * ((at[:, :, None, :] - mean) / sd) ** 2) / probability[:, None]",
        "tests/unit/test_next_test.py::test_causes_with_like_readings_stand_in_one_line_with_what_separates_them",
    ),
    mistake(
        "compare/plan/in_process.py",
        "minimum = min((ratio + max(below)) / 2,",
        "minimum = min((ratio + max(below)) * 2,",
        "tests/exact/test_section_readings.py::test_ratios_on_a_test_core_lie_between_the_counts",
    ),
    mistake(
        "predict/winding/layout.py",
        "high = low + step.breadth if step.breadth is not None else bay.end - margin",
        "high = low + step.breadth if step.breadth is not None else bay.end + margin",
        "tests/exact/test_arrangements.py::test_insulation_repeats_the_design_at_every_face",
    ),
    mistake(
        "cli/views/undrawn.py",
        "if of_circuit and of_circuit != circuit:",
        "if of_circuit or of_circuit != circuit:",
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "cli/views/calibration.py",
        "if best and best.probability > diagnosis.unlisted",
        "if best and best.probability <= diagnosis.unlisted",
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "cli/views/words.py",
        'if any(test.measure == "resistance" for test in design.tests):',
        'if any(test.measure != "resistance" for test in design.tests):',
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "predict/designfile/tables/steps.py",
        "around.chambers > 1 and (winds or around.flat):",
        "around.chambers > 1 and (winds and around.flat):",
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "predict/designfile/tables/bench_tests.py",
        'fault = replace(error.faults[0], hint=f"That is',
        'fault = replace(error.faults[1], hint=f"That is',
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "predict/designfile/tables/wire.py",
        "lay_factor(bundle / 2, section[",
        "lay_factor(bundle * 2, section[",
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "compare/readings/row_names.py",
        '    names = [name_and_unit(text)[0] for text in texts]\n    known = {name.partition("_")[2] for',
        '    names = [name_and_unit(text)[0] for text in texts]\n    known = {name.partition("_")[0] for',
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "compare/causes/sheet.py",
        "result.append(Variant(ratio, 1.0, replace(design, bobbin=bobbin), title))",
        "result.append(Variant(ratio, 2.0, replace(design, bobbin=bobbin), title))",
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "predict/forms/pot_core.py",
        "area=math.pi * (outside**2 - window**2) * wall,",
        "area=math.pi / (outside**2 - window**2) * wall,",
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "compare/lots/statistics.py",
        "float(fdtrc(a - 1, total - a,",
        "float(fdtrc(a - 2, total - a,",
        "tests/unit/test_drawn_mistakes.py",
    ),
    mistake(
        "predict/interleave/kept.py",
        "best = min(shortest[i][j][0], through[0]), min(",
        "best = max(shortest[i][j][0], through[0]), min(",
        f"{KEPT}::test_what_lies_between_is_counted_along_the_whole_stack[thickness alone]",
    ),
    mistake(
        "predict/interleave/kept.py",
        "min(shortest[i][j][1], int(through[1]))",
        "max(shortest[i][j][1], int(through[1]))",
        f"{KEPT}::test_what_lies_between_is_counted_along_the_whole_stack[wraps alone]",
    ),
    mistake(
        "cli/views/svg_pieces.py",
        "low = piece.y0 + wound.companion * step",
        "low = piece.y0 - wound.companion * step",
        "tests/exact/test_cross_section.py::test_windings_wound_together_share_the_thickness_of_their_layer",
    ),
    mistake(
        "cli/enter.py",
        "with alone(self.path):",
        "if True:",
        "tests/cli/test_enter.py::test_sessions_within_the_same_milliseconds_keep_each_others_readings",
    ),
    mistake(
        "compare/readings/bench_entries.py",
        "if wrong := unfit(whole, lines=True):",
        "if wrong := unfit(note, lines=True):",
        "tests/cli/test_enter.py::test_notes_that_are_too_long_together_are_not_kept",
    ),
)
