"""Where every turn lies: build steps become layers, faults report what does not fit, and the insulated faces
and the cross-section follow.

This room knows places and lengths only. Fields, resistance and capacitance are computed in later rooms.
"""

from .boxes import ACROSS, UPRIGHT, X0, X1, Y0, Y1
from .circuits_apart import (
    Pair,
    Separation,
    ShieldKind,
    ends_of,
    merged,
    pair_of,
    separation_text,
    separations,
    shield_kind,
    shortfalls,
    thickness_of,
    wraps_of,
)
from .facing_windings import Face, circuit_of, faces_between_circuits, insulated_faces
from .layering import ROUNDING, bundle_diameter, bundle_factor, copper_thickness, turn_pitch
from .layout import check_fit, lay_out
from .packs import Packed, packed
from .rectangles import CrossSection, Piece, cross_section
from .remembered_layouts import laid_part, layout_of
from .section import Branch, Layout, Section
from .space import Heaps, place_of, winding_space
from .spilled_turns import spill_cautions
from .turns_by_layer import layer_turns, steps_in_layers, thickest_over_mean, with_artwork

__all__ = [
    "ACROSS",
    "ROUNDING",
    "UPRIGHT",
    "X0",
    "X1",
    "Y0",
    "Y1",
    "Branch",
    "CrossSection",
    "Face",
    "Heaps",
    "Layout",
    "Packed",
    "Pair",
    "Piece",
    "Section",
    "Separation",
    "ShieldKind",
    "bundle_diameter",
    "bundle_factor",
    "check_fit",
    "circuit_of",
    "copper_thickness",
    "cross_section",
    "ends_of",
    "faces_between_circuits",
    "insulated_faces",
    "laid_part",
    "lay_out",
    "layer_turns",
    "layout_of",
    "merged",
    "packed",
    "pair_of",
    "place_of",
    "separation_text",
    "separations",
    "shield_kind",
    "shortfalls",
    "spill_cautions",
    "steps_in_layers",
    "thickest_over_mean",
    "thickness_of",
    "turn_pitch",
    "winding_space",
    "with_artwork",
    "wraps_of",
]
