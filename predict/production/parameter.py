"""One independent source of scatter as a change of the design, and the pieces such changes are made of."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from ..design import Design, FloatArray, Real, Step

Origin = Literal["build", "model", "setup"]


@dataclass(frozen=True)
class Parameter:
    """One independent source of scatter.

    Attributes
    ----------
    name : str, name as in [spread] of the design file, with the winding or thickness it belongs to
    origin : Origin
        "build" (production), "model" (error of the prediction) or "setup" (link and leads on the bench).
    change : callable (Design, float or (B,) array) to Design
        The change for z standard deviations (dimensionless).
    """

    name: str
    origin: Origin
    change: Callable[[Design, Real], Design]


def log_normal_factor(sd: float, z: Real) -> FloatArray:
    """Log-normal factor with median 1, positive however large z is.

    Parameters
    ----------
    sd : float, relative standard deviation, dimensionless
    z : float or (B,) array, standard deviations from the median, dimensionless

    Returns
    -------
    () or (B,) array, dimensionless
    """
    return np.asarray(np.exp(math.sqrt(math.log1p(sd**2)) * np.asarray(z)))


def stated_or(value: float | None, default: float) -> float:
    """The value that the design file states, else the default.

    Parameters
    ----------
    value : float or None, stated value, SI; None where the file states none
    default : float, default, SI

    Returns
    -------
    float, the value that holds, SI
    """
    return default if value is None else value


def _moved(part: str, field: str, move: Callable[[Any, Real], Any]) -> Callable[[Design, Real], Design]:
    def change(design: Design, z: Real) -> Design:
        inner = getattr(design, part)
        return replace(design, **{part: replace(inner, **{field: move(getattr(inner, field), z)})})

    return change


def scaled(part: str, field: str, sd: float) -> Callable[[Design, Real], Design]:
    """The change that multiplies a field of a part of the design by ``log_normal_factor``.

    Parameters
    ----------
    part, field : str
    sd : float, relative standard deviation, dimensionless
    """
    return _moved(part, field, lambda value, z: value * log_normal_factor(sd, z))


def shifted(part: str, field: str, sd: float) -> Callable[[Design, Real], Design]:
    """The change that adds a normal term to a field of a part of the design.

    Parameters
    ----------
    part, field : str
    sd : float, standard deviation, in the same unit as the field
    """
    return _moved(part, field, lambda value, z: np.add(value, sd * np.asarray(z)))


def edit_steps(design: Design, edit: Callable[[int, Step], Step]) -> Design:
    """The design with every build step passed through a function.

    Parameters
    ----------
    design : Design of one or B builds
    edit : callable (int, Step) to Step, gets the index of the step (from 0) and the step
    """
    steps = tuple(edit(number, step) for number, step in enumerate(design.build.steps))
    return replace(design, build=replace(design.build, steps=steps))


def some(*candidates: tuple[str, float, Callable[[Design, Real], Design]]) -> list[Parameter]:
    """Parameters of production, of origin "build", from names, standard deviations in the unit of the change
    (relative: dimensionless), and changes; those of zero deviation are left out."""
    return [Parameter(name, "build", change) for name, sd, change in candidates if sd > 0]
