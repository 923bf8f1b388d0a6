"""``aswound predict``: what the bench should read."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import completion
from .options import BenchFile, DesignFile, Force, Json, settings_of

if TYPE_CHECKING:
    from .views.prediction import Forecast


def predict(
    design: DesignFile,
    against: Annotated[
        Path | None, typer.Option("--against", metavar="OTHER", help="Show another design beside it.")
    ] = None,
    change: Annotated[
        list[str] | None,
        typer.Option(
            "--set",
            metavar="PATH=VALUE",
            help='Show a change beside it, e.g. "step2.wraps=4" or "core.gap=0.3 mm"; repeatable.',
        ),
    ] = None,
    bench: BenchFile = None,
    builds: Annotated[int, typer.Option(min=100, max=200_000, help="Random builds for the spread.")] = 2000,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the random builds.")] = 1,
    draw: Annotated[
        str | None,
        typer.Option(
            "--draw",
            metavar="[FILE.svg]",
            help="Draw the cross-section and its ampere-turns: here, or to scale into an SVG file.",
        ),
    ] = None,
    draw_test: Annotated[
        str | None,
        typer.Option(
            "--draw-test",
            metavar="NAME",
            help="With --draw: the test whose ampere-turns are drawn; default: the first with a short.",
            autocompletion=completion.test_names,
        ),
    ] = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """What the bench should read, how far normal production may vary, and what drives that."""
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from .output import print_parts, show_json
    from .views.prediction import forecast, prediction_json, prediction_view
    from .written import check_free, inputs_of

    if against is not None and change:
        raise DesignError(Fault("options", "--against and --set together", "one of the two"))
    _check_draw(draw, draw_test, json=json)
    if draw:
        check_free(Path(draw), force, inputs_of(design, against, bench), option="--draw")
    before = load_design(design, bench=bench)
    after = None
    if against is not None:
        after = load_design(against, bench=bench)
    elif change:
        after = load_design(design, settings=settings_of(change), bench=bench)
    if draw is not None:
        from ..predict.circuit import diagram_test

        diagram_test(before if after is None else after, draw_test)  # an unknown name is refused at once
    first = forecast(before, builds, seed)
    second = forecast(after, builds, seed) if after is not None else None
    if draw:
        _draw(second or first, draw, draw_test, force=force)
    if json:
        value = prediction_json(first)
        if second is not None:
            value["changed"] = prediction_json(second)
        show_json(value)
    else:
        label = str(against) if against is not None else ", ".join(change or [])
        print_parts(prediction_view(first, second, label))
        if draw == "":
            _draw(second or first, draw, draw_test, changed=second is not None)
    return 0


def _check_draw(draw: str | None, draw_test: str | None, *, json: bool) -> None:
    """DesignError for options that do not go together, or a file that is no .svg."""
    from ..predict.errors import DesignError, Fault

    if draw is None and draw_test is not None:
        raise DesignError(Fault("options", "--draw-test without --draw", "--draw --draw-test NAME"))
    if draw and not draw.lower().endswith(".svg"):
        raise DesignError(
            Fault(
                f"option --draw {draw}",
                repr(draw),
                "a path that ends in .svg, or none",
                "Without a file the drawing is printed.",
            )
        )
    if json and draw == "":
        raise DesignError(
            Fault("options", "--draw without a file together with --json", "--draw FILE.svg --json")
        )


def _draw(
    result: Forecast, file: str, name: str | None, *, changed: bool = False, force: bool = False
) -> None:
    """The drawing of one forecast: printed, or written to ``file``."""
    from ..predict.circuit import ampere_turn_function, diagram_test
    from ..predict.winding import cross_section
    from .output import print_parts
    from .views.drawing_text import drawing_parts

    section = cross_section(result.design, result.layout)
    test = diagram_test(result.design, name)
    function = ampere_turn_function(result.design, test) if test is not None else None
    if not file:
        heading = "Cross-section after the change" if changed else "Cross-section"
        print_parts(drawing_parts(section, function, heading))
        return
    from .views.drawing_svg import drawing_svg
    from .written import write_whole

    write_whole(Path(file), drawing_svg(section, function), over=force and Path(file).exists())
    print_parts([f"Cross-section written to {file}."], sys.stderr)
