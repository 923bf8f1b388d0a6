"""``aswound interleave``: the possible orders and divisions of the windings, and the best trade-offs."""

from __future__ import annotations

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from ..predict.telling import tell
from .interleave_options import aims_of, check_files, drawings_of, frequency_of, rules_of, winding_pairs
from .options import DesignFile, Force, Json

if TYPE_CHECKING:
    from ..compare.aims import Aim
    from ..compare.plan import Comparison
    from ..predict.design import Design
    from ..predict.interleave import Rules


def interleave(
    design: DesignFile,
    drive: Annotated[
        str | None,
        typer.Option(
            metavar="WINDING",
            help="Winding whose leakage is compared; default: that of the first leakage test.",
        ),
    ] = None,
    pair: Annotated[
        list[str] | None,
        typer.Option(metavar="P/S", help="Also the leakage of P with S shorted; repeatable."),
    ] = None,
    frequency: Annotated[
        str | None,
        typer.Option(
            metavar="VALUE", help='Working frequency, e.g. "130 kHz"; default: that of [operation].'
        ),
    ] = None,
    most_sections: Annotated[
        list[str] | None,
        typer.Option(metavar="N|WINDING=N", help="Most sections of a winding (3), or of one; repeatable."),
    ] = None,
    most_joints: Annotated[
        int | None, typer.Option(min=0, help="Most joints between sections in the whole part.")
    ] = None,
    innermost: Annotated[
        list[str] | None,
        typer.Option(metavar="WINDING", help="Must lie next to the core; repeatable: one of them."),
    ] = None,
    outermost: Annotated[
        list[str] | None, typer.Option(metavar="WINDING", help="Must lie outermost; repeatable: one of them.")
    ] = None,
    group: Annotated[
        list[str] | None,
        typer.Option(metavar="A,B", help="Laid one directly on the other and divided alike; repeatable."),
    ] = None,
    tape: Annotated[
        list[str] | None,
        typer.Option(metavar="P/S=N", help="At least N wraps of tape wherever P meets S; repeatable."),
    ] = None,
    bare: Annotated[
        list[str] | None,
        typer.Option(
            metavar="P/S", help="Also allow orders with less between P and S than the design has; repeatable."
        ),
    ] = None,
    aim: Annotated[
        list[str] | None,
        typer.Option(
            metavar="'TEST = VALUE'",
            help='Builds towards a reading: "Lk_P = 78 uH ± 5 %", "Lk_P <= 6 uH"; repeatable.',
        ),
    ] = None,
    parallel: Annotated[
        str,
        typer.Option(
            metavar="shared|same|none", help="Wires of sections in parallel: shared out, or the same in each."
        ),
    ] = "shared",
    most: Annotated[
        int, typer.Option(min=1, max=100_000, help="Arrangements considered; fewer sections come first.")
    ] = 2000,
    rows: Annotated[int, typer.Option(min=1, max=500, help="Arrangements shown.")] = 10,
    every: Annotated[bool, typer.Option("--all", help="Show all arrangements, not only the best.")] = False,
    builds: Annotated[
        int, typer.Option(min=0, max=20_000, help="Random builds for the spread of those shown; 0: none.")
    ] = 2000,
    draw: Annotated[
        list[str] | None,
        typer.Option(
            metavar="N|FILE.svg",
            help="Draw arrangement N; repeatable: side by side. With FILE.svg: to scale, into that file.",
        ),
    ] = None,
    pick: Annotated[int | None, typer.Option(min=1, metavar="N", help="The arrangement to write.")] = None,
    write: Annotated[
        Path | None,
        typer.Option("--write", metavar="FILE", help="Write the picked arrangement as a design file."),
    ] = None,
    force: Force = False,
    json: Json = False,
) -> int:
    """The possible orders and divisions of the windings, what each reads, and the best trade-offs."""
    from ..compare.plan import Detail, comparison
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from ..predict.interleave import questions_of
    from .output import print_parts, show_json
    from .views.interleave import interleave_view
    from .views.interleave_json import interleave_json
    from .written import write_whole

    if (pick is None) != (write is None):
        found = "--pick without --write" if write is None else "--write without --pick"
        raise DesignError(Fault("options", found, "--write FILE --pick N together"))
    numbers, file = drawings_of(draw)
    check_files(design, file, write, force)
    rules = rules_of(most_sections, most_joints, innermost, outermost, group, tape, parallel, most, bare)
    loaded = load_design(design)
    at = frequency_of(frequency)
    aims = aims_of(aim, loaded)
    if aims:
        if draw or every:
            raise DesignError(Fault("options", "--aim with --draw or --all", "--aim without them"))
        return _aimed(loaded, design, rules, aims, rows, builds, pick, write, force, json)
    questions = questions_of(loaded, drive=drive, pairs=winding_pairs(pair), frequency=at)
    result = comparison(
        loaded,
        rules,
        questions,
        Detail(rows=rows, every=every, builds=builds, resonances=json),
        progress=tell,
    )
    for option, number in [*(("--draw", wanted) for wanted in numbers), ("--pick", pick or 1)]:
        if number > len(result.arrangements):
            allowed = f"1 to {len(result.arrangements)}, the numbers of the arrangements"
            raise DesignError(Fault(f"option {option}", str(number), allowed))
    shown = [] if json else [*interleave_view(result)]
    written = []
    if file is not None:
        from .views.interleave_drawing import drawings_svg

        drawn = drawings_svg(result, numbers or [index + 1 for index in result.shown])
        write_whole(file, drawn, over=force and file.exists())
        written.append(f"Cross-sections written to {file}.")
    elif numbers and not json:
        from .views.interleave_drawing import drawings

        shown += drawings(result, numbers)
    if write is not None and pick is not None:
        written.append(_write(result, design, write, pick, force))
    # last of all, so that whatever cannot be drawn or written is said instead of the answer, not after it
    if json:
        show_json(interleave_json(result))
    else:
        print_parts(shown)
    if written:
        print_parts(written, sys.stderr)
    return 0


def _aimed(
    loaded: Design,
    source: Path,
    rules: Rules,
    aims: list[Aim],
    rows: int,
    builds: int,
    pick: int | None,
    write: Path | None,
    force: bool,
    json: bool,
) -> int:
    """Builds towards aims: shown, and one of them written."""
    from ..compare.aims import aimed_builds
    from ..predict.errors import DesignError, Fault
    from ..predict.interleave import find_arrangements
    from .output import print_parts, show_json
    from .views.aims import aims_json, aims_view, remark_of

    search = find_arrangements(loaded, rules)
    told = partial(tell, "Adjusted orders")
    result = aimed_builds(loaded, search, aims, rows=min(rows, 5), builds=max(builds, 300), progress=told)
    if pick is not None and pick > len(result.ranked):
        allowed = f"1 to {len(result.ranked)}, the numbers of the builds"
        raise DesignError(Fault("option --pick", str(pick), allowed))
    answer = None
    if json:
        from ..compare.plan import Detail, comparison
        from ..predict.interleave import questions_of
        from .views.interleave_json import interleave_json

        every = comparison(
            loaded, rules, questions_of(loaded), Detail(rows=rows, every=False, builds=0, resonances=False)
        )
        answer = {**interleave_json(every), **aims_json(result)}
    shown = [] if json else [*aims_view(loaded, result, search)]
    if write is not None and pick is not None:
        _write_design(
            loaded,
            result.ranked[pick - 1].design,
            source,
            write,
            remark_of(loaded, result, pick, source.name),
            force,
        )
    if json:
        show_json(answer)
    else:
        print_parts(shown)
    if write is not None:
        print_parts([f"Build {pick} written to {write}."], sys.stderr)
    return 0


def _write_design(before: Design, after: Design, source: Path, file: Path, remark: str, force: bool) -> None:
    from ..predict.designfile import rearranged_text
    from .written import write_whole

    text = source.read_bytes().decode("utf-8-sig")
    text = rearranged_text(text, before, after, remark, folder=file.parent, name=str(file))
    write_whole(file, text, over=force and file.exists())


def _write(result: Comparison, source: Path, file: Path, number: int, force: bool) -> str:
    """Write one arrangement; what was done, in words."""
    from .views.arrangement_cautions import less_apart_text

    arrangement = result.arrangements[number - 1]
    less = less_apart_text(result, number - 1)
    insulation = "Insulation follows" if less else "Insulation repeats the design's; it follows"
    remark = (
        f"Arrangement {number} of 'aswound interleave {source.name}': {' '.join(arrangement.order)}.\n"
        f"{insulation} the safety standard and a qualified person's decision."
    )
    for told in less:
        remark += f"\nLESS INSULATION THAN THE DESIGN, asked for by --bare. {told}"
    _write_design(result.design, arrangement.design, source, file, remark, force)
    return f"Arrangement {number} written to {file}."
