"""What is wound: the bobbin, the wire, and each winding with its ends."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from .hashed_once import HashedOnce
from .numbers_of_builds import Count, Real, Word


@dataclass(frozen=True, kw_only=True)
class Bobbin:
    """The bobbin, or the coating of a toroid.

    Attributes
    ----------
    wall : float or (B,) array, from the leg to the first layer (on a toroid the coating on all faces), m
    flange : float or (B,) array, thickness at each end, m
    permittivity : float, relative permittivity, dimensionless
    chamber_count : int, equal chambers, if ``chambers`` is empty, count
    chambers : tuple[float, ...] (n,)
        Breadths of the chambers from the lower flange upwards, m; empty: equal ones.
    partition : float or (B,) array, thickness of the wall between two chambers, m
    chamber_scale : float or (B,) array, factor on all listed breadths (a tolerance), dimensionless
    pins : int or None, of the bobbin, count; None if not stated
    partition_height : float or (B,) array, or None
        Height of the partitions above the wall, m; None if not stated.
    """

    wall: Real = 0.0
    flange: Real = 0.0
    permittivity: float = 4.0
    chamber_count: int = 1
    chambers: tuple[Real, ...] = ()
    partition: Real = 0.0
    chamber_scale: Real = 1.0
    pins: int | None = None
    partition_height: Real | None = None


@dataclass(frozen=True, kw_only=True)
class Wire:
    """One conductor of a winding; several in hand lie side by side as one turn.

    Attributes
    ----------
    kind : {"round", "litz", "foil", "track"}, "round" (solid), "litz", "foil" or "track" (of a board)
    diameter : float or (B,) array
        Bare copper diameter of a solid wire, or of one strand of litz, m; 0 for foil and track.
    overall : float or (B,) array, overall diameter over the insulation, m; the thickness for foil and track
    in_hand : int, conductors wound as one turn, count
    strands : int, in one litz conductor, count; else 1
    foil_width : float or (B,) array, breadth of a foil or track, m; else 0
    twisted : bool, whether the wires in hand are a twisted bundle
    open_strands : int or (B,) int array
        Wires in hand that do not conduct, count (a fault; they still take up their room).
    label : str, the wire as the user wrote it, for reports
    spacing : float or (B,) array, space between neighbouring tracks, m
    lay_factor : float or (B,) array
        Length of the strands of litz, or of the wires of a twisted bundle, over that of the turn,
        dimensionless.
    lay_known : bool, whether the file states it
    serving : float or (B,) array
        Thickness of what covers a twisted bundle, m (for litz it is included in ``overall``).
    etched : float or (B,) array
        How much broader tracks are etched than drawn, m; they stay where they are drawn.
    triple : bool, whether it is triple-insulated, which counts as insulation between circuits
    """

    kind: Literal["round", "litz", "foil", "track"]
    diameter: Real
    overall: Real
    in_hand: int = 1
    strands: int = 1
    foil_width: Real = 0.0
    twisted: bool = False
    open_strands: Count = 0
    label: str = ""
    spacing: Real = 0.0
    lay_factor: Real = 1.0
    lay_known: bool = True
    serving: Real = 0.0
    etched: Real = 0.0
    triple: bool = False

    @property
    def foil(self) -> bool:
        """Whether it is a sheet as broad as its layer: one turn is one layer, without rows."""
        return self.kind == "foil"

    @property
    def track(self) -> bool:
        """Whether it is etched on a board: turns of one thickness, spaced along the layer."""
        return self.kind == "track"

    @property
    def flat(self) -> bool:
        """Whether its section is rectangular, ``overall`` thick and ``foil_width`` broad: foil and track."""
        return self.foil or self.track

    @property
    def litz(self) -> bool:
        """Whether it consists of insulated strands."""
        return self.kind == "litz"

    @property
    def bundle(self) -> bool:
        """Whether its strands or wires change places along the turn: litz, and twisted wires in hand."""
        return self.litz or self.twisted


@dataclass(frozen=True, kw_only=True)
class Winding(HashedOnce):
    """One winding.

    Attributes
    ----------
    name : str, of the winding
    wire : Wire, its wire
    sections : {"series", "parallel"}, how its build steps are joined, "series" or "parallel"
    total_turns : int or None, turns as stated, a checksum, count; None if not stated
    circuit : str, that it belongs to
    start : str, pin of the start
    finish : str, pin of the finish
    turning : str or (B,) array of str, winding direction, "cw" or "ccw"
    lead_length : float, length of both lead-outs together, m
    metal : str or (B,) array of str, "copper" or "aluminium"
    sleeving : str, sleeving, for the build sheet
    note : str, for the build sheet
    polarity : tuple of int or (B,) int array
        −1 for a section connected the wrong way round (a fault), else 1, for each of this winding's own
        steps; empty as designed.
    joint_resistance : float or (B,) array
        Resistance in series at its terminals (a fault: a bad joint), ohm.
    loop_inductance : float or (B,) array
        Inductance in series at its terminals (a fault: a wide loop of the lead-outs), H.
    """

    name: str
    wire: Wire
    sections: Literal["series", "parallel"] = "series"
    total_turns: int | None = None
    circuit: str = ""
    start: str = ""
    finish: str = ""
    turning: Word = "cw"
    lead_length: float = 0.0
    metal: Word = "copper"
    sleeving: str = ""
    note: str = ""
    polarity: tuple[Count, ...] = ()
    joint_resistance: Real = 0.0
    loop_inductance: Real = 0.0

    __hash__ = HashedOnce.__hash__

    @cached_property
    def has_lead_outs(self) -> bool:
        """Whether there is anything in series at the terminals."""
        extra = self.joint_resistance + self.loop_inductance
        return self.lead_length > 0 or bool(np.any(np.asarray(extra) > 0))

    def polarity_of(self, ordinal: int) -> Count:
        """1, or −1 where the step ``ordinal`` (index from 0) of this winding is connected the wrong way
        round."""
        return self.polarity[ordinal] if self.polarity else 1
