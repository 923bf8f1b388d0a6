"""A commented design file to start from, with walls, wires and turns that fit the named core."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from ..catalogue import Catalogue, CoreRecord, WireRecord, find_core
from ..errors import DesignError, Fault, nearest
from ..notation import millimetres

_GRADE = 2
_SLACK = 1.02  # the design file's default allowance
_FILL = 0.9  # share of a layer's room that the starting turns take
_MATERIAL, _STEEL = "MnZn 2300", "silicon steel NO 0.50"
_STACKING = """
stacking_factor = 0.95          # steel in the stack's height
face_gap = "3 um"               # sheets stacked crosswise; with butted joints about 30 um"""
_LAMINATED = "EI"  # the catalogue's family of laminations
_BOARD = "planar E"  # the catalogue's family of cores for windings on a board
_TAPE = 0.06e-3
_WRAPS_BETWEEN, _WRAPS_OUTSIDE = 3, 2
_COPPER, _SPACING, _SLOT, _EDGE = 70e-6, 0.3e-3, 0.3e-3, 0.4e-3
"""Of a board (m): thickness of the copper, space between tracks, from core to board, from the board's edge
to copper (common practice, no source; a start that the user changes, as are the constants above)."""


@dataclass(frozen=True, kw_only=True)
class _Start:
    """What is chosen for a core: wall and flange (m), and as TOML text the two wires, the build's direction
    and margin if it needs them, and the steps."""

    wall: float
    flange: float
    primary: str
    secondary: str
    build: str
    steps: tuple[str, ...]


KINDS = ("flyback", "forward", "bridge", "resonant", "current", "gate", "mains", "planar", "choke", "bifilar")
"""Kinds of transformers with a complete, commented design file in ``data/kinds``."""


def design_like(kind: str) -> str:
    """A commented design file (TOML text) of one kind of transformer.

    It can be predicted as it is: a starting point, not a finished design.

    Parameters
    ----------
    kind : str, one of ``KINDS``

    Raises
    ------
    DesignError
        An unknown kind; names the nearest.
    """
    if kind not in KINDS:
        raise DesignError(Fault("option --like", repr(kind), ", ".join(KINDS), nearest(kind, KINDS)))
    data = Path(__file__).parents[1] / "data" / "kinds" / f"{kind}.toml"
    return data.read_text(encoding="utf-8")


def template(core_name: str, catalogue: Catalogue) -> str:
    """A commented design file (TOML text) for a core of the catalogue.

    Two windings with tape, and four tests (laminations: steel, stacking factor, no gap, 120 Hz and 1 kHz).
    Wall and flange are a tenth of the window (0.3 … 1.2 mm; a toroid's coating 0.3 mm). Wires are of grade
    2, at most 0.5 and 0.8 mm overall, and the thickest with which the build takes at most half the window;
    turns fill nine tenths of the layers. On a planar core: three layers of tracks on a board, P S P, that
    use four fifths of the room. It is a starting point, not a design: every line is to be replaced.

    Parameters
    ----------
    core_name : str, name of the core
    catalogue : Catalogue, cores, wires and materials

    Raises
    ------
    CatalogueError
        An unknown core.
    DesignError
        A window that no wire of the catalogue fits.
    """
    record = find_core(catalogue, core_name)
    start = _board(record) if record.family == _BOARD else _start(record, catalogue)
    return _text(record, start, catalogue)


def _start(record: CoreRecord, catalogue: Catalogue) -> _Start:
    """Wires and turns that fit ``record``'s window."""
    width, height = record.dimensions.window
    toroid = record.dimensions.ring
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
    steps = (
        f'{{ wind = "P", turns = {layers * turns(primary, wall)} }}',
        f'{{ tape = "{millimetres(_TAPE)}", wraps = {_WRAPS_BETWEEN} }}',
        f'{{ wind = "S", turns = {turns(secondary, over_primary)} }}',
        f'{{ tape = "{millimetres(_TAPE)}", wraps = {_WRAPS_OUTSIDE} }}',
    )
    wires = [
        f'{{ diameter = "{millimetres(wire.diameter)}", grade = {_GRADE} }}' for wire in (primary, secondary)
    ]
    return _Start(
        wall=wall,
        flange=wall,
        primary=wires[0],
        secondary=f"{wires[1]}    # in_hand = 2: two wires",
        build="",
        steps=steps,
    )


def _board(record: CoreRecord) -> _Start:
    """Tracks that fit ``record``'s window: four turns of P above and below two of S."""
    width, height = record.dimensions.window
    breadth = 0.8 * (width - _SLOT - 2 * _EDGE)
    spacer = round(min(1.5e-3, 0.15 * height), 4)

    def track(turns: int) -> str:
        across = math.floor((breadth / turns - _SPACING) * 1e4) / 1e4
        copper = f'trace = "{_COPPER * 1e6:.0f} um"'
        return f'{{ {copper}, width = "{millimetres(across)}", spacing = "{millimetres(_SPACING)}" }}'

    build = (
        'direction = "up"                # flat layers: the first lies on the lower flange\n'
        f'margin = "{millimetres(_EDGE)}"                # from the board\'s edge to the copper\n'
    )
    between = f'{{ spacer = "{millimetres(spacer)}", permittivity = 4.5 }}'
    outer, inner = '{ wind = "P", turns = 4 }', '{ wind = "S", turns = 2 }'
    return _Start(
        wall=_SLOT,
        flange=_SLOT,
        primary=track(4),
        secondary=track(2),
        build=build,
        steps=(outer, between, inner, between, outer),
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


def _text(record: CoreRecord, start: _Start, catalogue: Catalogue) -> str:
    toroid = record.dimensions.ring
    laminated = record.family == _LAMINATED
    grade, permeability = (_STEEL, 1000) if laminated else (_MATERIAL, 2300)
    material = f'material = "{grade}"' if grade in catalogue.materials else f"mu_i = {permeability}"
    low, high = ("120 Hz", "1 kHz") if laminated else ("10 kHz", "100 kHz")
    stacking = _STACKING if laminated else ""
    legs = record.dimensions.leg_name
    gap = "" if toroid or laminated else f'\ngap = "0.1 mm"                 # ground into {legs}, in total'
    if record.name.endswith("+ PLT") or record.name.startswith("UI"):
        gap += '\ngap_at = "end"                 # at the plate or bar'
    order = f"from the {'core' if toroid else 'leg'} outwards"
    wall = "the coating, on all faces" if toroid else f"from {legs.replace('one', 'the')} to the first layer"
    if record.family == _BOARD:
        order, wall = "from the lower yoke upwards", "from the centre leg to the board"
    steps = "\n".join(f"  {step}," for step in start.steps)
    flange = (
        ""
        if toroid
        else f'\nflange = "{millimetres(start.flange)}"{" " * 14}'
        "# at each end of the window, from core to winding"
    )
    return f"""\
# A starting point, not a design: sizes and turns fit the core, nothing more. Replace every line.
# Insulation between circuits (distances, tape, margins, insulated wire) follows the safety standard
# that applies to the equipment, and the decision of a qualified person; no prediction replaces either.
title = "New transformer on {record.name}"

[core]
shape = "{record.name}"
{material}         # or mu_i = {permeability}{stacking}{gap}
# al = "250 nH"                  # inductance factor by the core's data sheet; if given it sets L_open
# al_tolerance = "5 %"

[bobbin]
wall = "{millimetres(start.wall)}"                # {wall}{flange}

[[winding]]
name = "P"
wire = {start.primary}
# start = "1"                    # pins
# finish = "2"

[[winding]]
name = "S"
wire = {start.secondary}

[build]
{start.build}# impregnation = "none"          # "dipped" or "potted"
steps = [                        # in the order in which they go on, {order}
{steps}
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
