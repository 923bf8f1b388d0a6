"""``aswound check``: consistency of the readings of a part without a drawing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from .options import BenchFile, FixtureFile, Json, Sample


def check(
    readings: Annotated[Path, typer.Argument(metavar="READINGS", help="Readings file (CSV).")],
    ratio: Annotated[
        float | None,
        typer.Option(
            "--ratio", metavar="N", help="Turns of the first winding over those of the second, as stated."
        ),
    ] = None,
    turns: Annotated[
        list[str] | None,
        typer.Option(
            "--turns", metavar="NAME=N", help="Turns of a winding, as stated; repeat for others: P=36."
        ),
    ] = None,
    halves: Annotated[
        list[str] | None,
        typer.Option("--halves", metavar="A,B", help="Two halves of one winding, of equal turns and wire."),
    ] = None,
    design: Annotated[
        Path | None,
        typer.Option(
            "--design", metavar="DESIGN", help="Take the names of this design's tests; predict nothing."
        ),
    ] = None,
    sample: Sample = None,
    bench: BenchFile = None,
    fixture: FixtureFile = None,
    json: Json = False,
) -> int:
    """Do the readings of a part agree with each other? No design is needed.

    Tests are named as in L_P, L_P+S and L_P-S (in series aiding and opposing), Lk_P_S, n_P_S, R_P (with
    your windings' names), as in a design (--design), or described by the columns measure, drive, short and
    sense.
    """
    from ..compare.consistency import RowsWanted, check_part
    from ..compare.readings import load_fixture
    from ..predict.designfile import load_bench, load_design
    from ..predict.errors import DesignError, Fault
    from .output import print_parts, show_json
    from .views.fixture import fixture_json, fixture_view
    from .views.undrawn import undrawn_json, undrawn_view

    if ratio is not None and not 0 < ratio < float("inf"):
        raise DesignError(Fault("option --ratio", f"{ratio:g}", "a ratio above 0, such as --ratio 6"))
    stated = dict(_stated(text) for text in turns or ())
    pairs = [_pair(text) for text in halves or ()]
    standards = None if fixture is None else load_fixture(fixture)
    loaded = None if design is None else load_design(design, bench=bench)
    stated_bench = None if bench is None else load_bench(bench)
    parts = check_part(
        readings,
        ratio=ratio,
        turns=stated,
        halves=pairs,
        bench=stated_bench if loaded is None else loaded.bench,
        fixture=standards,
        rows=RowsWanted(
            tests=() if loaded is None else loaded.tests,
            samples=tuple(sample or ()),
            joins=() if loaded is None else loaded.joins,
        ),
    )
    correction = parts[0].correction
    if json:
        show_json({**undrawn_json(parts), **fixture_json(correction)})
    else:
        print_parts([*undrawn_view(parts), *fixture_view(correction)])
    return 1 if any(part.deviates for part in parts) else 0


def _stated(text: str) -> tuple[str, float]:
    """ "P=36" → ("P", 36.0)."""
    from ..predict.errors import DesignError, Fault

    name, _, number = text.partition("=")
    try:
        turns = float(number)
    except ValueError:
        turns = 0.0
    if not name.strip() or not 0 < turns < float("inf"):
        raise DesignError(
            Fault("option --turns", repr(text), "a winding and its turns, such as --turns P=36")
        )
    return name.strip(), turns


def _pair(text: str) -> tuple[str, str]:
    """ "P1,P2" → ("P1", "P2")."""
    from ..predict.errors import DesignError, Fault

    names = [name.strip() for name in text.split(",")]
    if len(names) != 2 or not all(names) or names[0] == names[1]:
        raise DesignError(Fault("option --halves", repr(text), "two windings, such as --halves P1,P2"))
    return names[0], names[1]
