"""What a search for arrangements kept as it is, and why, in words."""

from __future__ import annotations

from collections.abc import Sequence

from ..winding import Pair, circuit_of, separation_text
from .divisible_parts import Rearrangement
from .kept import Kept
from .rules import Rules


def notes_of(space: Rearrangement, rules: Rules, kept: Kept) -> tuple[str, ...]:
    """Sentences about steps that stay, circuits that stay apart, and windings not divided further.

    Parameters
    ----------
    space : Rearrangement
    rules : Rules
    kept : Kept
    """
    notes = []
    fixed = [unit.name for unit in space.units if not unit.turns and not unit.shield]
    if fixed:
        notes.append(
            f"{', '.join(dict.fromkeys(fixed))}: build steps kept as they are, in another order (boards, "
            "steps beside each other, or sections that differ in more than their turns)."
        )
    apart: dict[str, list[Pair]] = {}
    for pair, needed in kept.withheld():
        apart.setdefault(separation_text(needed), []).append(pair)
    for what, pairs in apart.items():
        circuits = dict.fromkeys(
            "/".join(sorted(circuit_of(space.design, name) for name in pair)) for pair in pairs
        )
        shown = " and ".join(f"--bare {circuit}" for circuit in circuits)
        notes.append(
            f"{pairs_text(pairs)} are kept apart by {what}: orders with less between them are held back "
            f"({shown} shows them)."
        )
    if space.undivided:
        notes.append(
            f"{', '.join(space.undivided)}: not divided into sections of under {rules.least_turns} turns, "
            f"nor into sections that cover less than {100 * rules.least_cover:.0f} % of the breadth."
        )
    pins = space.design.bobbin.pins
    if pins is not None:
        notes.append(
            f"The bobbin has {pins} pins: an end of a winding takes one, and so does every joint of two "
            "sections in series; arrangements that need more are left out."
        )
    over = [u.name for u in space.units if u.now.sections > rules.most_of(u.windings) and u.turns]
    if over:
        notes.append(
            f"{', '.join(over)}: now in more sections than the search covers; the present arrangement is "
            "shown anyway."
        )
    return tuple(notes)


def pairs_text(pairs: Sequence[Pair]) -> str:
    """Pairs of names in words.

    "P and S"; for all combinations of two lists "P, A and S1, S2".

    Parameters
    ----------
    pairs : sequence of Pair, of names
    """

    def opposite(name: str) -> list[str]:
        return list(
            dict.fromkeys(
                first_name for pair in pairs if name in pair for first_name in pair if first_name != name
            )
        )

    second = opposite(pairs[0][0])
    first = opposite(second[0])
    whole = {frozenset((first_name, second_name)) for first_name in first for second_name in second}
    if whole == {frozenset(pair) for pair in pairs}:
        return f"{', '.join(first)} and {', '.join(second)}"
    return "; ".join(f"{first_name} and {second_name}" for first_name, second_name in pairs)
