"""What a test drives, shorts, senses and ties, checked against the windings, joins and shields that exist."""

from __future__ import annotations

from collections.abc import Iterable

from ...design import CORE, Port
from ...errors import nearest
from ..grammar import ParsedTable, value_text
from .joins import Terminals, check_names, check_once


def _check_ties(section: ParsedTable, terminals: Terminals) -> None:
    """Check that every terminal of a tie is an end of a winding, the core or a shield."""
    ends = [f"{name}.{end}" for name in terminals.windings for end in ("start", "finish")]
    known = (*ends, CORE, *terminals.shields)
    for end in dict.fromkeys(item for group in section["tie"] or () for item in group):
        if end not in known:
            section.fault("tie", repr(end), f"one of {', '.join(known)}", nearest(end, known))


def _check_plates(section: ParsedTable, terminals: Terminals) -> None:
    """Check a capacitance between two conductors: they differ, and none of them is shorted."""
    plates = []
    for key in ("drive", "sense"):
        named = {member.name for member in section[key] or ()}
        windings = [member for member in section[key] or () if terminals.known((member,))]
        plates.append(set(terminals.windings_of(tuple(windings))) | (named & {CORE, *terminals.shields}))
    if both := plates[0] & plates[1]:
        section.fault(
            "sense", f"{', '.join(sorted(both))}, which drive drives", "another winding, shield or 'core'"
        )
    shorted = (
        set(terminals.windings_of(section["short"] or ()))
        if terminals.known(section["short"] or ())
        else set()
    )
    if both := shorted & (plates[0] | plates[1]):
        section.fault(
            "short",
            f"{', '.join(sorted(both))}, which this test shorts on itself anyway",
            "other windings, or none",
        )


def check_ports(section: ParsedTable, terminals: Terminals) -> None:
    """Check that names are known, nothing is driven and shorted at once, and the sensed port is open and not
    the driven one.

    Parameters
    ----------
    section : ParsedTable
    terminals : Terminals
    """
    between = section["measure"] == "capacitance" and bool(section["sense"])
    _check_ties(section, terminals)
    for key in ("drive", "short", "sense"):
        port = section[key] or ()
        if between and key != "short":
            port = tuple(member for member in port if member.name not in (CORE, *terminals.shields))
        check_names(section, key, port, terminals.declared)
        if terminals.known(port):
            check_once(section, key, port, terminals)
    if between:
        _check_plates(section, terminals)
        _check_tied_plates(section, terminals)
        return
    _check_shorted_by_tie(section, terminals)
    if any(
        section.bad & {key} or not terminals.known(section[key] or ()) for key in ("drive", "short", "sense")
    ):
        return
    driven, shorted, sensed = (
        set(terminals.windings_of(section[key] or ())) for key in ("drive", "short", "sense")
    )
    if both := driven & shorted:
        section.fault(
            "short", f"{', '.join(sorted(both))}, which drive drives", "windings that are not driven"
        )
    if both := sensed & shorted:
        section.fault("sense", f"{', '.join(sorted(both))}, which short shorts", "an open winding")
    if sensed and sensed == driven:
        section.fault("sense", value_text(section.given["sense"]), "another winding than the driven one")


class _Wired:
    """Ends that are wired together, by name ("P.start"), as groups."""

    def __init__(self, groups: Iterable[tuple[str, ...]]) -> None:
        self._group: dict[str, str] = {}
        for first, *others in groups:
            for second in others:
                self.connect(first, second)

    def of(self, end: str) -> str:
        """The name of the group that an end belongs to."""
        while (above := self._group.get(end, end)) != end:
            end = above
        return end

    def connect(self, first: str, second: str) -> None:
        """Wire two ends together."""
        self._group[self.of(first)] = self.of(second)


def _ends(port: Port, terminals: Terminals) -> list[tuple[str, str]]:
    """(begin, end) of every winding of a port, in its order and direction."""
    ends: list[tuple[str, str]] = []
    for member in port:
        inner = [(f"{member.name}.start", f"{member.name}.finish")]
        if member.name in terminals.joins:
            inner = _ends(terminals.joins[member.name], terminals)
        ends += [(end, begin) for begin, end in reversed(inner)] if member.reversed else inner
    return ends


def _check_shorted_by_tie(section: ParsedTable, terminals: Terminals) -> None:
    """Report a driven or sensed port whose own ends are wired together: nothing could be read there."""
    tie = section["tie"] or ()
    if not tie or section.bad & {"tie", "drive", "sense"}:
        return
    for key in ("drive", "sense"):
        port = section[key] or ()
        if not port or not terminals.known(port):
            continue
        wired = _Wired(tie)
        ends = _ends(port, terminals)
        both = [begin.partition(".")[0] for begin, end in ends if wired.of(begin) == wired.of(end)]
        in_parallel = any(member.name in terminals.parallel for member in port)
        if not both and not in_parallel and wired.of(ends[0][0]) == wired.of(ends[-1][1]):
            both = [value_text(section.given[key])]
        if both:
            section.fault("tie", f"{both[0]} shorted by the tie", f"ends that leave {key} open")


def _check_tied_plates(section: ParsedTable, terminals: Terminals) -> None:
    """Report a capacitance between two conductors that are wired together."""
    tie = section["tie"] or ()
    if not tie or section.bad & {"tie", "drive", "sense"}:
        return
    wired = _Wired(tie)
    plates: list[set[str]] = []
    for key in ("drive", "sense"):
        port = section[key] or ()
        windings = tuple(member for member in port if terminals.known((member,)))
        ends = [end for pair in _ends(windings, terminals) for end in pair]
        ends += [member.name for member in port if member not in windings]
        plates.append({wired.of(end) for end in ends})
    if plates[0] & plates[1]:
        section.fault("tie", "drive and sense wired together", "ends of which no tie joins drive with sense")
