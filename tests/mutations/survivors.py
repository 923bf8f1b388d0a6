"""Mistakes that every test once passed: at commit f4e05a9 none noticed them."""

from __future__ import annotations

from mistake import mistake

SECOND = "tests/exact/test_second_order_terms.py"
DIAGNOSIS = "tests/exact/test_diagnosis_numbers.py"
SHEET = "tests/cli/test_sheet.py"

SURVIVORS = (
    # cross term of windings wound together
    mistake(
        "predict/capacitance/energy.py",
        "weight[:, None] * (low + high / 2)",
        "weight[:, None] * (low - high / 2)",
        f"{SECOND}::test_windings_wound_together_by_the_integral_of_their_difference",
    ),
    mistake(
        "predict/capacitance/energy.py",
        "weight[:, None] * (high + low / 2)",
        "weight[:, None] * (high + low)",
        f"{SECOND}::test_windings_wound_together_by_the_integral_of_their_difference",
    ),
    # field within a litz bundle
    mistake(
        "predict/copper/layers_in_field.py",
        "many * driven[..., None] / (12 * (m * b) ** 2)",
        "many * driven[..., None] / (24 * (m * b) ** 2)",
        f"{SECOND}::test_the_field_within_a_layer_of_litz",
    ),
    mistake(
        "predict/copper/alternating_current.py",
        "_outer(f0 - f1, f0 - f1) / (12 * breadth**2)",
        "_outer(f0 - f1, f0 - f1) / (24 * breadth**2)",
        f"{SECOND}::test_the_field_within_litz_on_a_ring",
    ),
    # density of a ring's shared sector
    mistake(
        "predict/copper/alternating_current.py",
        "math.tau * shared / (here * there)",
        "math.tau * shared / (there * there)",
        f"{SECOND}::test_the_density_of_a_sector_where_another_lies",
    ),
    # interpolation between frequencies
    mistake(
        "predict/circuit/bench.py",
        "added.real * np.sqrt(ratio)",
        "added.real * ratio",
        f"{SECOND}::test_between_frequencies_resistance_goes_with_their_root",
    ),
    # tolerance of litz's covering
    mistake(
        "predict/production/winding_tolerances.py",
        "wire.overall * log_normal_factor(sd * _LITZ_COVERING, z)",
        "wire.overall * log_normal_factor(2 * sd * _LITZ_COVERING, z)",
        f"{SECOND}::test_the_covering_of_litz_varies_by_a_quarter_of_an_enamel",
    ),
    # the price of a wrong sign
    mistake(
        "compare/diagnosis/weighing.py",
        "SIGN_PENALTY = 12.0",
        "SIGN_PENALTY = 0.0",
        f"{DIAGNOSIS}::test_a_reading_of_the_wrong_sign_costs_twelve",
    ),
    # the interval of an amount
    mistake(
        "compare/diagnosis/entries.py",
        "for point in (0.05, 0.95 - 1e-9)",
        "for point in (0.10, 0.90 - 1e-9)",
        f"{DIAGNOSIS}::test_the_interval_of_an_amount_holds_nine_tenths",
    ),
    # limits beside their frequency
    mistake(
        "compare/verdict/evaluation.py",
        "LIMITS_REACH = 0.05",
        "LIMITS_REACH = 0.5",
        f"{DIAGNOSIS}::test_limits_judge_within_five_per_cent_of_their_frequency",
    ),
    # a part that is warmed
    mistake(
        "compare/hypotheses/interventions.py",
        "WARMER = 25.0",
        "WARMER = 15.0",
        f"{DIAGNOSIS}::test_warmed_means_by_25_kelvins",
    ),
    # from where on nothing is sure
    mistake(
        "cli/views/diagnosis.py",
        "LEADS, ALONE, SURELY = 0.5, 0.9, 0.9",
        "LEADS, ALONE, SURELY = 0.9, 0.9, 0.9",
        f"{DIAGNOSIS}::test_what_is_stated_and_what_is_a_guess",
    ),
    # the build sheet: margin, wire to cut, height
    mistake(
        "cli/views/buildsheet_steps.py",
        'f"margin {_millimetres(float(np.asarray(margin)))} {where}"',
        'f"margin {_millimetres(float(np.asarray(margin)) / 2)} {where}"',
        f"{SHEET}::test_numbers_on_the_page_are_those_of_the_hand",
    ),
    mistake(
        "cli/views/buildsheet_material.py",
        'each = f"{_up(cut.length):.2f} m"',
        'each = f"{_up(2 * cut.length):.2f} m"',
        f"{SHEET}::test_numbers_on_the_page_are_those_of_the_hand",
    ),
    mistake(
        "cli/views/buildsheet_steps.py",
        'f"{operation.height.nominal * 1e3:.2f}", f"{low',
        'f"{operation.height.high * 1e3:.2f}", f"{low',
        "tests/cli/test_views_hold_the_data.py::test_the_sheets_heights_are_the_nominal_ones_with_their_range",
    ),
    # handling of a ratio
    mistake(
        "compare/meter/budget.py",
        '"ratio": 0.0005',
        '"ratio": 0.005',
        "tests/unit/test_constants.py::test_constants_are_those_of_the_page",
    ),
    # weights of slips
    mistake(
        "compare/diagnosis/weighing.py",
        "1e-3: 0.2, 1e2: 0.05",
        "1e-3: 0.02, 1e2: 0.5",
        f"{DIAGNOSIS}::test_a_slip_is_weighed_by_its_share",
    ),
)
