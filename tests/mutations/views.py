"""Numbers that a user reads, statuses, and rooms whose constants are no plain numbers."""

from __future__ import annotations

from mistake import mistake

VIEWS_TEST = "tests/cli/test_views_hold_the_data.py"
PREDICT = f"{VIEWS_TEST}::test_percentages_of_core_and_window_are_those_of_their_keys"
PAGE = "tests/unit/test_constants.py::test_constants_are_those_of_the_page"

VIEWS = (
    mistake(
        "cli/views/layers.py",
        "float(layout.top[0]) * 1e3, float",
        "float(layout.top[0]) * 2e3, float",
        PREDICT,
    ),
    mistake("cli/views/layers.py", "float(layout.fill[0]) * 100", "float(layout.fill[0]) * 50", PREDICT),
    mistake("cli/views/prediction.py", "{share * 100:.0f} % of its", "{share * 200:.0f} % of its", PREDICT),
    mistake(
        "cli/main.py",
        "UNUSABLE, INTERNAL, INTERRUPTED = 2, 3, 130",
        "UNUSABLE, INTERNAL, INTERRUPTED = 2, 1, 130",
        "tests/cli/test_statuses.py::test_a_fault_of_the_tool",
    ),
    mistake(
        "predict/catalogue/rows.py", "GRADES = (1, 2, 3)", "GRADES = (1, 2)", f"{PAGE}[predict/catalogue]"
    ),
    mistake(
        "predict/forms/core_form.py",
        "SHARP_CORNER = 4 / math.pi * math.log(1.5)",
        "SHARP_CORNER = 2 / math.pi * math.log(1.5)",
        f"{PAGE}[predict/forms]",
    ),
    mistake(
        "cli/documents/record.py",
        "if (part := getattr(value, name)) is not ABSENT",
        "if (part := getattr(value, name)) is not None",
        "tests/unit/test_documents.py::test_the_data_of_a_record",
    ),
    mistake(
        "cli/documents/record.py",
        'if not each.metadata["optional"]]',
        'if each.metadata["optional"]]',
        "tests/unit/test_documents.py::test_the_schema_of_a_record",
    ),
    mistake(
        "compare/readings/workbook_cells.py",
        "if size > LARGEST_READINGS:",
        "if size > 1000 * LARGEST_READINGS:",
        "tests/cli/test_injection.py::test_a_workbook_that_grows_is_refused",
    ),
    mistake(
        "cli/main.py",
        'visible(where).replace("\\n", "\\\\n")',
        "visible(where)",
        "tests/cli/test_injection.py::test_lines_and_escapes_in_names_of_a_design_are_refused",
    ),
    mistake(
        "predict/errors.py",
        "if len(text) > LONGEST_PART:",
        "if len(text) > 1000 * LONGEST_PART:",
        "tests/unit/test_designfile_faults.py::test_a_name_of_any_length_makes_a_message_that_can_be_read",
    ),
    mistake(
        "predict/designfile/grammar/keys.py",
        "return [value] if value else []",
        "return []",
        "tests/unit/test_designfile_faults.py::test_one_winding_in_single_brackets_is_one_fault",
    ),
)
