"""The commands and their order, as the parser of the command line knows them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from importlib import import_module
from typing import Annotated, Any

import typer

COMMANDS = {
    "new": ("new", "new", "Write a commented design file to start from."),
    "predict": ("predict", "predict", "What the bench should read, and its spread."),
    "plan": ("plan", "plan_command", "The bench sheet; with --csv an empty readings file."),
    "enter": ("enter", "enter", "Readings typed at the bench, each judged at once."),
    "compare": ("compare", "compare_command", "Predicted against read, with limits."),
    "explain": ("explain", "explain_command", "The most likely cause of a deviation."),
    "check": ("check", "check", "Consistency of a part's readings, without a drawing."),
    "lot": ("lot", "lot_command", "Many samples: spread, capability, drift, outliers."),
    "interleave": ("interleave", "interleave", "Orders and divisions of the windings; the best trade-offs."),
    "sheet": ("sheet", "sheet", "The build sheet for the shop; with -o a page to print."),
    "sweep": ("sweep", "sweep_command", "Impedance against frequency, measured over predicted."),
    "netlist": ("netlist", "netlist", "The transformer as a SPICE subcircuit."),
    "report": ("report", "report", "One page with drawings, plots and all inputs."),
    "cores": ("catalogues", "cores", "The cores of the catalogue."),
    "wires": ("catalogues", "wires", "The enamelled wires of the catalogue."),
    "materials": ("catalogues", "materials", "The core materials of the catalogue."),
    "keys": ("keys", "keys", "The keys of the design file; with WORD in full."),
    "guide": ("guide_command", "guide", "The guide, page by page."),
    "schema": ("schema", "schema", "The JSON Schema of what a command prints with --json."),
}
"""Command → its module, its function, and its line in the help; in the order of the help."""


def application(names: Iterable[str] = COMMANDS) -> typer.Typer:
    """The program with the commands of these names, in the order of the help; only their modules are
    imported."""
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
        callback=_root,
    )
    for name in names:
        module, function, line = COMMANDS[name]
        app.command(name, short_help=line)(getattr(import_module(f".{module}", __package__), function))
    return app


def _version(asked: bool) -> None:
    if asked:
        from importlib.metadata import version

        typer.echo(f"aswound {version('aswound')}")
        raise typer.Exit


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


def parser(arguments: Sequence[str] = ()) -> Any:
    """The parser (a group of commands) of the words of a command line, with options of numbers shown as
    NUMBER in their help. Where the words begin with a command it knows that one alone, else all (for help,
    completion and a misspelt one)."""
    called = [name for name in arguments[:1] if name in COMMANDS]
    group: Any = typer.main.get_command(application(called or COMMANDS))
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
    arguments : list[str], words of the command line
    option : str, the option, such as ``--draw``

    Returns
    -------
    list[str], the words, with ``option=value`` for the two
    """
    result: list[str] = []
    for index, item in enumerate(arguments):
        follows = index > 0 and arguments[index - 1] == option and result[-1] == f"{option}="
        if follows and item and not item.startswith("-") and not item.endswith(".toml"):
            result[-1] += item
        else:
            result.append(f"{item}=" if item == option else item)
    return result
