"""The app, and the one place where exceptions become messages and exit statuses.

0 clean; 1 something deviates; 2 the input could not be used; 3 a fault of the tool itself.
"""

from __future__ import annotations

import os
import sys
from typing import TYPE_CHECKING, Annotated, Any

import typer

from . import (
    catalogues,
    check,
    compare,
    enter,
    explain,
    guide_command,
    interleave,
    keys,
    lot,
    netlist,
    new,
    plan,
    predict,
    report,
    schema,
    sheet,
    sweep,
)
from .progress import progress_bar

if TYPE_CHECKING:
    from ..predict.errors import AswoundError

UNUSABLE, INTERNAL, INTERRUPTED = 2, 3, 130

app = typer.Typer(
    name="aswound",
    help=(
        "As designed against as wound: what the bench should read of a wound transformer, what "
        "it reads, and why."
    ),
    no_args_is_help=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
app.command("new", short_help="Write a commented design file to start from.")(new.new)
app.command("predict", short_help="What the bench should read, and its spread.")(predict.predict)
app.command("plan", short_help="The bench sheet; --csv: an empty readings file.")(plan.plan)
app.command("enter", short_help="Readings typed at the bench, each judged at once.")(enter.enter)
app.command("compare", short_help="Predicted against read, with limits.")(compare.compare)
app.command("explain", short_help="The most likely cause of a deviation.")(explain.explain)
app.command("check", short_help="Consistency of a part's readings, without a drawing.")(check.check)
app.command("lot", short_help="Many samples: spread, capability, drift, outliers.")(lot.lot)
app.command("interleave", short_help="Orders and divisions of the windings; the best trade-offs.")(
    interleave.interleave
)
app.command("sheet", short_help="The build sheet for the shop; -o: a page to print.")(sheet.sheet)
app.command("sweep", short_help="Impedance against frequency, measured over predicted.")(sweep.sweep)
app.command("netlist", short_help="The transformer as a SPICE subcircuit.")(netlist.netlist)
app.command("report", short_help="One page with drawings, plots and all inputs.")(report.report)
app.command("cores", short_help="The cores of the catalogue.")(catalogues.cores)
app.command("wires", short_help="The enamelled wires of the catalogue.")(catalogues.wires)
app.command("materials", short_help="The core materials of the catalogue.")(catalogues.materials)
app.command("keys", short_help="The keys of the design file; WORD: in full.")(keys.keys)
app.command("guide", short_help="The guide, page by page.")(guide_command.guide)
app.command("schema", short_help="The JSON Schema of what a command prints with --json.")(schema.schema)


def _version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        typer.echo(f"aswound {version('aswound')}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
    debug: Annotated[
        bool, typer.Option("--debug", help="Show the traceback of a fault of the tool.")
    ] = False,
) -> None:
    """As designed against as wound: what the bench should read of a wound transformer, what it reads, and
    why."""
    del version, debug


def main(arguments: list[str] | None = None) -> int:
    """Run the command line; returns the exit status. ``arguments``: without the program's name; None: the
    process's."""
    given = sys.argv[1:] if arguments is None else list(arguments)
    debug = "--debug" in given
    given = _optional_value([item for item in given if item != "--debug"], "--draw")
    command = _with_plain_types(typer.main.get_command(app))
    try:
        from ..predict.telling import heard_by

        with progress_bar() as bar, heard_by(bar):
            status = command.main(args=given, prog_name="aswound", standalone_mode=False)
        return status if isinstance(status, int) else 0
    except KeyboardInterrupt:
        return INTERRUPTED
    except SystemExit as ended:  # the parser's own end: of help, where the reader has gone
        return ended.code if isinstance(ended.code, int) and not _reader_gone(ended) else 0
    except Exception as error:
        if debug:
            _trace(error)
        return _report(error)


def _with_plain_types(group: Any) -> Any:
    """The commands with options of numbers shown as NUMBER in their help."""
    for command in group.commands.values():
        for option in command.params:
            kind = getattr(option.type, "name", "")
            if option.metavar is None and kind in (
                "integer",
                "integer range",
                "float",
                "float range",
                "int range",
            ):
                option.metavar = "NUMBER"
    return group


def _optional_value(arguments: list[str], option: str) -> list[str]:
    """The arguments with the value of ``option``, which it may lack, joined to it: the next word, unless that
    is an option or a design file."""
    result: list[str] = []
    for place, item in enumerate(arguments):
        follows = place > 0 and arguments[place - 1] == option and result[-1] == f"{option}="
        if follows and item and not item.startswith("-") and not item.endswith(".toml"):
            result[-1] += item
        else:
            result.append(f"{item}=" if item == option else item)
    return result


def _reader_gone(ended: SystemExit) -> bool:
    return isinstance(ended.__context__, BrokenPipeError)


def _trace(error: Exception) -> None:
    import traceback

    from .output import write

    write("".join(traceback.format_exception(error)), sys.stderr)


def _report(error: Exception) -> int:
    """Turn an exception into a message on standard error and an exit status."""
    from ..predict.errors import AswoundError
    from .output import write
    from .views.page import visible

    if isinstance(error, AswoundError):
        write(_faults(error), sys.stderr)
        return UNUSABLE
    name = type(error).__name__
    if name == "Abort":
        return INTERRUPTED
    shown = getattr(error, "format_message", None)
    if shown is not None:  # a usage error: unknown option, missing argument
        if name == "NoArgsIsHelpError":
            write(shown() + "\n", sys.stderr)
            return UNUSABLE
        context = getattr(error, "ctx", None)
        usage = f"{context.get_usage()}\n" if context is not None else ""
        write(f"{usage}aswound: {visible(shown())}\n", sys.stderr)
        return UNUSABLE
    if isinstance(error, OSError):
        place = f"{error.filename}: " if error.filename else ""
        write(f"aswound: {visible(place)}{error.strerror or error}\n", sys.stderr)
        return UNUSABLE
    text = " ".join(f"{name}: {error}".split())
    write(
        f"aswound: a fault of the tool itself ({visible(text)}); please report it with the command and the "
        "input (--debug shows where).\n",
        sys.stderr,
    )
    return INTERNAL


def _faults(error: AswoundError) -> str:
    """Every fault as a block: where, found, allowed, cure."""
    from .views.faults import said_once
    from .views.page import visible

    count = len(error.faults)
    lines = [f"aswound: {count} {'fault' if count == 1 else 'faults'} in the input; nothing was computed."]
    for fault in said_once(error.faults):
        where = f"{fault.file}: {fault.place}" if fault.file and fault.place else fault.file or fault.place
        lines.append(f"- {visible(where)}")
        for label, text in (("found", fault.found), ("allowed", fault.allowed), ("cure", fault.hint)):
            if text:
                lines.append(_folded(label, visible(text)))
    return "\n".join(lines) + "\n"


def _folded(label: str, text: str) -> str:
    import textwrap

    start = f"    {label:<9}"
    return textwrap.fill(
        text,
        79,
        initial_indent=start,
        subsequent_indent=" " * len(start),
        break_long_words=False,
        break_on_hyphens=False,
    )


def run() -> None:
    """Entry point of the console script."""
    for library in ("OPENBLAS", "OMP", "MKL"):
        # small matrices: threads that wait for each other cost many times what they compute
        os.environ.setdefault(f"{library}_NUM_THREADS", "1")
    sys.exit(main())
