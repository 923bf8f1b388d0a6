"""What lies between two layers: solid insulation of the build steps, the bobbin's walls, air or its
filling."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..design import FloatArray, columns_of
from .electrodes import ElectrodeSpace, Units

INTERLAYER = 3.3
"""Relative permittivity of insulation between the layers of one step (as tape; common practice, no
source)."""
WALL_AIR = 0.1
"""Share of the bobbin's wall thickness that is clearance to the leg (common practice, no source)."""


@dataclass(frozen=True)
class Pairs:
    """Layers that face each other, one pair in each of R rows.

    Attributes
    ----------
    build : (R,) array of int, in which they face each other, index
    inner, outer : (R,) array of int, inner and outer layer, index; −1 for the surface of the core
    """

    build: NDArray[np.int_]
    inner: NDArray[np.int_]
    outer: NDArray[np.int_]

    @property
    def unit(self) -> NDArray[np.int_]:
        """(R,) inner layer, index; the outer one where the inner face is the core."""
        return np.where(self.inner < 0, self.outer, self.inner)

    @property
    def core(self) -> NDArray[np.bool_]:
        """(R,) whether one of the faces is the core."""
        return (self.inner < 0) | (self.outer < 0)

    @property
    def near_core(self) -> NDArray[np.bool_]:
        """(R,) whether the inner face is the core."""
        return self.inner < 0


def reduced_thickness(space: ElectrodeSpace, units: Units, pairs: Pairs, gap: FloatArray) -> FloatArray:
    """Thickness over relative permittivity of what lies in a gap.

    Solid insulation of the build steps comes first; the rest is air or what fills it. Where a part was
    pressed into its window the solids are thinned in proportion.

    Parameters
    ----------
    space : ElectrodeSpace
    units : Units
    pairs : Pairs of R rows
    gap : (R,) array, distance between the layers, m

    Returns
    -------
    (R,) array, m
    """
    thickness = _solids(space, units, pairs)
    whole = np.sum(thickness, axis=-1)
    squeeze = np.minimum(gap / np.maximum(whole, 1e-12), 1.0)
    materials = np.array([*space.solid.materials, space.design.bobbin.permittivity, INTERLAYER])
    scaled = np.maximum(materials * space.scale.reshape(-1, 1), 1.0)
    permittivity = np.where(materials > 1, scaled, space.filling)
    permittivity = np.broadcast_to(permittivity, (space.count, len(materials)))[pairs.build]
    air_thickness = np.maximum(gap - whole, 0.0) / space.filling
    return np.asarray(air_thickness + squeeze * np.sum(thickness / permittivity, axis=-1))


def _solids(space: ElectrodeSpace, units: Units, pairs: Pairs) -> FloatArray:
    """(rows, k + 2) thickness (m) of the solid insulation between two layers: the k materials of the build
    steps, the bobbin's wall, and the insulation between layers of one step."""
    solid, b = space.solid, pairs.build
    bay = units.bay[pairs.unit]
    below = {
        side: solid.below[b, bay, units.step[np.maximum(face, 0)]]
        for side, face in (("inner", pairs.inner), ("outer", pairs.outer))
    }
    whole, none = solid.whole[b, bay], np.zeros_like(below["inner"])
    mirrored = (units.leg[pairs.unit] == 2)[:, None]
    near, far = pairs.near_core[:, None], (pairs.outer < 0)[:, None]
    crossing = (~pairs.core & (units.leg[pairs.inner] != units.leg[pairs.outer]))[:, None]
    first = np.where(near, np.where(mirrored, below["outer"], none), below["inner"])
    last = np.where(near, np.where(mirrored, whole, below["outer"]), below["outer"])
    last = np.where(far | crossing, whole, last)
    first, last = np.where(far & mirrored, none, first), np.where(far & mirrored, below["inner"], last)
    one_step = ~pairs.core & (units.step[pairs.inner] == units.step[pairs.outer])
    laid = np.where(one_step[:, None], 0.0, np.abs(last - first))
    outer_bay = units.bay[np.maximum(pairs.outer, 0)]  # the cover over the winding on the other leg
    beyond = solid.whole[b, outer_bay] - solid.below[b, outer_bay, units.step[np.maximum(pairs.outer, 0)]]
    laid = laid + np.where(crossing, beyond, 0.0)
    wall = np.where(pairs.core, _bobbin(space, units, pairs), 0.0)
    layers = np.abs(
        units.layer[pairs.outer] - units.layer[pairs.inner]
    )  # layers on leg 2 are counted from its own surface
    between = np.where(one_step, _interlayer(space)[b, units.step[pairs.unit]] * layers, 0.0)
    return np.concatenate([laid, wall[:, None], between[:, None]], axis=-1)


def _interlayer(space: ElectrodeSpace) -> FloatArray:
    """(B, s) insulation between the layers of each build step (m)."""
    build = space.design.build
    stated = [getattr(step, "interlayer", None) for step in build.steps]
    return columns_of([build.interlayer if value is None else value for value in stated], space.count)


def _bobbin(space: ElectrodeSpace, units: Units, pairs: Pairs) -> FloatArray:
    """(rows,) thickness (m) of the bobbin's wall, in flat builds of its flange, where one of the faces is the
    core."""
    bobbin = space.design.bobbin
    if space.flat:
        return np.broadcast_to(np.asarray(bobbin.flange, float), (space.count,))[pairs.build]
    on_leg = pairs.near_core == (units.leg[pairs.unit] == 1)
    share = 1.0 if space.toroid else 1.0 - WALL_AIR
    wall = np.broadcast_to(np.asarray(bobbin.wall, float), (space.count,))[pairs.build]
    return np.where(on_leg, wall * share, 0.0)
