"""One-line mistakes thought of for every room before a look at its tests; all passed at a1d2f92."""

from __future__ import annotations

from mistake import mistake

PAGES = "tests/exact/test_numbers_on_pages.py"
CAPACITANCE = "tests/exact/test_capacitance.py"
LOTS = "tests/exact/test_lots_apart.py"
SCORES = "tests/exact/test_consistency_scores.py"
CHARTS = "tests/exact/test_charts.py"
SECTIONS = "tests/exact/test_section_readings.py"
SWEEP = "tests/exact/test_sweep_findings.py"
SCHEMA = "tests/cli/test_schema.py"
SHEET = "tests/exact/test_sheet_numbers.py"

THOUGHT_OF = (
    mistake(
        "predict/forms/e_core.py",
        "open_edge=facing + 4 * self.outer_leg,",
        "open_edge=facing + 2 * self.outer_leg,",
        "tests/exact/test_core_permeance.py::test_edges_towards_open_space_by_hand",
    ),
    mistake(
        "predict/winding/layout_faults.py",
        "below = max(below, float(np.max(top)))",
        "below = min(below, float(np.max(top)))",
        "tests/exact/test_layout.py::test_the_step_that_takes_most_is_named_with_its_own_height",
    ),
    mistake(
        "predict/winding/circuits_apart.py",
        "max(room - first_build(step.width), 0.0) / 2",
        "max(room - first_build(step.width), 0.0)",
        "tests/exact/test_insulated_faces.py::test_a_shield_lies_in_the_middle_of_its_room",
    ),
    mistake(
        "predict/winding/circuits_apart.py",
        "walls = abs(first_place.chamber - second_place.chamber) * first_build",
        "walls = first_build",
        "tests/exact/test_insulated_faces.py::test_chambers_that_are_two_apart_have_two_partitions_between",
    ),
    mistake(
        "predict/copper/circuit_of_layers.py",
        "    whole[:, n:, :n] *= own_length\n",
        "",
        "tests/exact/test_where_ampere_turns_return.py::test_linkages_of_layers_of_two_lengths",
    ),
    mistake(
        "predict/capacitance/along.py",
        "np.where(energy.scramble, weight / 12, 0.0)",
        "np.where(energy.scramble, weight / 6, 0.0)",
        f"{CAPACITANCE}::test_ends_of_a_layer_without_order",
    ),
    mistake(
        "predict/capacitance/along.py",
        "(pitch - np.where(width > 0, width, overall)) / 2",
        "(pitch - np.where(width > 0, width, overall))",
        f"{CAPACITANCE}::test_the_last_wire_of_a_spaced_layer_stands_half_a_space_from_its_end",
    ),
    mistake(
        "predict/capacitance/along.py",
        "weight = c * (np.maximum(number - 1, 0.0) if last else number) / 3",
        "weight = c * number / 3",
        f"{CAPACITANCE}::test_windings_wound_together_meet_between_all_neighbours",
    ),
    mistake(
        "predict/capacitance/wire_rows.py",
        "wide + 4 * np.log(2.0) / np.pi * gap",
        "wide + 2 * np.log(2.0) / np.pi * gap",
        "tests/exact/test_wire_rows.py::test_strips_far_apart_have_the_fringes_of_both_edges",
    ),
    mistake(
        "predict/capacitance/insulation_below.py",
        "step.chamber in (None, chamber)",
        "step.chamber == chamber",
        f"{CAPACITANCE}::test_tape_across_all_chambers_lies_in_each",
    ),
    mistake(
        "predict/circuit/displayed_number.py",
        '("capacitance", "series"): lambda Z, omega: -1.0 / (omega * Z.imag)',
        '("capacitance", "series"): lambda Z, omega: -Z.imag / (omega * np.abs(Z) ** 2)',
        "tests/exact/test_display.py::test_series_and_parallel_capacitance_by_hand",
    ),
    mistake(
        "predict/circuit/circuits_together.py",
        "temperature = stated + np.asarray(bench.temperature_error)",
        "temperature = stated - np.asarray(bench.temperature_error)",
        f"{PAGES}::test_a_part_that_is_warmer_reads_as_at_that_temperature",
    ),
    mistake(
        "predict/production/calibration.py",
        'math.sqrt(1 - shares_of("permittivity").design)',
        '(1 - shares_of("permittivity").design)',
        f"{PAGES}::test_what_a_known_good_sample_taught_leaves_the_rest_of_the_permittivity",
    ),
    mistake(
        "predict/production/frequency_sweep.py",
        "(high - low) / (2 * RANGE_END))",
        "(high - low) / 4.0)",
        "tests/exact/test_sweep.py::test_the_deviation_of_a_band_is_that_of_a_normal_reading",
    ),
    mistake(
        "predict/production/frequency_sweep.py",
        "math.exp(log_frequency[k] + part * (log_frequency[k + 1] - log_frequency[k]))",
        "float(frequencies[k] + part * (frequencies[k + 1] - frequencies[k]))",
        "tests/exact/test_sweep.py::test_a_crossing_lies_between_its_neighbours_in_the_logarithm",
    ),
    mistake(
        "predict/shop/while_winding.py",
        "joint_resistance=share * winding.joint_resistance",
        "joint_resistance=winding.joint_resistance",
        f"{SECTIONS}::test_sections_add_up_to_the_winding",
    ),
    mistake(
        "predict/designfile/tables/wire.py",
        "(TWISTED_LAY if wire.twisted else 1.0)",
        "(TWISTED_LAY if wire.twisted and not wire.litz else 1.0)",
        "tests/unit/test_designfile.py::test_strands_of_twisted_bundles_are_longer_by_both_twists",
    ),
    mistake(
        "predict/designfile/tables/core.py",
        "(stacking if shape.by_dimensions else 1.0)",
        "stacking",
        "tests/unit/test_designfile.py::test_stacking_counts_for_an_area_from_dimensions_alone",
    ),
    mistake(
        "predict/designfile/tables/bench.py",
        "factors.append(OwnFactor(of, factor, bound / 2))",
        "factors.append(OwnFactor(of, factor, bound))",
        "tests/unit/test_designfile.py::test_the_uncertainty_of_a_factor_is_two_standard_deviations",
    ),
    mistake(
        "predict/interleave/adjustment.py",
        "for k in range(1, int(most / step + 1e-9) + 1))",
        "for k in range(1, int(most / step + 1e-9)))",
        f"{PAGES}::test_steps_of_a_change_end_with_the_largest",
    ),
    mistake(
        "predict/interleave/divisions.py",
        "return len(named) + unnamed + sum(",
        "return len(named) + sum(",
        f"{PAGES}::test_an_end_without_a_named_pin_takes_one",
    ),
    mistake(
        "predict/netlist/file.py",
        "deviates from the predicted reading by up to {100 * stray.size:+.1f} %",
        "deviates from the predicted reading by up to {50 * stray.size:+.1f} %",
        f"{PAGES}::test_a_netlist_says_how_far_it_strays",
    ),
    mistake(
        "predict/netlist/file.py",
        "{100 * (factor - 1):+.1f} %",
        "{100 * (1 - factor):+.1f} %",
        f"{PAGES}::test_an_end_of_production_is_told_against_nominal",
    ),
    mistake(
        "compare/consistency/slips.py",
        "uncertainty=item.uncertainty / item.value**2)",
        "uncertainty=item.uncertainty / item.value)",
        f"{SCORES}::test_what_is_tried_of_a_ratio_keeps_its_relative_uncertainty",
    ),
    mistake(
        "compare/consistency/by_design.py",
        "/ math.hypot(1.0, SCATTER * usual.score)",
        "/ 1.0",
        f"{SCORES}::test_what_a_part_as_drawn_breaks_is_taken_off",
    ),
    mistake(
        "compare/consistency/undrawn.py",
        "math.hypot(claimed, scatter / math.sqrt(len(values)))",
        "math.hypot(claimed, scatter / len(values))",
        f"{SCORES}::test_repeats_of_a_part_without_a_drawing",
    ),
    mistake(
        "compare/consistency/undrawn.py",
        "meter = bench.accuracy / 2 * (1.0",
        "meter = bench.accuracy * (1.0",
        f"{SCORES}::test_without_a_frequency_a_reading_has_the_basic_accuracy",
    ),
    mistake(
        "compare/consistency/laws_of_parts.py",
        "doubt = math.hypot(a.relative, b.relative, level_allowance(a, b)) / 2",
        "doubt = math.hypot(a.relative, b.relative, level_allowance(a, b))",
        "tests/exact/test_laws_of_parts.py::test_a_tap_reads_the_square_of_its_turns",
    ),
    mistake(
        "compare/verdict/measured_sweeps.py",
        "change = (before.frequency / after) ** 2",
        "change = before.frequency / after",
        f"{SWEEP}::test_a_lower_resonance_is_more_capacitance",
    ),
    mistake(
        "compare/verdict/measured_sweeps.py",
        'change / shifted[0], "apart',
        'change * shifted[0], "apart',
        f"{SWEEP}::test_the_inductance_takes_its_part_of_a_moved_resonance",
    ),
    mistake(
        "compare/verdict/measured_sweeps.py",
        "sign * math.atan(read), doubt / (1 + read**2), k)",
        "sign * math.atan(read), doubt, k)",
        f"{SWEEP}::test_a_quality_is_the_tangent_of_a_phase",
    ),
    mistake(
        "compare/verdict/measured_sweeps.py",
        "return bool(phase > math.pi / 3)",
        "return bool(phase > math.pi / 6)",
        f"{SWEEP}::test_an_impedance_is_an_inductance_beyond_sixty_degrees",
    ),
    mistake(
        "compare/verdict/comparison.py",
        "> 2 * GUARD_FACTOR * self.read_uncertainty",
        "> GUARD_FACTOR * self.read_uncertainty",
        f"{PAGES}::test_a_limit_that_no_reading_can_pass_leaves_nothing_open",
    ),
    mistake(
        "compare/verdict/beyond_limits.py",
        "read=max(values) if above else min(values),",
        "read=min(values) if above else max(values),",
        f"{PAGES}::test_of_parts_beyond_a_limit_the_furthest_is_told",
    ),
    mistake(
        "compare/causes/bench.py",
        "math.exp(-extra / USUALLY_WARMER)) for",
        "1.0) for",
        f"{PAGES}::test_more_warmth_is_less_likely_on_a_scale_of_thirty_kelvins",
    ),
    mistake(
        "compare/causes/process.py",
        "takes {100 * (1 - scale):.0f} % of the inductance",
        "takes {100 * scale:.0f} % of the inductance",
        f"{PAGES}::test_causes_say_their_size_in_per_cent",
    ),
    mistake(
        "compare/causes/layers.py",
        "{100 * tipping.share:.2g} % of builds",
        "{10 * tipping.share:.2g} % of builds",
        f"{PAGES}::test_causes_say_their_size_in_per_cent",
    ),
    mistake(
        "compare/hypotheses/hypothesis.py",
        "share = 1.0 / np.append(sizes, abs(outer))",
        "share = 1.0 + 0.0 * np.append(sizes, abs(outer))",
        "tests/exact/test_diagnosis_numbers.py"
        "::test_a_count_between_shares_the_prior_of_the_farther_one_by_its_size",
    ),
    mistake(
        "compare/diagnosis/pairs.py",
        "width / math.sqrt(12))",
        "width / 12)",
        "tests/exact/test_diagnosis_numbers.py"
        "::test_a_part_of_a_range_reaches_as_far_as_a_uniform_distribution",
    ),
    mistake(
        "compare/diagnosis/probabilities.py",
        "weight(item.cause) * item.possible / math.sqrt(count[item.cause.name])",
        "weight(item.cause) * item.possible / count[item.cause.name]",
        "tests/exact/test_diagnosis_numbers.py"
        "::test_a_cause_at_several_places_shares_its_prior_by_the_root_of_their_number",
    ),
    mistake(
        "compare/lots/strangers.py",
        "allowed = min(SCREEN, SCREEN_LOT / len(rows))",
        "allowed = max(SCREEN, SCREEN_LOT / len(rows))",
        f"{LOTS}::test_a_part_is_examined_from_one_in_a_thousand_on_and_one_in_twenty_lots",
    ),
    mistake(
        "compare/lots/lot_pair.py",
        "factor = predicted / first.mean if first.mean else 1.0",
        "factor = first.mean / predicted if first.mean else 1.0",
        f"{LOTS}::test_a_second_lot_is_moved_as_the_first_onto_its_prediction",
    ),
    mistake(
        "compare/lots/lot_pair.py",
        "p < DIFFER / tests",
        "p < DIFFER",
        f"{LOTS}::test_one_per_cent_by_chance_is_shared_among_the_tests",
    ),
    mistake(
        "compare/lots/summary.py",
        "shared**2 + deviation**2 / n)",
        "shared**2 + deviation**2)",
        f"{LOTS}::test_the_scatter_of_a_mean_goes_with_the_root_of_the_parts",
    ),
    mistake(
        "compare/lots/summary.py",
        "squares[index] / freedom[index] / most[index]",
        "squares[index] / freedom[index]",
        f"{LOTS}::test_the_random_part_is_that_of_a_mean_of_repeats",
    ),
    mistake(
        "compare/lots/shared_causes.py",
        "if factor > 1.2 + 3 / math.sqrt(read)",
        "if factor > 1.2",
        f"{LOTS}::test_few_parts_have_to_differ_by_more",
    ),
    mistake(
        "compare/plan/process_readings.py",
        "bench = budgets[index].without(TEMPERATURE).combined",
        "bench = budgets[index].combined",
        f"{SECTIONS}::test_a_part_with_a_fault_reads_with_the_bench_alone",
    ),
    mistake(
        "compare/plan/process_readings.py",
        "abs(fault.size) < abs(least[fault.kind].size)",
        "abs(fault.size) > abs(least[fault.kind].size)",
        f"{SECTIONS}::test_the_smallest_fault_of_each_kind_is_named",
    ),
    mistake(
        "compare/plan/trade_offs.py",
        'f"{ratio:.0f} times the {name}"',
        'f"{ratio - 1:.0f} times the {name}"',
        f"{PAGES}::test_a_change_of_a_figure_in_words",
    ),
    mistake(
        "compare/plan/warnings.py",
        "- 1) * share",
        "- 1)",
        f"{PAGES}::test_how_far_a_level_lifts_an_inductance",
    ),
    mistake(
        "compare/plan/warnings.py",
        "samples = production.samples[:, index]",
        "samples = production.as_designed[:, index]",
        f"{PAGES}::test_sound_parts_beyond_a_limit_are_counted_among_all_builds",
    ),
    mistake(
        "compare/aims/changed_order.py",
        "steps[max(at - reach, 0) : at + reach + 1]",
        "steps[max(at - reach, 0) : at + reach]",
        "tests/exact/test_aim_targets.py::test_a_step_on_either_side_is_tried",
    ),
    mistake(
        "cli/views/forecast.py",
        "resistance + leads,",
        "resistance,",
        f"{PAGES}::test_a_winding_is_told_with_its_leads",
    ),
    mistake(
        "cli/views/forecast.py",
        "resistance + leads, length + winding.lead_length",
        "resistance + leads, length",
        f"{PAGES}::test_a_winding_is_told_with_its_leads",
    ),
    mistake(
        "cli/views/report_samples.py",
        'test.verdict == "undecided" and test.testable for',
        'test.verdict == "undecided" for',
        f"{PAGES}::test_a_limit_that_no_reading_can_pass_leaves_nothing_open",
    ),
    mistake(
        "cli/views/report_samples.py",
        'f"{len(bad)} of {number} samples deviate"',
        'f"{number} of {len(bad)} samples deviate"',
        f"{PAGES}::test_parts_that_deviate_are_counted",
    ),
    mistake(
        "cli/views/report.py",
        "2 * (test.read_uncertainty or 0.0)",
        "(test.read_uncertainty or 0.0)",
        f"{PAGES}::test_the_bar_of_a_reading_is_its_expanded_uncertainty",
    ),
    mistake(
        "cli/views/buildsheet.py",
        "{what.creepage * 1e3:.3g} mm",
        "{what.creepage * 1e6:.3g} mm",
        f"{SHEET}::test_creepage_over_the_partition_in_millimetres",
    ),
    mistake(
        "cli/views/buildsheet_board.py",
        "{margin * 1e3:.2f} mm",
        "{margin * 2e3:.2f} mm",
        f"{SHEET}::test_tracks_keep_from_the_edges_of_the_board",
    ),
    mistake(
        "cli/views/comparison.py",
        "doubt = 2 * change.change_uncertainty",
        "doubt = change.change_uncertainty",
        f"{PAGES}::test_a_change_from_stage_to_stage_has_its_expanded_uncertainty",
    ),
    mistake(
        "cli/views/calibration.py",
        "format_percent(2 * deviation, 1)",
        "format_percent(deviation, 1)",
        f"{PAGES}::test_what_was_learned_is_known_to_twice_its_deviation",
    ),
    mistake(
        "cli/views/diagnosis.py",
        "×{math.exp(ratio):.",
        "×{math.exp(ratio / 2):.",
        f"{PAGES}::test_a_likelihood_ratio_is_told_as_such",
    ),
    mistake(
        "cli/views/diagnosis_data.py",
        "amount_low=cause.low,",
        "amount_low=cause.high,",
        f"{PAGES}::test_the_range_of_an_amount_is_told_from_low_to_high",
    ),
    mistake(
        "cli/views/faults_seen.py",
        "{item.gain * 100:.1f} % more",
        "{item.gain * 10:.1f} % more",
        f"{PAGES}::test_a_further_test_is_told_with_its_gain",
    ),
    mistake(
        "cli/views/sweep_svg.py",
        "along(x), up(y * _factor(curve))",
        "along(x), up(y)",
        f"{CHARTS}::test_a_phase_is_drawn_in_degrees",
    ),
    mistake(
        "cli/views/sweep_svg.py",
        "return 180 / math.pi if curve.unit",
        "return 1.0 if curve.unit",
        f"{CHARTS}::test_a_phase_is_drawn_in_degrees",
    ),
    mistake(
        "cli/views/together.py",
        "×{factor:.1f}",
        "×{factor**2:.1f}",
        f"{PAGES}::test_how_much_more_parts_differ_is_told_as_the_factor",
    ),
    mistake(
        "cli/views/together.py",
        "together.shared[1:4] if item.probability >= 0.05]",
        "together.shared[1:4] if item.probability >= 0.5]",
        f"{PAGES}::test_how_much_more_parts_differ_is_told_as_the_factor",
    ),
    mistake(
        "cli/views/lot.py",
        'f"{test.outside}" if words',
        'f"{test.fails}" if words',
        f"{PAGES}::test_a_lot_tells_the_parts_outside_their_limits",
    ),
    mistake(
        "cli/views/lot.py",
        "words.width(item.second.standard_deviation, item.measure),",
        "words.width(item.first.standard_deviation, item.measure),",
        f"{PAGES}::test_two_lots_have_each_its_own_mean_and_scatter",
    ),
    mistake(
        "cli/views/interleave.py",
        "{face.thickness * 1e3:.3g} mm",
        "{face.thickness * 2e3:.3g} mm",
        f"{PAGES}::test_faces_are_told_with_their_insulation_in_millimetres",
    ),
    mistake(
        "cli/views/aims.py",
        "1.96 * np.sqrt(0.09 / result.builds)",
        "1.96 * (0.09 / result.builds)",
        f"{PAGES}::test_a_yield_of_ninety_per_cent_is_known_to_as_many_builds",
    ),
    mistake(
        "cli/views/aims.py",
        "± {100 * aim.tolerance / aim.value:.3g} %",
        "± {50 * aim.tolerance / aim.value:.3g} %",
        f"{PAGES}::test_an_aim_is_told_with_its_tolerance_in_per_cent",
    ),
    mistake(
        "cli/views/report_lot.py",
        "[None if limit is None else axis.factor * limit for",
        "[None if limit is None else limit for",
        f"{CHARTS}::test_a_histogram_has_limits_and_prediction_where_its_numbers_say",
    ),
    mistake(
        "cli/views/report_lot.py",
        "low, high = (axis.factor * end for end in _predicted(test))",
        "low, high = (axis.factor * end for end in (test.predicted, test.predicted_high))",
        f"{CHARTS}::test_a_histogram_has_limits_and_prediction_where_its_numbers_say",
    ),
    mistake(
        "cli/views/catalogue.py",
        "{row['window_width_m'] * 2e3:.4g}",
        "{row['window_width_m'] * 1e3:.4g}",
        f"{PAGES}::test_a_ring_of_the_catalogue_is_told_by_its_hole",
    ),
    mistake(
        "cli/views/prediction.py",
        "format_percent(new[0] / old[0] - 1, signed=True)",
        "format_percent(old[0] / new[0] - 1, signed=True)",
        f"{PAGES}::test_a_change_is_told_over_the_original",
    ),
    mistake(
        "cli/views/prediction.py",
        "former.perimeter / math.pi * 1e3:.4g",
        "former.perimeter * 1e3:.4g",
        f"{PAGES}::test_coils_in_air_are_told_by_their_former",
    ),
    mistake(
        "cli/views/words.py",
        "LEVEL_LOST = 0.01",
        "LEVEL_LOST = 0.1",
        f"{PAGES}::test_what_is_left_of_a_level_is_told_from_one_per_cent_on",
    ),
    mistake(
        "cli/views/entry.py",
        "{test_index + 1} of {len(guide.planned)}",
        "{test_index} of {len(guide.planned)}",
        f"{PAGES}::test_a_question_is_numbered_from_one",
    ),
    mistake(
        "cli/documents/sheet_document.py",
        '"2.5 % point of builds (m)."',
        '"5 % point of builds (m)."',
        f"{SCHEMA}::test_words_say_the_bounds_and_probabilities_in_use",
    ),
    mistake(
        "cli/documents/lot_document.py",
        '"Its lower 95 % confidence bound (dimensionless)."',
        '"Its lower 90 % confidence bound (dimensionless)."',
        f"{SCHEMA}::test_words_say_the_bounds_and_probabilities_in_use",
    ),
    mistake(
        "cli/documents/plan_document.py",
        '"Standard uncertainty (k = 1) of the bench, in the test\'s unit."',
        '"Expanded uncertainty (k = 2) of the bench, in the test\'s unit."',
        f"{SCHEMA}::test_words_say_the_bounds_and_probabilities_in_use",
    ),
    mistake(
        "cli/documents/compare_document.py",
        '"Whether |score| <= 2."',
        '"Whether |score| <= 3."',
        f"{SCHEMA}::test_words_say_the_bounds_and_probabilities_in_use",
    ),
    mistake(
        "cli/documents/interleave_document.py",
        'width_m: float = json_key("Its width (m)."',
        'width_m: float = json_key("Its width (mm)."',
        f"{SCHEMA}::test_words_have_the_unit_that_the_key_has",
    ),
    mistake(
        "cli/check.py",
        "return 1 if any(part.deviates for part in parts) else 0",
        "return 1 if all(part.deviates for part in parts) else 0",
        "tests/cli/test_check.py::test_a_part_that_contradicts_itself_among_others_ends_with_one",
    ),
    mistake(
        "cli/interleave_options.py",
        "tolerance = TOLERANCE * value if sense",
        "tolerance = TOLERANCE if sense",
        f"{PAGES}::test_an_aim_without_a_tolerance_has_that_of_the_guide",
    ),
    mistake(
        "cli/compare.py",
        "KNOWN_GOOD = 0.95",
        "KNOWN_GOOD = 0.5",
        "tests/cli/test_compare_learn.py::test_a_sample_that_is_called_good_is_believed_to_be",
    ),
)
