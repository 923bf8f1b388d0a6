"""One independent source of scatter as a change of the design, and what such changes are made of."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ..design import Design, FloatArray, Real, Step

Origin = Literal["build", "model", "setup"]


@dataclass(frozen=True)
class Parameter:
    """One independent source of scatter.

    name : as in the design file's [spread], with the winding or thickness it belongs to.
    origin : "build" (production), "model" (the prediction's own error) or "setup" (link and leads on the
    bench).
    change : (design, z) → design, with z in standard deviations, a number or an array over builds.
    """

    name: str
    origin: Origin
    change: Callable[[Design, Real], Design]


def log_normal_factor(sd: float, z: Real) -> FloatArray:
    """Factor with relative standard deviation ``sd`` and median 1: positive however large."""
    return np.asarray(np.exp(math.sqrt(math.log1p(sd**2)) * np.asarray(z)))


def stated_or(value: float | None, default: float) -> float:
    """What the design file states, else the default."""
    return default if value is None else value


def edit_steps(design: Design, edit: Callable[[int, Step], Step]) -> Design:
    """The design with every build step passed through ``edit`` (its number from 0, the step)."""
    steps = tuple(edit(number, step) for number, step in enumerate(design.build.steps))
    return replace(design, build=replace(design.build, steps=steps))


def some(*found: tuple[str, float, Callable[[Design, Real], Design]]) -> list[Parameter]:
    """Parameters of production from (name, standard deviation, change), those of zero left out."""
    return [Parameter(name, "build", change) for name, sd, change in found if sd > 0]
