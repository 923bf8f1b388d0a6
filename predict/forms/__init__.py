"""The forms of cores: each is a set of dimensions that answers the questions that depend on its form.

What gaps, fields and windings make of the answers belongs to the rooms that ask.
"""

from typing import TypeAlias

from .air_core import AirDimensions
from .core_form import CoreForm, LegGeometry
from .e_core import EDimensions
from .pot_core import PotDimensions
from .round_core import RoundDimensions
from .toroid import ToroidDimensions
from .u_core import UDimensions

Dimensions: TypeAlias = CoreForm
"""Dimensions of a core of any form."""
FORMS: dict[str, type[CoreForm]] = {
    each.form: each
    for each in (EDimensions, RoundDimensions, PotDimensions, UDimensions, ToroidDimensions, AirDimensions)
}
"""By name in ``[core.dimensions]``; a new form is a line here."""

__all__ = [
    "FORMS",
    "AirDimensions",
    "CoreForm",
    "Dimensions",
    "EDimensions",
    "LegGeometry",
    "PotDimensions",
    "RoundDimensions",
    "ToroidDimensions",
    "UDimensions",
]
