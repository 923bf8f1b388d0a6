"""``[[join]]`` of a design file → Join, and the names that tests may use."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ...design import Join, Port
from ...errors import Faults, nearest
from ..grammar import Key, ParsedTable, Table, entry_place, name, parse_port, parse_table, value_text

JOIN_KEYS = {"name": Key(name, required=True), "series": Key(parse_port), "parallel": Key(parse_port)}


@dataclass(frozen=True)
class Terminals:
    """Names that a test may use.

    Attributes
    ----------
    windings : tuple[str, ...]
    joins : Mapping[str, Port], that resolve to windings, by name
    declared : tuple[str, ...], all names of the file
    shields : tuple[str, ...], names of shields, which only capacitances and ties know
    parallel : frozenset[str], names of joins in parallel
    """

    windings: tuple[str, ...]
    joins: Mapping[str, Port]
    declared: tuple[str, ...]
    shields: tuple[str, ...] = ()
    parallel: frozenset[str] = frozenset()

    def windings_of(self, terminals: Port) -> list[str]:
        """Windings of a port, one entry per mention. Joins must be free of cycles and names known."""
        found: list[str] = []
        for member in terminals:
            found += self.windings_of(self.joins[member.name]) if member.name in self.joins else [member.name]
        return found

    def known(self, terminals: Port) -> bool:
        """Whether every name of a port, and every name inside its joins, is known."""
        return all(
            member.name in self.windings
            or (member.name in self.joins and self.known(self.joins[member.name]))
            for member in terminals
        )


def read_joins(
    tables: Sequence[Table], windings: Sequence[str], faults: Faults
) -> tuple[tuple[Join, ...], Terminals]:
    """Joins of the file, and the names that tests may use.

    Faults: unknown members, cycles, a winding twice in one join, names already in use.

    Parameters
    ----------
    tables : Sequence[Table], the raw tables of the file
    windings : Sequence[str], names of the windings
    faults : Faults, receives every fault that is found

    Returns
    -------
    tuple[Join, ...], joins, each after its members, whatever the file's order
    Terminals, names that tests may use
    """
    read: dict[str, tuple[ParsedTable, str, Port]] = {}
    taken = set(windings)
    for ordinal, table in enumerate(tables, start=1):
        section = parse_table(table, JOIN_KEYS, entry_place("join", table, ordinal), faults)
        kinds = [kind for kind in ("series", "parallel") if kind in section]
        if len(kinds) != 1:
            section.fault(
                "series", "series and parallel" if kinds else "neither series nor parallel", "one of the two"
            )
        stated = section["name"]
        if stated in taken:
            section.fault("name", f"{stated!r} a second time", "a name that no winding and no other join has")
        elif stated is not None:
            taken.add(stated)
            members = section[kinds[0]] if len(kinds) == 1 else None
            read[stated] = (section, kinds[0] if kinds else "series", members or ())
    known = (*windings, *read)
    for section, kind, members in read.values():
        check_names(section, kind, members, known)
    read_members = {join: members for join, (_, _, members) in read.items()}
    order = _ordered(read_members)
    for join in (join for join in read if join not in order):
        section, kind, members = read[join]
        if join in _inside(join, read_members):
            section.fault(
                kind,
                value_text([m.name for m in members]),
                "joins that do not contain themselves, however deep",
            )
    in_parallel = frozenset(join for join in order if read[join][1] == "parallel")
    terminals = Terminals(
        tuple(windings), {join: read[join][2] for join in order}, known, parallel=in_parallel
    )
    for join in order:
        section, kind, members = read[join]
        if terminals.known(members):
            check_once(section, kind, members, terminals)
    joins = tuple(
        Join(join, "parallel" if read[join][1] == "parallel" else "series", read[join][2]) for join in order
    )
    return joins, terminals


def _ordered(members: Mapping[str, Port]) -> list[str]:
    """The joins, each after the joins that it contains; those in or above a loop are left out."""
    order: list[str] = []
    waiting = list(members)
    while ready := [
        join for join in waiting if all(m.name not in members or m.name in order for m in members[join])
    ]:
        order += ready
        waiting = [join for join in waiting if join not in order]
    return order


def _inside(join: str, members: Mapping[str, Port]) -> set[str]:
    """Every name that ``join`` contains, at any depth."""
    names: set[str] = set()
    waiting = [join]
    while waiting:
        for member in members.get(waiting.pop(), ()):
            if member.name not in names:
                names.add(member.name)
                waiting.append(member.name)
    return names


def check_names(section: ParsedTable, key: str, terminals: Port, known: Sequence[str]) -> None:
    """Report members of a port that are not known.

    Parameters
    ----------
    section : ParsedTable
    key : str
    terminals : Port
    known : Sequence[str]
    """
    for member in terminals:
        if member.name not in known:
            section.fault(
                key, f"{member.name!r}", f"a winding or join: {', '.join(known)}", nearest(member.name, known)
            )


def check_once(section: ParsedTable, key: str, members: Port, terminals: Terminals) -> None:
    """Report windings that a port contains more than once.

    Parameters
    ----------
    section : ParsedTable
    key : str
    members : Port
    terminals : Terminals
    """
    windings = terminals.windings_of(members)
    twice = sorted({winding for winding in windings if windings.count(winding) > 1})
    if twice:
        section.fault(key, f"winding {', '.join(twice)} more than once", "every winding once")
