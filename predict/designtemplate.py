"""A commented design file to start from, with walls, wires and turns that fit the named core."""

from __future__ import annotations

import math
from dataclasses import dataclass

from .catalogue import Catalogue, CoreRecord, WireRecord, find_core
from .design import ToroidDimensions, UDimensions
from .errors import DesignError, Fault
from .layout import window_of

_GRADE = 2
_SLACK = 1.02  # the design file's default allowance
_FILL = 0.9  # share of a layer's room that the starting turns take
_MATERIAL, _STEEL = "MnZn 2300", "silicon steel NO 0.50"
_LAMINATED = "EI"  # the catalogue's family of laminations
_TAPE = 0.06e-3
_WRAPS_BETWEEN, _WRAPS_OUTSIDE = 3, 2


@dataclass(frozen=True)
class _Start:
    """What is chosen for a core: lengths in m, wires of the catalogue, turns."""

    wall: float
    flange: float
    primary: WireRecord
    secondary: WireRecord
    primary_turns: int
    secondary_turns: int


def template(core_name: str, catalogue: Catalogue) -> str:
    """A design file (TOML text, with comments) for the catalogue's core ``core_name``.

    Two windings with tape, four tests (laminations: steel, stacking factor, no gap, 120 Hz and 1 kHz).
    Wall and flange are a tenth of the window (0.3 … 1.2 mm; a toroid's
    coating 0.3 mm); wires, of grade 2 and at most 0.5 and 0.8 mm overall, are the thickest with which the
    build takes at most half the window; turns fill nine tenths of the layers. A starting point and no
    design: every line is to be replaced. Raises CatalogueError for an unknown core, DesignError for a window
    that no wire of the catalogue fits.
    """
    record = find_core(catalogue, core_name)
    return _text(record, _start(record, catalogue), catalogue)


def _start(record: CoreRecord, catalogue: Catalogue) -> _Start:
    """Wires and turns that fit ``record``'s window."""
    width, height = window_of(record.dimensions)
    toroid = isinstance(record.dimensions, ToroidDimensions)
    wall = 0.3e-3 if toroid else round(min(max(width / 10, 0.3e-3), 1.2e-3), 4)
    layers = 1 if toroid else 2
    room = 0.5 * (width - wall) - (_WRAPS_BETWEEN + _WRAPS_OUTSIDE) * _TAPE
    primary = _thickest(catalogue, record, min(0.5e-3, room / (layers + 1.5)))
    secondary = _thickest(catalogue, record, min(0.8e-3, 1.5 * room / (layers + 1.5)))

    def turns(wire: WireRecord, bottom: float) -> int:
        overall = _overall(wire)
        breadth = 2 * math.pi * (width - bottom - overall / 2) if toroid else height - 2 * wall
        return max(int(_FILL * breadth / (overall * _SLACK)), 1)

    over_primary = wall + layers * _overall(primary) + _WRAPS_BETWEEN * _TAPE
    return _Start(
        wall, wall, primary, secondary, layers * turns(primary, wall), turns(secondary, over_primary)
    )


def _overall(wire: WireRecord) -> float:
    """Middle of the standard's range of overall diameters (m)."""
    return sum(wire.overall[_GRADE]) / 2


def _thickest(catalogue: Catalogue, record: CoreRecord, overall: float) -> WireRecord:
    """The thickest nominal wire of at most ``overall`` (m)."""
    fitting = [w for w in catalogue.wires if not w.derived and _GRADE in w.overall and _overall(w) <= overall]
    if not fitting:
        allowed = "a core with room for two windings of the catalogue's wires"
        raise DesignError(Fault("core", f"the window of {record.name!r}", allowed))
    return max(fitting, key=_overall)


def _mm(length: float) -> str:
    return f"{length * 1e3:.4g} mm"


def _text(record: CoreRecord, start: _Start, catalogue: Catalogue) -> str:
    toroid = isinstance(record.dimensions, ToroidDimensions)
    laminated = record.family == _LAMINATED
    grade, permeability = (_STEEL, 1000) if laminated else (_MATERIAL, 2300)
    material = f'material = "{grade}"' if grade in catalogue.materials else f"mu_i = {permeability}"
    low, high = ("120 Hz", "1 kHz") if laminated else ("10 kHz", "100 kHz")
    stacking = "\nstacking_factor = 0.95          # steel in the stack's height" if laminated else ""
    legs = "one leg" if isinstance(record.dimensions, UDimensions) else "the centre leg"
    gap = "" if toroid or laminated else f'\ngap = "0.1 mm"                 # ground into {legs}, in total'
    inside = "core" if toroid else "leg"
    wall = "the coating, on all faces" if toroid else f"from {legs.replace('one', 'the')} to the first layer"
    flange = (
        ""
        if toroid
        else f'\nflange = "{_mm(start.flange)}"{" " * 14}# at each end of the window, from core to winding'
    )
    return f"""\
# A starting point, not a design: sizes and turns fit the core and stand for nothing else. Replace every line.
# Insulation between circuits (distances, tape, margins, insulated wire) follows the safety standard
# that applies to the equipment, and the decision of a qualified person; no prediction replaces either.
title = "New transformer on {record.name}"

[core]
shape = "{record.name}"
{material}         # or mu_i = {permeability}{stacking}{gap}
# al = "250 nH"                  # inductance factor by the core's data sheet; where given it rules L_open
# al_tolerance = "5 %"

[bobbin]
wall = "{_mm(start.wall)}"                # {wall}{flange}

[[winding]]
name = "P"
wire = {{ diameter = "{_mm(start.primary.diameter)}", grade = {_GRADE} }}
# start = "1"                    # pins
# finish = "2"

[[winding]]
name = "S"
wire = {{ diameter = "{_mm(start.secondary.diameter)}", grade = {_GRADE} }}    # in_hand = 2: two wires

[build]
# impregnation = "none"          # "dipped" or "potted"
steps = [                        # in the order in which they go on, from the {inside} outwards
  {{ wind = "P", turns = {start.primary_turns} }},
  {{ tape = "{_mm(_TAPE)}", wraps = {_WRAPS_BETWEEN} }},
  {{ wind = "S", turns = {start.secondary_turns} }},
  {{ tape = "{_mm(_TAPE)}", wraps = {_WRAPS_OUTSIDE} }},
]

[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "{low}"
# min = "580 uH"                 # limits of the specification
# max = "665 uH"

[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "{high}"

[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "{low}"

[[test]]
name = "R_P"
measure = "resistance"
drive = "P"

[bench]
short_inductance = "10 nH"       # what the shorting link adds
"""
