"""The commands and their order, as the parser of the command line knows them."""

from __future__ import annotations

from typing import Annotated, Any

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
app.command("plan", short_help="The bench sheet; with --csv an empty readings file.")(plan.plan_command)
app.command("enter", short_help="Readings typed at the bench, each judged at once.")(enter.enter)
app.command("compare", short_help="Predicted against read, with limits.")(compare.compare_command)
app.command("explain", short_help="The most likely cause of a deviation.")(explain.explain_command)
app.command("check", short_help="Consistency of a part's readings, without a drawing.")(check.check)
app.command("lot", short_help="Many samples: spread, capability, drift, outliers.")(lot.lot_command)
app.command("interleave", short_help="Orders and divisions of the windings; the best trade-offs.")(
    interleave.interleave
)
app.command("sheet", short_help="The build sheet for the shop; with -o a page to print.")(sheet.sheet)
app.command("sweep", short_help="Impedance against frequency, measured over predicted.")(sweep.sweep_command)
app.command("netlist", short_help="The transformer as a SPICE subcircuit.")(netlist.netlist)
app.command("report", short_help="One page with drawings, plots and all inputs.")(report.report)
app.command("cores", short_help="The cores of the catalogue.")(catalogues.cores)
app.command("wires", short_help="The enamelled wires of the catalogue.")(catalogues.wires)
app.command("materials", short_help="The core materials of the catalogue.")(catalogues.materials)
app.command("keys", short_help="The keys of the design file; with WORD in full.")(keys.keys)
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


def parser() -> Any:
    """The commands with options of numbers shown as NUMBER in their help."""
    group: Any = typer.main.get_command(app)
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


def optional_value(arguments: list[str], option: str) -> list[str]:
    """The command line with the value of an option that may stand without one joined to it.

    The value is the next word, unless that is an option or a design file.

    Parameters
    ----------
    arguments : list[str]
        Words of the command line.
    option : str
        The option, such as ``--draw``.

    Returns
    -------
    list[str]
        The words, with ``option=value`` for the two.
    """
    result: list[str] = []
    for index, item in enumerate(arguments):
        follows = index > 0 and arguments[index - 1] == option and result[-1] == f"{option}="
        if follows and item and not item.startswith("-") and not item.endswith(".toml"):
            result[-1] += item
        else:
            result.append(f"{item}=" if item == option else item)
    return result
