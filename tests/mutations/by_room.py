"""Mistakes in the rooms that had fewest, second-order terms and judged constants among them, and what once
survived ``generic.py``."""

from __future__ import annotations

from mistake import mistake

BY_ROOM = (
    mistake(
        "compare/aims/target.py",
        'return {"=": self.value - self.tolerance,',
        'return {"=": self.value + self.tolerance,',
        "tests/property/test_adjustments.py::test_an_aim_is_met_by_a_build_with_numbers",
    ),
    mistake(
        "compare/aims/target.py",
        "turned = a > 0",
        "turned = a < 0",
        "tests/property/test_adjustments.py::test_what_cannot_be_met_is_said_and_what_is_out_of_reach_named",
    ),
    mistake(
        "compare/consistency/laws_of_frequency.py",
        "low, high = max(pairwise(sweep), key=lambda pair: abs(",
        "low, high = min(pairwise(sweep), key=lambda pair: abs(",
        "tests/exact/test_deliberate_mistakes.py::test_the_worst_step_of_a_shorted_sweep_is_named",
    ),
    mistake(
        "compare/diagnosis/weighing.py",
        "if item.value is not None and item.uncertainty is not None]",
        "if item.value is not None or item.uncertainty is not None]",
        "tests/exact/test_deliberate_mistakes.py::test_a_reading_without_an_uncertainty_is_not_weighed",
    ),
    mistake(
        "compare/hypotheses/candidates.py",
        "offer(replace(test, level=test.level / 10), None)",
        "offer(replace(test, level=test.level / 2), None)",
        "tests/exact/test_deliberate_mistakes.py::test_what_may_be_read_next",
    ),
    mistake(
        "compare/lots/shared_causes.py",
        "for sample, here in zip(usable, kept, strict=True) if here)",
        "for sample, here in zip(usable, kept, strict=True) if not here)",
        "tests/unit/test_shared_causes.py::test_a_shared_cause_is_found",
    ),
    mistake(
        "predict/capacitance/facing_layers.py",
        "wall + 0.11 * np.asarray(face.pitch), 0.0)",
        "wall + 0.22 * np.asarray(face.pitch), 0.0)",
        "tests/exact/test_deliberate_mistakes.py::test_a_row_looks_like_a_plane_a_ninth_of_the_pitch_behind_its_insulation",
    ),
    mistake(
        "predict/catalogue/lookup.py",
        "0.005 * 0.0254 * 92 ** ((36 - gauge) / 39)",
        "0.005 * 0.0254 * 92 ** ((36 - gauge) / 40)",
        "tests/published/test_wires.py::test_awg_diameter",
    ),
    mistake(
        "predict/catalogue/lookup.py",
        "return minimum - row.diameter + diameter, maximum - row.diameter + diameter",
        "return minimum - row.diameter + diameter, maximum",
        "tests/unit/test_catalogue.py::test_diameter_in_between_takes_the_increases_of_the_next_larger_size",
    ),
    mistake(
        "predict/catalogue/wire_builds.py",
        "insulated_range(catalogue, diameter, grade + 1)[1]",
        "insulated_range(catalogue, diameter, grade + 1)[0]",
        "tests/exact/test_wire_builds.py::test_bonding_layers_lie_between_the_grades",
    ),
    mistake(
        "predict/circuit/core_state.py",
        "if float(np.max(np.asarray(core.gap))) > 0 or",
        "if float(np.max(np.asarray(core.gap))) >= 1 or",
        "tests/unit/test_steel_cautions.py::test_closed_steel_remembers",
    ),
    mistake(
        "predict/circuit/section_coupling.py",
        "by_field = np.array(parallel or joined or len(opposing) > 1)",
        "by_field = np.array(parallel or joined or len(opposing) > 2)",
        "tests/exact/test_deliberate_mistakes.py::test_an_outer_winding_behind_a_shorted_one_carries_little",
    ),
    mistake(
        "predict/copper/resistance.py",
        "return np.where(small, 1 + square / 4,",
        "return np.where(small, 1 + square / 2,",
        "tests/exact/test_lay.py::test_mean_of_helices",
    ),
    mistake(
        "predict/copper/resistance.py",
        "2 / (3 * safe) * ((1 + safe) ** 1.5 - 1)",
        "2 / (3 * safe) * ((1 + safe) ** 1.4 - 1)",
        "tests/exact/test_lay.py::test_mean_of_helices",
    ),
    mistake(
        "predict/cores/direct_current.py",
        "level = 1 - np.minimum(lifted, 1 / lifted)",
        "level = 1 - lifted",
        "tests/published/test_steel.py::test_level_on_a_direct_current",
    ),
    mistake(
        "predict/cores/normal_curve.py",
        "field = last / ratio + np.asarray(material.initial_permeability) * (top - last)",
        "field = last / ratio + (top - last)",
        "tests/exact/test_operating_point.py::test_direct_current_far_from_saturation_and_in_it",
    ),
    mistake(
        "predict/cores/normal_curve.py",
        "rise = field(steady + half) - field(steady - half)",
        "rise = field(steady + half)",
        "tests/exact/test_operating_point.py::test_direct_current_far_from_saturation_and_in_it",
    ),
    mistake(
        "predict/designfile/new_design.py",
        "room = 0.5 * (width - wall) -",
        "room = 0.9 * (width - wall) -",
        "tests/unit/test_designtemplate.py::test_it_reads_and_fits_with_every_core",
    ),
    mistake(
        "predict/designfile/rewrite.py",
        'items += [f"leg = {step.leg}"] * (step.leg != 1)',
        'items += [f"leg = {step.leg}"] * (step.leg != 2)',
        "tests/exact/test_arrangement_builds.py::test_each_can_be_written_as_a_file",
    ),
    mistake(
        "predict/designfile/tables/turns.py",
        'winding.sections == "parallel" and len(set(turns)) > 1',
        'winding.sections == "parallel" and len(set(turns)) > 2',
        "tests/unit/test_designfile.py::test_parallel_sections_of_unequal_turns_are_a_caution",
    ),
    mistake(
        "predict/designfile/usual_tests.py",
        "if len(others) > 1:",
        "if len(others) > 2:",
        "tests/unit/test_designfile.py::test_a_design_without_tests_gets_the_usual_ones",
    ),
    mistake(
        "predict/field/ring_leakage.py",
        "near, far = np.maximum(inner - t, 1e-6), outer + t",
        "near, far = np.maximum(inner - t, 1e-6), outer",
        "tests/reference/test_leakage_3d.py::test_ring_with_full_windings",
    ),
    mistake(
        "predict/forms/air_core.py",
        "return math.pi * self.diameter",
        "return 2 * math.pi * self.diameter",
        "tests/published/test_air_coils.py::test_rosa_for_round_wire",
    ),
    mistake(
        "predict/forms/air_core.py",
        "whole = 2 * math.pi * (self.diameter / 2 + np.asarray(distance, float))",
        "whole = 2 * math.pi * (self.diameter + np.asarray(distance, float))",
        "tests/unit/test_forms.py::test_a_turn_on_the_leg_is_as_long_as_the_leg_is_round",
    ),
    mistake(
        "predict/interleave/divisions.py",
        "hands = wires[winding.name] // (split.sections if parallel else 1)",
        "hands = wires[winding.name]",
        "tests/exact/test_arrangement_builds.py::test_sections_in_parallel_share_the_wires_out",
    ),
    mistake(
        "predict/netlist/builds.py",
        'leakage=model.leakage * factors.get("leakage", of_field)',
        'leakage=model.leakage * factors.get("leak", of_field)',
        "tests/reference/test_netlist.py::test_low_and_high_builds_lie_on_either_side",
    ),
    mistake(
        "predict/netlist/builds.py",
        "return float(np.sqrt(low * high))",
        "return float((low + high) / 2)",
        "tests/reference/test_netlist.py::test_low_and_high_builds_lie_on_either_side",
    ),
    mistake(
        "predict/netlist/check.py",
        '(f"{kind} resistance", impedance.real / expected.real - 1)',
        '(f"{kind} resistance", impedance.real / expected.real)',
        "tests/exact/test_deliberate_mistakes.py::test_a_netlist_within_its_range_deviates_little",
    ),
    mistake(
        "predict/shop/materials.py",
        "metal + ENAMEL_DENSITY * ring * length",
        "metal + ENAMEL_DENSITY * ring",
        "tests/exact/test_deliberate_mistakes.py::test_mass_of_a_wire_is_copper_and_enamel",
    ),
    mistake(
        "predict/shop/sheet_steps.py",
        "math.tau * (top - thickness / 2)",
        "math.tau * top",
        "tests/exact/test_deliberate_mistakes.py::test_length_of_tape_is_along_its_middle",
    ),
    mistake(
        "predict/shop/while_winding.py",
        "share = ((ordinal == 1) + (ordinal == count)) / 2",
        "share = ((ordinal == 1) + (ordinal == count)) / 1",
        "tests/exact/test_section_readings.py::test_sections_add_up_to_the_winding",
    ),
    mistake(
        "predict/winding/layering.py",
        "return wire.overall * bundle_factor(wire.in_hand) + 2 * wire.serving",
        "return wire.overall * bundle_factor(wire.in_hand) + wire.serving",
        "tests/exact/test_wire_builds.py::test_a_served_bundle_takes_its_room_and_its_copper_is_that_without",
    ),
    mistake(
        "predict/winding/layering.py",
        "return (layer_thickness(wire) - 2 * wire.serving) * square",
        "return layer_thickness(wire) * square",
        "tests/exact/test_deliberate_mistakes.py::test_copper_of_a_served_bundle",
    ),
    mistake(
        "predict/winding/layering.py",
        "between = np.maximum(layers - 1, 0) * self.interlayer",
        "between = layers * self.interlayer",
        "tests/exact/test_layout.py::test_foil_lies_a_turn_a_layer_from_the_margin_on",
    ),
    mistake(
        "predict/winding/rectangles.py",
        "along = (wall, width / 2 if _both_legs(design) else width) if flat else (low, high)",
        "along = (0.0, width / 2 if _both_legs(design) else width) if flat else (low, high)",
        "tests/exact/test_cross_section.py::test_flat_layers",
    ),
    mistake(
        "predict/winding/rectangles.py",
        "span = (top - thickness, top)",
        "span = (top, top + thickness)",
        "tests/exact/test_cross_section.py::test_flat_layers",
    ),
    mistake(
        "predict/winding/rectangles.py",
        "first, last, low, high = (2, 3, 0, 1) if flat else",
        "first, last, low, high = (2, 3, 1, 1) if flat else",
        "tests/exact/test_deliberate_mistakes.py::test_margin_that_a_flat_layer_covers_is_not_drawn",
    ),
    mistake(
        "predict/winding/rectangles.py",
        "float(layout.step_tops[0, number])",
        "float(layout.step_tops[0, -1])",
        "tests/exact/test_cross_section.py::test_flat_layers",
    ),
    mistake(
        "predict/circuit/leakage_statement.py",
        "return float(min(np.max(together), np.min(leakage_errors(sections, pairs)[0])))",
        "return float(np.max(together))",
        "tests/exact/test_error_of_each_leakage.py::test_the_shared_error_is_that_of_the_pair_known_best",
    ),
    mistake(
        "predict/production/own_errors.py",
        "float(stated[index]) ** 2 - shared**2 / 2",
        "float(stated[index]) ** 2 / 2",
        "tests/exact/test_error_of_each_leakage.py"
        "::test_a_reset_winding_wound_with_the_primary_does_not_widen_the_other_leakage",
    ),
    mistake(
        "predict/circuit/leakage_statement.py",
        "abs(net) <= OPPOSED_TURNS * sum(turns)",
        "abs(net) <= sum(turns)",
        "tests/exact/test_error_of_each_leakage.py"
        "::test_series_opposition_of_equal_turns_is_a_leakage_of_the_pair",
    ),
    mistake(
        "predict/production/own_errors.py",
        "leakage_errors(sections, (leakage,))[1][0, 0]",
        "near.max()",
        "tests/exact/test_error_of_each_leakage.py"
        "::test_the_capacitance_to_the_secondary_is_that_of_layers_that_face_each_other",
    ),
    mistake(
        "compare/lots/summary.py",
        'least = 0.0 if test.measure != "phase"',
        'least = -math.inf if test.measure != "phase"',
        "tests/exact/test_lots_apart.py::test_no_interval_reaches_below_zero_where_no_part_does",
    ),
    mistake(
        "compare/diagnosis/covariances.py",
        "ONE_EFFECT * apart * nearness",
        "ONE_EFFECT * apart * nearness * 0",
        "tests/exact/test_odd_reading.py::test_two_windings_of_equal_turns_that_disagree",
    ),
    mistake(
        "compare/diagnosis/rivals.py",
        "uncertainty = float(1 / sharp[index])",
        "uncertainty = float(sharp[index])",
        "tests/exact/test_odd_reading.py::test_two_readings_by_the_closed_form",
    ),
    mistake(
        "predict/production/own_errors.py",
        "arcs.get(name, 0.0)",
        "0.0 * arcs.get(name, 0.0)",
        "tests/exact/test_odd_reading.py::test_two_windings_whose_arcs_are_set_by_hand_may_disagree",
    ),
    mistake(
        "predict/circuit/leakage_statement.py",
        "wound = turns * (laid == numbers[name])",
        "wound = turns",
        "tests/exact/test_ring_sectors.py::test_what_an_arc_leaves_open_in_each_open_inductance",
    ),
    mistake(
        "compare/diagnosis/covariances.py",
        "kin=_kin(tests, background.leakage)",
        "kin=_kin(tests, background.leakage & False)",
        "tests/exact/test_error_of_each_leakage.py"
        "::test_series_opposition_is_no_open_inductance_to_the_diagnosis",
    ),
    mistake(
        "compare/hypotheses/forward_runs.py",
        "test.measure in cause.exact and not is_leakage(design, test)",
        "test.measure in cause.exact and not test.short",
        "tests/exact/test_error_of_each_leakage.py"
        "::test_series_opposition_is_no_open_inductance_to_the_diagnosis",
    ),
    mistake(
        "compare/hypotheses/interventions.py",
        'if test.measure == "inductance" and not is_leakage(design, test))',
        'if test.measure == "inductance" and not test.short)',
        "tests/exact/test_error_of_each_leakage.py"
        "::test_series_opposition_is_no_open_inductance_to_the_diagnosis",
    ),
    mistake(
        "compare/causes/turns.py",
        "layer_turns(changed)[..., 0] <= layer_turns(design)[..., 0]",
        "layer_turns(changed)[..., 0] >= 0",
        "tests/unit/test_causes.py::test_tracks_that_do_not_fit_on_their_layer_are_no_miscount",
    ),
    mistake(
        "predict/copper/air_field.py",
        "axial[..., j] = np.where(here, curved[..., None], loop[1] + band[1]).mean(axis=-1)",
        "axial[..., j] = np.where(here, curved[..., None], loop[1]).mean(axis=-1)",
        "tests/exact/test_air_field.py::test_two_layers_of_a_long_coil[90]",
    ),
    mistake(
        "predict/copper/alternating_current.py",
        "_FOIL_RINGS if wire.flat else wire.in_hand",
        "wire.in_hand",
        "tests/exact/test_air_field.py::test_foil_in_air_shorts_no_more_than_its_copper_can",
    ),
    mistake(
        "cli/views/sweep.py",
        "_part(high - nominal, nominal), _part(nominal - low, nominal)",
        "_part(nominal - low, nominal), _part(high - nominal, nominal)",
        "tests/cli/test_sweep.py::test_both_sides_of_an_uneven_range_are_printed",
    ),
    mistake(
        "predict/copper/alternating_current.py",
        'kinds & {"foil", "track"}',
        'kinds & {"foil"}',
        "tests/published/test_air_resistance.py::test_tracks_in_air_are_stated_wider",
    ),
    mistake(
        "cli/views/prediction.py",
        "error > _MUCH_MORE * shared",
        "error > 2 * _MUCH_MORE * shared",
        "tests/exact/test_error_of_each_leakage.py::test_readings_that_are_known_worse_are_named",
    ),
    mistake(
        "predict/winding/turns_by_layer.py",
        "breadth = bay.end - margin - low",
        "breadth = bay.end - 2 * margin - low",
        "tests/exact/test_tracks_stay.py::test_artwork_is_laid_where_it_was",
    ),
    mistake(
        "predict/production/winding_tolerances.py",
        'design = with_artwork(design) if field == "margin" else design',
        'design = with_artwork(design) if field == "interlayer" else design',
        "tests/exact/test_tracks_stay.py::test_no_tolerance_moves_a_track_to_another_layer",
    ),
    mistake(
        "compare/aims/worth_listing.py",
        "return doubted[0] > max(doubted[1], extra)",
        "return doubted[0] > min(doubted[1], extra)",
        "tests/property/test_adjustments.py::test_a_change_that_brings_nothing_is_not_listed",
    ),
    mistake(
        "compare/plan/in_process.py",
        "ratio + COVERAGE * uncertainty)",
        "ratio + uncertainty)",
        "tests/exact/test_sheet_numbers.py::test_a_ratio_of_many_turns_is_judged_no_closer_than_it_is_read",
    ),
    mistake(
        "predict/shop/materials.py",
        "pieces=len(layers)",
        "pieces=2 * len(layers)",
        "tests/exact/test_bill_of_material.py::test_a_board_has_etched_layers_and_no_bobbin",
    ),
)
