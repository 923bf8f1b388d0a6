"""Files of readings and fixtures → readings in SI, with every bad row reported; corrections by open, short
and load standards.

This room knows the design's tests only by name; what they should read is the business of ``verdict``.
"""

from .bench_entries import EntryFile, as_written, entry_file
from .cells import DIMENSIONS, Conventions, Reading, read_row
from .correction import FixtureStandards
from .delimited import read_table
from .file import (
    COLUMNS,
    load_readings,
    parse_readings,
    read_text,
    readings_from_options,
    readings_of_table,
    table_of,
)
from .fixture_file import FixtureCorrection, correct_readings, load_fixture
from .read_test import CORELESS, ReadTest, only_samples, told_apart
from .row_names import OWN_COLUMNS, tests_in_header, tests_of, windings_of
from .template import check_sample_name, empty_template

__all__ = [
    "COLUMNS",
    "CORELESS",
    "DIMENSIONS",
    "OWN_COLUMNS",
    "Conventions",
    "EntryFile",
    "FixtureCorrection",
    "FixtureStandards",
    "ReadTest",
    "Reading",
    "as_written",
    "check_sample_name",
    "correct_readings",
    "empty_template",
    "entry_file",
    "load_fixture",
    "load_readings",
    "only_samples",
    "parse_readings",
    "read_row",
    "read_table",
    "read_text",
    "readings_from_options",
    "readings_of_table",
    "table_of",
    "tests_in_header",
    "tests_of",
    "told_apart",
    "windings_of",
]
