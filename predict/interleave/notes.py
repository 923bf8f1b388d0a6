"""What a search for arrangements kept as it is, and why, in words."""

from __future__ import annotations

from ..winding import separation_text
from .divisible_parts import Space
from .kept import Kept
from .rules import Rules


def notes_of(space: Space, rules: Rules, kept: Kept) -> tuple[str, ...]:
    """Sentences about build steps that stay, circuits that stay apart, windings that are not divided
    further."""
    found = []
    fixed = [unit.name for unit in space.units if not unit.turns and not unit.shield]
    if fixed:
        found.append(
            f"{', '.join(dict.fromkeys(fixed))}: build steps kept as they are, in another order (boards, "
            "steps beside each other, or sections that differ in more than their turns)."
        )
    for (one, other), needed in kept.withheld():
        found.append(
            f"{one} and {other} are kept apart by {separation_text(needed)}: orders with less between them "
            f"are held back (--bare {one}/{other} shows them)."
        )
    if space.undivided:
        found.append(
            f"{', '.join(space.undivided)}: not divided into sections of under {rules.least_turns} turns, "
            f"nor into sections that cover less than {100 * rules.least_cover:.0f} % of the breadth."
        )
    pins = space.design.bobbin.pins
    if pins is not None:
        found.append(
            f"The bobbin has {pins} pins: an end of a winding takes one, and so does every joint of two "
            "sections in series; what takes more is left out."
        )
    over = [u.name for u in space.units if u.now.sections > rules.most_of(u.windings) and u.turns]
    if over:
        found.append(
            f"{', '.join(over)}: now in more sections than the search goes to; the present arrangement is "
            "shown all the same."
        )
    return tuple(found)
