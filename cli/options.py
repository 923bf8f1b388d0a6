"""Options that several commands share."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import completion

if TYPE_CHECKING:
    from ..compare.readings import FixtureCorrection, Reading
    from ..predict.design import Design

DesignFile = Annotated[Path, typer.Argument(metavar="DESIGN", help="Design file (TOML).")]
ReadingsFile = Annotated[Path | None, typer.Argument(metavar="[READINGS]", help="Readings file (CSV).")]
Json = Annotated[bool, typer.Option("--json", help="Print JSON (SI units) instead of tables.")]
Brief = Annotated[bool, typer.Option("--brief", help="One line for each sample.")]
BenchFile = Annotated[
    Path | None,
    typer.Option("--bench", metavar="FILE", help="A bench file, in place of the design's [bench]."),
]
Read = Annotated[
    list[str] | None,
    typer.Option(
        "--read",
        metavar="TEST=VALUE",
        help='A reading given here, e.g. "L_P=612uH"; repeatable.',
        autocompletion=completion.test_values,
    ),
]
Map = Annotated[
    list[str] | None,
    typer.Option(
        "--map",
        metavar="COLUMN=TEST",
        help='Which column of a log is which test: "Ls=L_P", "Ls [uH]=L_P", "No.=sample"; repeatable.',
    ),
]
Sample = Annotated[
    list[str] | None,
    typer.Option(
        "--sample",
        metavar="NAME",
        help="Only this sample of the file; repeatable.",
        autocompletion=completion.sample_names,
    ),
]
FixtureFile = Annotated[
    Path | None,
    typer.Option(
        "--fixture",
        metavar="FILE",
        help="Open, short and load readings of the fixture (CSV: standard, frequency, reading, true); "
        "complex readings are corrected with them.",
    ),
]
ChangeFirst = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="PATH=VALUE",
        help='Change the design first, e.g. "step2.wraps=4" or "core.gap=0.3 mm"; repeatable.',
    ),
]
Force = Annotated[bool, typer.Option("--force", help="Replace the file to write if it exists.")]
Rule = Annotated[
    str,
    typer.Option(
        metavar="simple|guarded|three-zone",
        help="How limits decide: the guard band of a verdict.",
        autocompletion=completion.rule_names,
    ),
]


def rule_named(name: str) -> str:
    """A decision rule's name; DesignError for another."""
    from ..compare.verdict import RULES
    from ..predict.errors import DesignError, Fault, nearest

    if name not in RULES:
        allowed = "; ".join(f"{rule} ({words})" for rule, words in RULES.items())
        raise DesignError(Fault("option --rule", repr(name), allowed, nearest(name, RULES)))
    return name


def share_of(option: str, text: str) -> float:
    """A share from "95 %" or "0.95".

    Parameters
    ----------
    option : str, name of the option, for the fault
    text : str, what was typed

    Returns
    -------
    float, the share, between 0 and 1, dimensionless

    Raises
    ------
    DesignError
        Anything else.
    """
    from ..predict.errors import DesignError, Fault, QuantityError
    from ..predict.quantity import parse_relative

    try:
        share = parse_relative(text)
    except QuantityError:
        share = math.nan
    if not 0.0 < share < 1.0:
        raise DesignError(Fault(f"option {option}", repr(text), "a share between 0 and 100 %", 'e.g. "95 %"'))
    return share


def corrected_by(
    design: Design, readings: tuple[Reading, ...], fixture: Path | None
) -> tuple[tuple[Reading, ...], FixtureCorrection | None]:
    """Readings with the fixture taken off; as they are without a fixture file.

    Parameters
    ----------
    design : Design
    readings : tuple[Reading, ...], readings as displayed
    fixture : Path or None, file of the fixture's standards; None: none
    """
    if fixture is None:
        return readings, None
    from ..compare.readings import correct_readings, load_fixture

    tests = {test.name: test for test in design.tests}
    done = correct_readings(tests, design.bench, readings, load_fixture(fixture))
    return done.readings, done


def readings_of(
    design: Design,
    file: Path | None,
    on_the_spot: list[str] | None,
    mapping: list[str] | None = None,
    samples: list[str] | None = None,
) -> tuple[Reading, ...]:
    """Readings from the file and from ``--read`` together.

    Parameters
    ----------
    design : Design
    file : Path or None, the readings file; None: none
    on_the_spot : list[str] or None, readings of ``--read``, as typed
    mapping : list[str] or None, optional, which column of the file holds which test, as typed
    samples : list[str] or None, optional, samples of the file that are wanted; None: all

    Raises
    ------
    ReadingsError
        Neither a file nor ``--read``, or what cannot be read.
    """
    from ..compare.readings import load_readings, only_samples, readings_from_options
    from ..predict.errors import Fault, ReadingsError

    if file is None and not on_the_spot:
        raise ReadingsError(
            Fault(
                "readings",
                "neither a file nor --read",
                'a readings file after the design, or --read TEST=VALUE, such as --read "L_P=612uH"',
                "'aswound plan DESIGN --csv' writes an empty readings file.",
            )
        )
    readings: tuple[Reading, ...] = ()
    if file is None and samples:
        raise ReadingsError(
            Fault("option --sample", repr(samples[0]), "a readings file from which to take it")
        )
    if file is not None:
        readings += load_readings(file, design, mapping or ())
    if samples:
        readings = only_samples(readings, samples)
    if on_the_spot:
        readings += readings_from_options(on_the_spot, design)
    return readings


def settings_of(items: list[str] | None) -> list[tuple[str, str]]:
    """``path=value`` options as pairs; DesignError for one without "="."""
    from ..predict.errors import DesignError, Fault

    pairs = []
    for item in items or []:
        path, equals, value = item.partition("=")
        if not equals or not path.strip():
            raise DesignError(
                Fault(f"option --set {item}", repr(item), "path=value", "For example --set step2.wraps=4.")
            )
        pairs.append((path.strip(), value.strip()))
    return pairs


def value_of(option: str, text: str, dimension: str) -> float:
    """The value of an option.

    Parameters
    ----------
    option : str, name of the option, for the fault
    text : str, what was typed
    dimension : str, name of the dimension

    Returns
    -------
    float, value, SI

    Raises
    ------
    DesignError
        It is no value of this dimension.
    """
    from ..predict.errors import AswoundError, DesignError, Fault
    from ..predict.quantity import parse_quantity

    try:
        return parse_quantity(text, dimension)
    except AswoundError as error:
        fault = error.faults[0]
        raise DesignError(Fault(f"option {option}", fault.found, fault.allowed, fault.hint)) from error


def frequency_range(low: str, high: str) -> tuple[float, float]:
    """The frequencies of ``--from`` and ``--to``.

    Parameters
    ----------
    low, high : str, lowest and highest, as typed

    Returns
    -------
    float, lowest, Hz
    float, highest, Hz

    Raises
    ------
    DesignError
        One is no frequency above zero, or they are the wrong way round.
    """
    from ..predict.errors import DesignError, Fault

    begin, end = value_of("--from", low, "frequency"), value_of("--to", high, "frequency")
    if not 0 < begin < end:
        raise DesignError(
            Fault(
                "options --from and --to",
                f"{low} to {high}",
                "two frequencies above zero, the lower one first",
            )
        )
    if end > 1e9 or begin < 1:
        raise DesignError(
            Fault(
                "options --from and --to",
                f"{low} to {high}",
                "frequencies between 1 Hz and 1 GHz",
                "The models end well below 1 GHz.",
            )
        )
    return begin, end
