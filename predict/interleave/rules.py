"""What an arrangement of a build may be: the rules that a user gives, and the ways to divide a winding."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from ..design import Design
from ..errors import DesignError, Fault, Faults, nearest
from ..winding import circuit_of

Sharing = Literal["shared", "same", "none"]
SHARINGS: dict[Sharing, str] = {
    "shared": "sections in parallel share the wires in hand: the same copper in every arrangement",
    "same": "every section in parallel has the wire that its sections have now: more copper with each",
    "none": "no winding is divided into sections in parallel beyond what the design does",
}


@dataclass(frozen=True, kw_only=True)
class Rules:
    """Limits of the search.

    A short section leaks beside its neighbour, and its ends sink between the layers: hence ``least_turns``
    and ``least_cover`` (common practice).

    Attributes
    ----------
    most_sections : int, of one winding, count
    sections : tuple of (str, int), most sections of single windings, count
    innermost : tuple of str, windings of which one must lie innermost; empty: any
    outermost : tuple of str, windings of which one must lie outermost; empty: any
    groups : tuple of tuple of str, windings laid directly one on the other in this order and divided alike
    tape : tuple of (str, str, int), fewest wraps of tape between two windings, count
    most_joints : int or None, of the whole part, count; None: any number
    parallel : Sharing, how sections in parallel share the wire, see SHARINGS
    most : int, arrangements considered, count; those with fewer sections come first
    bare : tuple of (str, str), windings or circuits that may be separated by less than in the design
    least_turns : int, fewest turns of a section, count
    least_cover : float, smallest part of the breadth that a section covers, dimensionless
    """

    most_sections: int = 3
    sections: tuple[tuple[str, int], ...] = ()
    innermost: tuple[str, ...] = ()
    outermost: tuple[str, ...] = ()
    groups: tuple[tuple[str, ...], ...] = ()
    tape: tuple[tuple[str, str, int], ...] = ()
    most_joints: int | None = None
    parallel: Sharing = "shared"
    most: int = 2000
    bare: tuple[tuple[str, str], ...] = ()
    least_turns: int = 2
    least_cover: float = 1 / 3

    def most_of(self, windings: Iterable[str]) -> int:
        """Most sections into which windings that are divided alike may be divided.

        Parameters
        ----------
        windings : iterable of str, names of the windings

        Returns
        -------
        int, sections, count
        """
        stated = dict(self.sections)
        return min(stated.get(name, self.most_sections) for name in windings)


@dataclass(frozen=True)
class Split:
    """A winding divided into sections.

    Attributes
    ----------
    sections : int, count
    connection : Literal['series', 'parallel', 'fixed']
        "series" or "parallel"; "fixed": its build steps as the design has them.
    """

    sections: int
    connection: Literal["series", "parallel", "fixed"]


def equal_turns(turns: int, sections: int) -> tuple[int, ...]:
    """Turns of series sections that are as equal as whole turns allow.

    The first sections get the remaining turns.

    Parameters
    ----------
    turns : int, of the winding, count
    sections : int, count

    Returns
    -------
    tuple of int, count
    """
    each, more = divmod(turns, sections)
    return tuple(each + (index < more) for index in range(sections))


def check_rules(design: Design, rules: Rules) -> None:
    """Check that the rules name only what the design has, and that their numbers make sense.

    Parameters
    ----------
    design : Design of one or B builds
    rules : Rules

    Raises
    ------
    DesignError
        With every unknown name and every wrong number.
    """
    faults = Faults()
    known = [winding.name for winding in design.windings]
    shields = [shield.name for shield in design.shields]
    named = [
        *(("option --most-sections", name) for name, _ in rules.sections),
        *(("option --innermost", name) for name in rules.innermost),
        *(("option --outermost", name) for name in rules.outermost),
        *(("option --group", name) for group in rules.groups for name in group),
    ]
    for option, name in named:
        if name not in known:
            faults.add(option, repr(name), "one of " + ", ".join(known), nearest(name, known))
    for first, second, wraps in rules.tape:
        _check_pair(faults, "option --tape", (first, second), known + shields, "P/S=3")
        if wraps < 0:
            faults.add("option --tape", str(wraps), "a number of wraps, 0 or more")
    _check_bare(design, rules, [*known, *shields], faults)
    for option, number in [("most", rules.most_sections), *rules.sections, ("most", rules.most)]:
        if number < 1:
            faults.add(f"option for {option}", str(number), "a whole number from 1")
    _check_groups(faults, rules.groups)
    if faults.found:
        raise DesignError(faults.found)


def _check_pair(
    faults: Faults, option: str, pair: tuple[str, str], known: Sequence[str], example: str
) -> None:
    """Two different things that the design has."""
    for name in pair:
        if name not in known:
            faults.add(option, repr(name), "one of " + ", ".join(known), nearest(name, known))
    if pair[0] == pair[1]:
        faults.add(option, f"{pair[0]} against itself", f"two windings, as in {example}")


def _check_groups(faults: Faults, groups: Sequence[tuple[str, ...]]) -> None:
    """Every winding in one group, once."""
    seen: set[str] = set()
    for group in groups:
        if len(group) < 2 or seen & set(group) or len(set(group)) < len(group):
            faults.add(
                "option --group",
                ",".join(group),
                "two or more windings with commas between them, as in S,AUX; each in one group, once",
            )
        seen |= set(group)


def _check_bare(design: Design, rules: Rules, known: list[str], faults: Faults) -> None:
    circuits = [winding.circuit for winding in design.windings if winding.circuit]
    names = list(dict.fromkeys([*known, *circuits]))
    for first, second in rules.bare:
        unknown = [name for name in (first, second) if name not in names]
        for name in unknown:
            faults.add("option --bare", repr(name), "one of " + ", ".join(names), nearest(name, names))
        if not unknown and circuit_named(design, first) == circuit_named(design, second):
            faults.add(
                "option --bare", f"{first}/{second}, one circuit", "windings of two circuits, as in P/S"
            )


def circuit_named(design: Design, name: str) -> str:
    """The circuit of a winding or shield, or the circuit of that name.

    Parameters
    ----------
    design : Design of one or B builds
    name : str
    """
    known = {winding.name for winding in design.windings} | {shield.name for shield in design.shields}
    return circuit_of(design, name) if name in known else name


def rule_error(place: str, found: str, allowed: str, hint: str = "") -> DesignError:
    """A DesignError with one fault.

    Parameters
    ----------
    place : str, where it is: option or part of the design
    found : str, what was found
    allowed : str, what is allowed
    hint : str, advice; may be empty
    """
    return DesignError(Fault(place, found, allowed, hint))
