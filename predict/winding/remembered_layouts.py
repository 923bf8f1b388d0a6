"""The part of a design that its layout depends on, and layouts remembered by it.

Where turns lie depends on the build, the bobbin, the wires and the shape of the core, and so does what
charges them. Designs that differ in anything else (gap and grade of the core, bench, tests, metal of the
wire, how sections are joined, errors of the models) have one layout.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache, lru_cache

import numpy as np

from ..alike import taken
from ..design import Bench, Design, Material, ModelFactors, Winding, builds
from ..remembered import by_value
from .layout import lay_out
from .section import Layout


def laid_part(design: Design) -> Design:
    """A design with nothing but what layout and capacitance depend on; all else is the same in every design.

    Parameters
    ----------
    design : Design of one or B builds

    Returns
    -------
    Design, its shape of core, bobbin, build and wires, the model factors of capacitance, and no tests
    """
    return _laid_part(design) if builds(design) is not None else _laid_part_of_one(design)


@lru_cache(256)
def _laid_part_of_one(design: Design) -> Design:
    return _laid_part(design)


@cache
def _no_material() -> Material:
    """The one material of all laid parts, by which they are known."""
    return Material(name="", initial_permeability=1.0)


def _laid_part(design: Design) -> Design:
    if design.core.material is _no_material():
        return design
    core = replace(
        design.core,
        name="",
        material=_no_material(),
        effective_area=1.0,
        gap=0.0,
        face_gap=0.0,
        al=None,
        al_scale=1.0,
        loss=None,
    )
    windings = tuple(map(_laid_winding, design.windings))
    model = ModelFactors(capacitance=design.model.capacitance, permittivity=design.model.permittivity)
    return replace(design, title="", core=core, windings=windings, model=model, tests=(), bench=Bench())


def _laid_winding(winding: Winding) -> Winding:
    """A winding with its turns and wire alone; the same object where there is nothing else."""
    alone = {
        "sections": "series",
        "turning": "cw",
        "metal": "copper",
        "polarity": (),
        "joint_resistance": 0.0,
        "loop_inductance": 0.0,
    }
    found = ((getattr(winding, name), value) for name, value in alone.items())
    if all(type(now) is type(value) and now == value for now, value in found):
        return winding
    return replace(winding, **alone)  # type: ignore[arg-type]


def layout_of(design: Design) -> Layout:
    """``lay_out`` once for designs and builds with the same part that a layout depends on.

    Parameters
    ----------
    design : Design of one or B builds

    Raises
    ------
    BuildError
        As ``lay_out``.
    """
    part = laid_part(design)
    if builds(part) is not None:
        return lay_out(design)
    layout, count = _of_one_build(part), builds(design)
    return layout if count is None else taken(layout, np.zeros(count, np.int64), 1)


@by_value(256)
def _of_one_build(design: Design) -> Layout:
    return lay_out(design)
