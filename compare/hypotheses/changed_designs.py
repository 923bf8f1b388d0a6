"""What the bench reads of many changed designs at once.

Designs of one structure are builds of one batch (``predict.batch``). Of most structures there are only one or
two designs: windings in another order, one more tape. Those with the same sections are brought into one
common order of the sections, and are then builds of one batch too.
"""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace

import numpy as np

from ...predict.batch import CHUNK, predict_many
from ...predict.capacitance import Batch, design_as_batch, shared_capacitance, together
from ...predict.circuit import predict_laid, readings, sections_of
from ...predict.design import Design, FloatArray
from ...predict.winding import layout_of


def changed_readings(designs: Sequence[Design]) -> FloatArray:
    """Readings of many designs.

    Parameters
    ----------
    designs : sequence of Design, the D designs of one build each, with T tests each

    Returns
    -------
    (D, T) array, displayed values, SI

    Raises
    ------
    BuildError
        Where the layout of one of them is outside the models.
    """
    return predict_many(designs, readings, _in_common_order)


def _in_common_order(designs: Sequence[Design]) -> FloatArray:
    """Readings (D, T) of designs of many structures."""
    groups: dict[Hashable, list[int]] = {}
    laid: dict[tuple[int, ...], Batch] = {}
    batches = []
    for index, design in enumerate(designs):
        parts = (design.build, design.bobbin, design.windings, design.core.dimensions)
        shared = tuple(map(id, parts))
        first = laid.get(shared)
        batch = design_as_batch(design, layout_of(design)) if first is None else first.of(design)
        laid.setdefault(shared, batch)
        batches.append(batch)
        groups.setdefault((batch.key, design.tests), []).append(index)
    result: list[FloatArray] = [np.zeros(0)] * len(designs)
    for indices in groups.values():
        for begin in range(0, len(indices), CHUNK):
            chunk = indices[begin : begin + CHUNK]
            for index, row in zip(
                chunk, _read([batches[index] for index in chunk], designs[chunk[0]]), strict=True
            ):
                result[index] = row
    return np.stack(result)


def _read(batches: Sequence[Batch], asked: Design) -> FloatArray:
    """Readings (B, T) of builds with a common key for the tests of ``asked``."""
    design, layout, solid = together([(batch, 0) for batch in batches])
    sections = sections_of(replace(design, tests=asked.tests), layout)
    alternating = any(test.measure != "resistance" for test in asked.tests)
    return predict_laid(sections, shared_capacitance(design, layout, solid) if alternating else None).values
