"""What a fault is: where it applies, what it does to a part, which family its cause belongs to."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from .parts import Part

Random = np.random.Generator


@dataclass(frozen=True)
class Done:
    """What was done to a part: the cause's identifier, where, and the amount (None where none fits)."""

    cause: str
    where: str
    amount: float | None = None


Apply = Callable[[Part, Random], Done]


@dataclass(frozen=True)
class Fault:
    """label : the benchmark's name. reported : one of the 26. applies : whether a design can have it."""

    label: str
    cause: str
    reported: bool
    applies: Callable[[Part], bool]
    apply: Apply


def family(cause: str, where: str) -> str:
    """The family that a cause belongs to. Copper faults are told apart by winding, as are all others on
    windings; the core's and the layout's by nothing but their class."""
    if cause in (
        "gap",
        "unseated",
        "material",
        "cracked",
        "bias",
        "stress",
        "ungapped",
        "wrong-al",
        "mixed-set",
    ):
        return "gap-like"
    if cause in ("insulation", "margin", "scramble", "bunched", "offset", "crowded"):
        return "spacing-like"
    if cause in ("wire", "strand", "joint", "conductor"):
        return f"copper of {where}"
    if cause in ("short-link", "leads"):
        return "link and leads"
    if cause == "reversed":
        return "reversed"
    return f"{cause} {where}"


def windowed(part: Part) -> bool:
    """Whether the core has a window."""
    return part.core.form != "toroid"


def layered(part: Part) -> bool:
    """Whether layers lie around a leg."""
    return windowed(part) and part.direction == "out"


def gapped(part: Part) -> bool:
    """Whether there is a ground gap."""
    return part.core.gap > 0


def always(part: Part) -> bool:
    """Every design."""
    return True


def pick(rng: Random, names: list[str]) -> str:
    """One of the names."""
    return names[int(rng.integers(len(names)))]
