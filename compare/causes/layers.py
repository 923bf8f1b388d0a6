"""Layers at the limit: some normal builds need more or fewer layers than drawn."""

from __future__ import annotations

import functools

from ...predict.design import Design
from ...predict.production import (
    BUILDS,
    Tipping,
    layer_counts,
    normal_draws,
    parameters,
    random_builds,
    tippings,
)
from .cause import OCCASIONAL, Cause, Variant

_FARTHER = (1.0, 1.25, 1.6, 2.0)
"""Multiples of the mean deviations of the builds that tip, tried until the plain build tips with them too
(judged: the first that works is taken)."""


@functools.lru_cache(maxsize=8)
def _tipped(design: Design) -> tuple[tuple[Tipping, Design], ...]:
    """Steps that some random builds wind in other layers, each with the most likely build of that kind.

    That build is the plain design moved by the mean of these builds' tolerances. Remembered for the last
    few designs.
    """
    chosen = tuple(parameter for parameter in parameters(design) if parameter.origin == "build")
    z = normal_draws([item.name for item in chosen], BUILDS, 1)
    counts = layer_counts(random_builds(design, chosen, z), BUILDS)
    moved_designs = []
    for tipping in tippings(design, counts):
        members = z[counts[:, tipping.step] == tipping.layers]
        for factor in _FARTHER:
            moved = design
            for parameter, mean in zip(chosen, members.mean(axis=0), strict=True):
                moved = parameter.change(moved, factor * float(mean))
            if layer_counts(moved, 1)[0, tipping.step] == tipping.layers:
                moved_designs.append((tipping, moved))
                break
    return tuple(moved_designs)


def _places(design: Design) -> tuple[str, ...]:
    return tuple(dict.fromkeys(tipping.winding for tipping, _ in _tipped(design)))


def _variants(design: Design, winding_name: str) -> list[Variant]:
    variants = []
    for tipping, moved in _tipped(design):
        if tipping.winding == winding_name:
            many = f"{tipping.layers} layer{'' if tipping.layers == 1 else 's'} instead of {tipping.designed}"
            share = f"{100 * tipping.share:.2g} % of builds"
            title = f"{winding_name} has {many} in step {tipping.step + 1}, as {share}"
            variants.append(Variant(float(tipping.layers - tipping.designed), tipping.share, moved, title))
    return sorted(variants, key=lambda variant: variant.amount or 0.0)


CAUSES = (
    Cause(
        name="layer",
        kind="layout",
        weight=OCCASIONAL,
        places=_places,
        variants=_variants,
        confirm="Open a part and count the layers of {where}, or measure its height as wound.",
        remedy="Give {where} room: fewer or thinner turns in a layer, or one more layer by design.",
        confusable=("insulation", "bunched", "scramble"),
        of_sound=True,
    ),
)
