"""The JSON of ``cores``, ``wires``, ``materials`` and ``keys``."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, ClassVar

from .record import Meaning, json_key


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CatalogueCore:
    """One core."""

    name: str = json_key("IEC designation.")
    family: str = json_key("Its family.")
    effective_area_m2: float = json_key("Ae (m²).", minimum=0)
    effective_length_m: float = json_key("le (m).", minimum=0)
    published: bool = json_key("Whether Ae and le are the published ones; else computed by IEC 60205.")
    window_width_m: float = json_key("Breadth of the window from the leg (m).", minimum=0)
    window_height_m: float | None = json_key("Height of the window (m); null on a ring.", minimum=0)
    source: str = json_key("Where the row comes from.")
    from_memory: bool = json_key("Whether it was typed without the sheet at hand.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CoresDocument:
    """The cores of the catalogue."""

    document: ClassVar[str] = "cores"

    cores: Sequence[CatalogueCore] = json_key("One row a core.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CatalogueKey:
    """One key."""

    section: str = json_key("As a file heads it.")
    key: str = json_key("Its name.")
    meaning: str = json_key("What it means.")
    takes: str = json_key("What may stand there.")
    default: str | None = json_key("In words; null: the key is required.")
    required: bool = json_key("Whether it must be there.")
    example: str = json_key("A line of a file.")
    only: str | None = json_key("The forms that have it; null: all.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class KeysDocument:
    """The keys of the design file."""

    document: ClassVar[str] = "keys"

    keys: Sequence[CatalogueKey] = json_key("One row a key, in the order of a file.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CatalogueMaterial:
    """One material, at low level and 23 °C."""

    name: str = json_key("Its name.")
    like: str = json_key("What it is like, in words.", optional=True)
    initial_permeability: float | None = json_key("Relative; null: unknown.", minimum=0)
    tolerance: float = json_key("Relative, holds 95 %.", minimum=0)
    temperature_coefficient_per_K: float = json_key("Relative change per kelvin.")
    level_coefficient_per_T: float = json_key("Relative change of amplitude permeability per tesla.")
    frequencies_Hz: Sequence[float] = json_key("Frequencies of the two rows below (Hz).")
    real_ratio: Sequence[float] = json_key("Real permeability over initial (dimensionless).")
    loss_tangent: Sequence[float] = json_key("tan delta (dimensionless).")
    temperatures_degC: Sequence[float] = json_key(
        "Temperatures of the row below (°C); empty: the coefficient holds."
    )
    temperature_ratio: Sequence[float] = json_key("Permeability over that at 23 °C (dimensionless).")
    level_flux_densities_T: Sequence[float] = json_key(
        "Peak flux densities of the row below (T); empty: the coefficient holds."
    )
    level_ratio: Sequence[float] = json_key("Amplitude permeability over initial (dimensionless).")
    saturation_T: float | None = json_key("Saturation flux density (T); null: unknown.", minimum=0)
    saturation_coefficient_per_K: float = json_key("Its relative change per kelvin.")
    bias_field_A_per_m: float | None = json_key(
        "Direct field that halves the permeability (A/m); null: by saturation.", minimum=0
    )
    bias_exponent: float | None = json_key("Steepness of that curve (dimensionless); null: by saturation.")
    sheet_thickness_m: float | None = json_key("Thickness of laminations or tape (m); null: none.", minimum=0)
    resistivity_ohm_m: float | None = json_key("Resistivity of the sheet (ohm m); null: none.", minimum=0)
    remanence_T: float | None = json_key("After saturation, without a joint (T); null: unknown.", minimum=0)
    coercivity_A_per_m: float | None = json_key("Coercive field (A/m); null: unknown.", minimum=0)
    source: str = json_key("Where the figures come from.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class MaterialsDocument:
    """The core materials of the catalogue."""

    document: ClassVar[str] = "materials"

    materials: Sequence[CatalogueMaterial] = json_key("One row a material.")


OverallItem = Annotated[Sequence[float], Meaning(bounds={"minItems": 2, "maxItems": 2})]


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class CatalogueWire:
    """One wire."""

    name: str = json_key("Its name.")
    diameter_m: float = json_key("Bare diameter (m).", minimum=0)
    overall_m: dict[str, OverallItem] = json_key("Overall diameter by grade: [least, greatest] (m).")
    source: str = json_key("Where the row comes from.")


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class WiresDocument:
    """The enamelled wires of the catalogue."""

    document: ClassVar[str] = "wires"

    wires: Sequence[CatalogueWire] = json_key("One row a wire.")
