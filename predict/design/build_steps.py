"""How it is wound: the steps in their order, and what holds for all of them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import ClassVar, Literal, TypeAlias

import numpy as np

from .hashed_once import HashedOnce
from .numbers_of_builds import Count, Real

Style: TypeAlias = Literal["back_and_forth", "same_side", "scramble"]
"""Each layer back from where the last one ended; all layers from the same side; without order."""


@dataclass(frozen=True, kw_only=True)
class WindStep:
    """Turns of a winding wound in one go. None means the build's default, or that the layout rules decide.

    Attributes
    ----------
    winding : str, name of the winding
    turns : int or (B,) int array, turns, count
    layers : int or None, layers over which the turns are spread, count
    breadth : float or (B,) array or None, that the step covers along the leg, m
    from_end : float or (B,) array or None, where it begins, from the flange's inner face, m
    thickness : float or (B,) array or None, of a block of uniform current density, m
    margin : float or (B,) array or None, margin at each end of every layer, m
    interlayer : float or (B,) array or None, insulation between its layers, m
    style : Style or None, how its layers are wound
    close : bool, whether it is wound tight from the start, not spread over the breadth
    beside : bool, whether it begins at the height of the step before, beside it
    companions : tuple[str, ...], windings wound together with this one, turn by turn (key ``with``)
    miscount : tuple of int or (B,) int array
        Turns that this winding and each of its companions has more or less than ``turns`` (a fault: an end
        that leaves a turn early or late), count; empty as designed.
    covered : float or (B,) array
        Covered over designed breadth of every layer, pushed to the start flange (a fault), dimensionless; 1
        as designed.
    shift : float or (B,) array
        Displacement of all its layers along themselves (a tolerance or a fault), m: along the leg, or across
        the window for flat layers.
    chamber : int or None, chamber, index from 1 at the lower flange; None for the only one
    leg : int, of a U core, 1 or 2, index; 1 otherwise
    sector : float or None, angle that the step covers on a toroid, rad; None: all of it
    from_angle : float, where that angle begins, rad
    """

    winding: str
    turns: Count
    layers: int | None = None
    breadth: Real | None = None
    from_end: Real | None = None
    thickness: Real | None = None
    margin: Real | None = None
    interlayer: Real | None = None
    style: Style | None = None
    close: bool = False
    beside: bool = False
    companions: tuple[str, ...] = ()
    miscount: tuple[Count, ...] = ()
    covered: Real = 1.0
    shift: Real = 0.0
    chamber: int | None = None
    leg: int = 1
    sector: float | None = None
    from_angle: float = 0.0

    conducts: ClassVar[bool] = True

    @property
    def windings(self) -> tuple[str, ...]:
        """The winding, then those wound together with it."""
        return (self.winding, *self.companions)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the conductors that the step lays."""
        return self.windings


@dataclass(frozen=True)
class TapeStep:
    """Wraps of tape over the whole breadth, or that of one chamber.

    Attributes
    ----------
    thickness : float or (B,) array, of one wrap, m
    wraps : int or (B,) int array, wraps, count
    permittivity : float, relative permittivity, dimensionless
    chamber : int or None, chamber, index from 1 at the lower flange; None for the only one
    leg : int, of a U core, 1 or 2, index; 1 otherwise
    """

    thickness: Real
    wraps: Count
    permittivity: float = 3.3
    chamber: int | None = None
    leg: int = 1

    conducts: ClassVar[bool] = False
    windings: ClassVar[tuple[str, ...]] = ()
    names: ClassVar[tuple[str, ...]] = ()

    @property
    def height(self) -> Real:
        """Height that it adds to the build, wraps × thickness, (B,) or scalar, m."""
        return np.asarray(np.asarray(self.thickness, float) * np.asarray(self.wraps))


@dataclass(frozen=True)
class SpacerStep:
    """A distance of air, barrier or board.

    Attributes
    ----------
    thickness : float or (B,) array, thickness, m
    permittivity : float, relative permittivity, dimensionless
    chamber : int or None, chamber, index from 1 at the lower flange; None for the only one
    leg : int, of a U core, 1 or 2, index; 1 otherwise
    """

    thickness: Real
    permittivity: float = 1.0
    chamber: int | None = None
    leg: int = 1

    conducts: ClassVar[bool] = False
    windings: ClassVar[tuple[str, ...]] = ()
    names: ClassVar[tuple[str, ...]] = ()

    @property
    def height(self) -> Real:
        """Height that it adds to the build, (B,) or scalar, m."""
        return self.thickness


@dataclass(frozen=True, kw_only=True)
class ShieldStep:
    """A conducting screen that carries no load current.

    Attributes
    ----------
    name : str, of the shield
    thickness, width : float or (B,) array, thickness and width, m
    tied : str, "core", the end of a winding ("P.start", "P.finish"), or "" (open)
    closed : bool, whether its ends touch: a shorted turn (an error in building)
    screens : bool
        Whether other layers see it as an electrode and lie above it; False for turns of a winding that are
        shorted on themselves: they lie within its layer.
    metal : str, "copper" or "aluminium"
    chamber : int or None, chamber, index from 1 at the lower flange; None for the only one
    leg : int, of a U core, 1 or 2, index; 1 otherwise
    """

    name: str
    thickness: Real
    width: Real
    tied: str = ""
    closed: bool = False
    screens: bool = True
    metal: str = "copper"
    chamber: int | None = None
    leg: int = 1

    conducts: ClassVar[bool] = True
    windings: ClassVar[tuple[str, ...]] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the conductors that the step lays."""
        return (self.name,)


Step: TypeAlias = WindStep | TapeStep | SpacerStep | ShieldStep


TAIL = 0.05
"""Wire (m) left at each end for terminating, if the file does not state it (common practice, no source)."""
RESERVE = 0.05
"""Wire and tape in excess of what is wound, relative, if the file does not state it (common practice, no
source)."""


@dataclass(frozen=True)
class Process:
    """What is done to the part besides winding, in the file's words; "" for what it does not state.

    Attributes
    ----------
    do : str, what is done
    after : {"winding", "core"}, "winding", or "core" (once that is fitted)
    time : str, how long
    at : str, temperature
    within : str, how soon after the operation before
    """

    do: str
    after: Literal["winding", "core"] = "core"
    time: str = ""
    at: str = ""
    within: str = ""

    @property
    def impregnates(self) -> bool:
        """Whether it fills the gaps between wires, in words of the trade."""
        return _IMPREGNATES.search(self.do) is not None


_IMPREGNATES = re.compile(r"\b(impregnat|varnish|dip|pot(?:ted)?\b|potting|encapsulat|resin)", re.IGNORECASE)


@dataclass(frozen=True, kw_only=True)
class Build(HashedOnce):
    """The steps in order, and what holds for all of them.

    Attributes
    ----------
    steps : tuple[Step, ...], the steps
    margin : float or (B,) array, margin at each end of every layer, m
    allowance : float, winding slack across a layer, relative
    interlayer : float or (B,) array, insulation between layers of one step, m
    style : Style, how the layers of a step are wound
    impregnation : {"none", "dipped", "potted"}, what fills the gaps between wires
    drawing, revision : str, number and revision of the drawing
    note : str, for the build sheet
    mean_turn_scale : float or (B,) array, factor on the length of every turn (a tolerance), dimensionless
    direction : {"out", "up"}, "out" (layers around the leg) or "up" (along the leg: boards, pancakes)
    tail : float or None, wire left at each end for terminating, m; None: TAIL
    reserve : float or None, wire and tape in excess of what is wound, relative; None: RESERVE
    processes : tuple[Process, ...], what is done besides winding, in order
    """

    steps: tuple[Step, ...]
    margin: Real = 0.0
    allowance: float = 0.02
    interlayer: Real = 0.0
    style: Style = "back_and_forth"
    impregnation: Literal["none", "dipped", "potted"] = "none"
    drawing: str = ""
    revision: str = ""
    note: str = ""
    mean_turn_scale: Real = 1.0
    direction: Literal["out", "up"] = "out"
    tail: float | None = None
    reserve: float | None = None
    processes: tuple[Process, ...] = ()

    __hash__ = HashedOnce.__hash__
