"""The order of the sections: interleaving lost, neighbours exchanged, a pair not wound together."""

from __future__ import annotations

import itertools
from dataclasses import replace

from ...predict.design import Design, WindStep, first_build
from .cause import COMMON, Cause, Variant


def _sequence(design: Design) -> list[WindStep]:
    return [step for step in design.build.steps if isinstance(step, WindStep)]


def _reordered(design: Design, order: tuple[int, ...]) -> Design:
    """The wind steps in another order; each keeps its wire and turns, while the place (breadth, ends,
    margins) stays."""
    wound = _sequence(design)
    slots = iter(order)
    ordered: list[WindStep] = []
    steps = []
    for step in design.build.steps:
        if isinstance(step, WindStep):
            moved = wound[next(slots)]
            step = replace(
                moved,
                breadth=step.breadth,
                from_end=step.from_end,
                margin=step.margin,
                beside=step.beside,
                shift=step.shift,
                chamber=step.chamber,
                leg=step.leg,
                sector=step.sector,
                from_angle=step.from_angle,
            )
            ordered.append(step)
        steps.append(step)
    return replace(design, build=replace(design.build, steps=tuple(steps)))


def _orders(design: Design) -> list[tuple[int, ...]]:
    """Other orders of the sections: every grouping by winding (interleaving lost), every exchange of
    neighbours."""
    wound = _sequence(design)
    names = list(dict.fromkeys(step.winding for step in wound))
    candidates = [
        tuple(index for name in grouping for index, step in enumerate(wound) if step.winding == name)
        for grouping in itertools.islice(itertools.permutations(names), 24)
    ]
    for index in range(len(wound) - 1):
        swapped = list(range(len(wound)))
        swapped[index], swapped[index + 1] = swapped[index + 1], swapped[index]
        candidates.append(tuple(swapped))

    def signature(order: tuple[int, ...]) -> tuple[tuple[tuple[str, float], ...], ...]:
        """What lies on each leg or sector in which order; those that are exchanged as a whole are the same
        part."""
        heaps: dict[tuple[int, float, float | None], list[tuple[str, float]]] = {}
        for slot, index in zip(wound, order, strict=True):
            place = slot.leg, slot.from_angle, slot.sector
            heaps.setdefault(place, []).append((wound[index].winding, first_build(wound[index].turns)))
        return tuple(sorted(map(tuple, heaps.values())))

    seen = {signature(tuple(range(len(wound))))}
    result = []
    for order in candidates:
        if signature(order) not in seen:
            seen.add(signature(order))
            result.append(order)
    return result


def _order_place(design: Design) -> tuple[str, ...]:
    wound = _sequence(design)
    if not _orders(design) and not any(step.companions for step in wound):
        return ()
    split = [step.winding for step in wound if sum(laid.winding == step.winding for laid in wound) > 1]
    return (split[0] if split else wound[0].winding,)


def _apart(design: Design) -> list[Variant]:
    """Windings drawn as wound together, wound one on the other instead; either may lie below."""
    result = []
    for number, step in enumerate(design.build.steps):
        if not isinstance(step, WindStep) or not step.companions:
            continue
        alone = replace(step, companions=(), miscount=(), layers=None)
        steps = design.build.steps
        for names in (step.windings, step.windings[::-1]):
            parts = (replace(alone, winding=name) for name in names)
            changed = replace(design.build, steps=(*steps[:number], *parts, *steps[number + 1 :]))
            title = f"{' and '.join(names)} were wound one on the other, not together turn by turn"
            result.append(Variant(None, 1.0, replace(design, build=changed), title))
    return result


def _order(design: Design, location: str) -> list[Variant]:
    wound = _sequence(design)
    planned = " ".join(step.winding for step in wound)
    return _apart(design) + [
        Variant(
            None,
            1.0,
            _reordered(design, order),
            "the sections were wound in the order "
            f"{' '.join(wound[index].winding for index in order)} instead of {planned}",
        )
        for order in _orders(design)
    ]


CAUSE = Cause(
    name="order",
    kind="layout",
    weight=COMMON,
    places=_order_place,
    variants=_order,
    confirm=(
        "Read the capacitance between the windings: it follows the number of faces where they meet; compare "
        "the resistances of inner and outer sections; cut one part open."
    ),
    remedy=(
        "Put a drawing of the layers in winding order on the sheet, and check the first part by its section."
    ),
    confusable=("bunched", "insulation", "short-link"),
)
