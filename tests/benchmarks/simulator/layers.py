"""What a layout consists of: layers, sections, sheets of insulation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .parts import Wire

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Layer:
    """One layer of one winding.

    step : number of its build step. branch : number of its section (a winding's turns in one step).
    inner, outer : of the insulated layer on the stack axis (m); copper : thickness of the equivalent square
    or foil. low, high : extent along (m). centres, breadth : of the conductors along the layer (m). before,
    whole : turns of the section in earlier layers, and all of them. downwards : wound from the far end back.
    metal : cross-section of one turn (m²). scrambled : 0 … 1.
    """

    winding: str
    step: int
    branch: int
    turns: float
    inner: float
    outer: float
    copper: float
    low: float
    high: float
    centres: Array
    breadth: float
    before: float
    whole: float
    downwards: bool
    metal: float
    wire: Wire
    scrambled: float = 0.0
    chamber: int = 1


@dataclass(frozen=True)
class Branch:
    """One section: a winding's turns of one step. ordinal : among the winding's own sections. sense: ±1."""

    winding: str
    step: int
    turns: float
    ordinal: int
    sense: int = 1


@dataclass(frozen=True)
class Sheet:
    """Insulation between layers: where it begins (m), its thickness and relative permittivity."""

    at: float
    thickness: float
    permittivity: float
    chamber: int | None


@dataclass(frozen=True)
class Layout:
    """All layers and sections of a part. width, height : of the room, across the stack and along it."""

    layers: tuple[Layer, ...]
    branches: tuple[Branch, ...]
    sheets: tuple[Sheet, ...]
    width: float
    height: float
