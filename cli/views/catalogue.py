"""The views of ``cores``, ``wires`` and ``materials``."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np

from ...predict.catalogue import Catalogue, like
from ...predict.cores import effective_parameters
from ..documents import catalogue_documents
from ..documents.record import as_object
from . import words
from .page import Paragraph, Part


def rows(catalogue: Catalogue, kind: str) -> list[dict[str, Any]]:
    """The rows of one catalogue as plain data, SI.

    Parameters
    ----------
    catalogue : Catalogue, cores, wires and materials
    kind : str, "cores", "wires" or "materials"
    """
    if kind == "cores":
        return [as_object(row) for row in _cores(catalogue)]
    if kind == "wires":
        return [as_object(row) for row in _wires(catalogue)]
    return [as_object(row) for row in _materials(catalogue)]


def _cores(catalogue: Catalogue) -> list[catalogue_documents.CatalogueCore]:
    result = []
    for record in catalogue.cores.values():
        computed = effective_parameters(record.dimensions)
        width, height = record.dimensions.window
        result.append(
            catalogue_documents.CatalogueCore(
                name=record.name,
                family=record.family,
                effective_area_m2=record.published_area or computed.effective_area,
                effective_length_m=record.published_length or computed.effective_length,
                published=record.published_area is not None,
                window_width_m=width,
                window_height_m=None if math.isinf(height) else height,
                source=record.source,
                from_memory=record.from_memory,
            )
        )
    return result


def _wires(catalogue: Catalogue) -> list[catalogue_documents.CatalogueWire]:
    return [
        catalogue_documents.CatalogueWire(
            name=record.name,
            diameter_m=record.diameter,
            overall_m={str(grade): list(span) for grade, span in record.overall.items()},
            source=record.source,
        )
        for record in catalogue.wires
    ]


def _materials(catalogue: Catalogue) -> list[catalogue_documents.CatalogueMaterial]:
    return [
        catalogue_documents.CatalogueMaterial(
            name=material.name,
            like=like(material),
            initial_permeability=float(np.asarray(material.initial_permeability)),
            tolerance=material.tolerance,
            temperature_coefficient_per_K=material.temperature_coefficient,
            level_coefficient_per_T=material.level_coefficient,
            frequencies_Hz=list(material.frequencies),
            real_ratio=list(material.real_ratio),
            loss_tangent=list(material.loss_tangent),
            temperatures_degC=list(material.temperatures),
            temperature_ratio=list(material.temperature_ratio),
            level_flux_densities_T=list(material.level_flux_densities),
            level_ratio=list(material.level_ratio),
            saturation_T=_finite(material.saturation_flux_density),
            saturation_coefficient_per_K=material.saturation_coefficient,
            bias_field_A_per_m=material.bias_field or None,
            bias_exponent=material.bias_exponent if material.bias_field else None,
            sheet_thickness_m=material.sheet_thickness or None,
            resistivity_ohm_m=material.resistivity or None,
            remanence_T=material.remanence or None,
            coercivity_A_per_m=material.coercivity or None,
            source=material.source,
        )
        for material in catalogue.materials.values()
    ]


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _kind_of_level(row: dict[str, Any]) -> str:
    """How far the permeability rises with the level: the table's highest ratio, or the coefficient."""
    if row["level_ratio"]:
        return f"to {max(row['level_ratio']):.3g} μi"
    return f"{row['level_coefficient_per_T']:.2g} per T"


def view(kind: str, chosen: Sequence[dict[str, Any]]) -> Iterator[Part]:
    """A table of the chosen rows, then their sources.

    Parameters
    ----------
    kind : str, "cores", "wires" or "materials"
    chosen : Sequence[dict[str, Any]], the rows, SI
    """
    if kind == "cores":
        yield words.table(
            ["core", "Ae (mm²)", "le (mm)", "window (mm)", "Ae, le"],
            [
                [
                    row["name"],
                    f"{row['effective_area_m2'] * 1e6:.4g}",
                    f"{row['effective_length_m'] * 1e3:.4g}",
                    f"{row['window_width_m'] * 1e3:.4g} × {row['window_height_m'] * 1e3:.4g}"
                    if row["window_height_m"]
                    else f"hole {row['window_width_m'] * 2e3:.4g}",
                    ("published" if row["published"] else "computed")
                    + (", from memory" if row["from_memory"] else ""),
                ]
                for row in chosen
            ],
            right=(1, 2, 3),
        )
    elif kind == "wires":
        yield words.table(
            ["wire", "bare (mm)", "grade 1 (mm)", "grade 2 (mm)", "grade 3 (mm)"],
            [
                [row["name"], f"{row['diameter_m'] * 1e3:.4g}", *(_span(row, grade) for grade in "123")]
                for row in chosen
            ],
            right=(1, 2, 3, 4),
        )
        yield Paragraph(
            'A bonding layer on grade 1 or 2: grade = "1B" or "2B", from the greatest diameter of that grade '
            'to that of the next. Triple-insulated: grade = "triple", the bare diameter and 0.18 … 0.22 mm, '
            "of 0.2 to 1 mm (both from memory: measure your wire)."
        )
    else:
        yield words.table(
            ["material", "μi", "tolerance", "per K", "level", "saturation"],
            [
                [
                    row["name"],
                    f"{row['initial_permeability']:.0f}",
                    f"±{row['tolerance'] * 100:.0f} %",
                    f"{row['temperature_coefficient_per_K'] * 100:+.2g} %",
                    _kind_of_level(row),
                    "-" if row["saturation_T"] is None else f"{row['saturation_T']:.2f} T",
                ]
                for row in chosen
            ],
            right=(1, 2, 3, 4, 5),
        )
        for kind_of_material in dict.fromkeys(row["like"] for row in chosen):
            names = ", ".join(row["name"] for row in chosen if row["like"] == kind_of_material)
            yield Paragraph(f"{names}: {kind_of_material}.", "  ", "")
        yield Paragraph(
            "Generic figures: for a maker's grade take the row nearest in use and permeability. Put the "
            'maker\'s own curve into a file of yours (catalogue = ["our-parts.toml"]).'
        )
    if len(chosen) <= 4:
        for row in chosen:
            yield Paragraph(f"{row['name']}: {row['source']}", "  ", "")


def _span(row: dict[str, Any], grade: str) -> str:
    span = row["overall_m"].get(grade)
    return "-" if span is None else f"{span[0] * 1e3:.3f} … {span[1] * 1e3:.3f}"
