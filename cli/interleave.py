"""``aswound interleave``: the possible orders and divisions of the windings, and the best trade-offs."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from .options import DesignFile, Json, value_of

if TYPE_CHECKING:
    from ..compare.interleaving import Comparison
    from ..predict.arrangement_rules import Rules


def interleave(
    design: DesignFile,
    drive: Annotated[
        str | None,
        typer.Option(metavar="WINDING", help="Winding whose leakage counts; else the first leakage test's."),
    ] = None,
    pair: Annotated[
        list[str] | None,
        typer.Option(metavar="P/S", help="Also the leakage of P with S shorted; repeatable."),
    ] = None,
    frequency: Annotated[
        str | None, typer.Option(metavar="VALUE", help='Working frequency, e.g. "130 kHz"; else [operation].')
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
    every: Annotated[bool, typer.Option("--all", help="Show all arrangements, not the best only.")] = False,
    builds: Annotated[
        int, typer.Option(min=0, max=20_000, help="Random builds for the spread of those shown; 0: none.")
    ] = 100,
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
    json: Json = False,
) -> int:
    """The possible orders and divisions of the windings, what each reads, and the best trade-offs."""
    from ..compare.interleaving import comparison
    from ..predict.arrangement_readings import questions_of
    from ..predict.designfile import load_design
    from ..predict.errors import DesignError, Fault
    from .output import show, show_json
    from .views.interleave import interleave_view
    from .views.interleave_json import interleave_json

    if (pick is None) != (write is None):
        found = "--pick without --write" if write is None else "--write without --pick"
        raise DesignError(Fault("options", found, "--write FILE --pick N together"))
    numbers, file = _drawings(draw)
    _check_files(file, write)
    rules = _rules(most_sections, most_joints, innermost, outermost, group, tape, parallel, most)
    loaded = load_design(design)
    at = _frequency(frequency)
    questions = questions_of(loaded, drive=drive, pairs=_pairs(pair), frequency=at)
    with progress_bar() as progress:
        result = comparison(
            loaded,
            rules,
            questions,
            rows=rows,
            every=every,
            builds=builds,
            resonances=json,
            progress=progress,
        )
    for option, number in [*(("--draw", one) for one in numbers), ("--pick", pick or 1)]:
        if number > len(result.arrangements):
            allowed = f"1 to {len(result.arrangements)}, the numbers of the arrangements"
            raise DesignError(Fault(f"option {option}", str(number), allowed))
    if json:
        show_json(interleave_json(result))
    else:
        show(interleave_view(result))
    if file is not None:
        from .views.interleave_drawing import drawings_svg

        file.write_text(drawings_svg(result, numbers or [place + 1 for place in result.shown]), "utf-8")
        show([f"Cross-sections written to {file}."], sys.stderr)
    elif numbers and not json:
        from .views.interleave_drawing import drawings

        show(drawings(result, numbers))
    if write is not None and pick is not None:
        _write(result, design, write, pick)
    return 0


def _check_files(drawing: Path | None, design: Path | None) -> None:
    """DesignError for files that cannot be written, before anything is computed."""
    from ..predict.errors import DesignError, Fault

    if design is not None:
        if design.suffix != ".toml":
            raise DesignError(Fault("option --write", repr(str(design)), "a file name that ends in .toml"))
        if design.exists():
            found = f"{design}, which is there already"
            raise DesignError(Fault("option --write", found, "a new file's name"))
    for option, file in (("--draw", drawing), ("--write", design)):
        if file is not None and not file.parent.is_dir():
            raise DesignError(
                Fault(f"option {option}", f"no folder {str(file.parent)!r}", "a file in a folder that exists")
            )


def _write(result: Comparison, source: Path, file: Path, number: int) -> None:
    from ..predict.designfile_rewrite import rearranged_text
    from .output import show

    one = result.arrangements[number - 1]
    remark = (
        f"Arrangement {number} of 'aswound interleave {source.name}': {' '.join(one.order)}.\n"
        "Insulation repeats the design's; it follows the safety standard and a qualified person's decision."
    )
    text = rearranged_text(
        source.read_bytes().decode("utf-8-sig"),
        result.design,
        one.design,
        remark,
        folder=file.parent,
        name=str(file),
    )
    file.write_text(text, encoding="utf-8")
    show([f"Arrangement {number} written to {file}."], sys.stderr)


# --- options ------------------------------------------------------------------------------------------------


def _rules(
    most_sections: list[str] | None,
    most_joints: int | None,
    innermost: list[str] | None,
    outermost: list[str] | None,
    group: list[str] | None,
    tape: list[str] | None,
    parallel: str,
    most: int,
) -> Rules:
    from ..predict.arrangement_rules import SHARINGS, Rules, refuse

    sharing = next((known for known in SHARINGS if known == parallel), None)
    if sharing is None:
        raise refuse(
            "option --parallel",
            repr(parallel),
            "; ".join(f"{name} ({text})" for name, text in SHARINGS.items()),
        )
    everywhere, single = 3, []
    for item in most_sections or []:
        name, equals, value = item.rpartition("=")
        number = _whole(value, f"option --most-sections {item}", "3, or P=2", least=1)
        if equals:
            single.append((name.strip(), number))
        else:
            everywhere = number
    wraps = []
    for item in tape or []:
        pair, equals, value = item.rpartition("=")
        if not equals:
            raise refuse("option --tape", repr(item), "two windings and a number of wraps, as in P/S=3")
        first, second = _two(pair, f"option --tape {item}", "P/S=3")
        wraps.append((first, second, _whole(value, f"option --tape {item}", "P/S=3", least=0)))
    return Rules(
        most_sections=everywhere,
        sections=tuple(single),
        innermost=tuple(innermost or ()),
        outermost=tuple(outermost or ()),
        groups=tuple(tuple(name.strip() for name in item.split(",")) for item in group or []),
        tape=tuple(wraps),
        most_joints=most_joints,
        parallel=sharing,
        most=most,
    )


def _drawings(items: list[str] | None) -> tuple[list[int], Path | None]:
    """Numbers of arrangements to draw, each once, and the file into which they go."""
    from ..predict.errors import DesignError, Fault

    numbers, files = [], []
    for item in (part.strip() for text in items or [] for part in text.split(",")):
        if item.lower().endswith(".svg"):
            files.append(Path(item))
        elif item.isdecimal() and int(item) > 0:
            numbers.append(int(item))
        else:
            allowed = "the number of an arrangement, or a path that ends in .svg"
            raise DesignError(Fault("option --draw", repr(item), allowed, "As in --draw 1 --draw 5."))
    if len(files) > 1:
        found = " and ".join(map(str, files))
        raise DesignError(Fault("option --draw", found, "one file, which holds all drawings"))
    return list(dict.fromkeys(numbers)), files[0] if files else None


def _whole(text: str, place: str, example: str, *, least: int) -> int:
    from ..predict.arrangement_rules import refuse

    if not text.strip().isdecimal() or int(text) < least:
        raise refuse(place, repr(text), f"a whole number from {least}, as in {example}")
    return int(text)


def _two(text: str, place: str, example: str) -> tuple[str, str]:
    from ..predict.arrangement_rules import refuse

    first, slash, second = text.partition("/")
    if not (slash and first.strip() and second.strip()):
        raise refuse(place, repr(text), f"two windings with a slash between them, as in {example}")
    return first.strip(), second.strip()


def _pairs(items: list[str] | None) -> list[tuple[str, str]]:
    return [_two(item, f"option --pair {item}", "P/S") for item in items or []]


def _frequency(text: str | None) -> float | None:
    from ..predict.arrangement_rules import refuse

    if text is None:
        return None
    value = value_of("--frequency", text, "frequency")
    if not value > 0:
        raise refuse("option --frequency", repr(text), "a frequency above 0")
    return value


# --- progress -----------------------------------------------------------------------------------------------


@contextmanager
def progress_bar(clock: Callable[[], float] = monotonic) -> Iterator[Callable[[str, int, int], None] | None]:
    """A bar on standard error, shown only on a terminal and once a second has passed by the ``clock`` (s)."""
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn

    began = clock()
    bar = Progress(
        TextColumn("{task.description}"), BarColumn(), TextColumn("{task.completed} of {task.total}"),
        console=Console(stderr=True), transient=True,
    )  # fmt: skip
    tasks: dict[str, int] = {}

    def told(what: str, done: int, whole: int) -> None:
        if clock() - began < 1.0:
            return
        if not tasks:
            bar.start()
        if what not in tasks:
            tasks[what] = bar.add_task(what, total=whole)
        bar.update(tasks[what], completed=done, total=whole)  # type: ignore[arg-type]

    try:
        yield told
    finally:
        if tasks:
            bar.stop()
