"""Causes in the conductors: wrong wire in one winding or off one reel, lost strands."""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from ...predict.copper import section_resistance
from ...predict.design import Design, FloatArray, Winding, first_build
from ...predict.notation import format_quantity
from ...predict.winding import layout_of
from .cause import (
    COMMON,
    OCCASIONAL,
    RARE,
    Cause,
    Variant,
    equally,
    evenly,
    same_layers,
    sized,
    ways_of_laying,
    winding_names,
    with_winding,
)

GAUGE_STEP = 92 ** (1 / 39)
"""Ratio of the diameters of neighbouring AWG sizes (ASTM B258)."""
WIRE_STEPS = {
    -4.0: 0.05,
    -3.0: 0.05,
    -2.0: 0.5,
    -1.5: 0.2,
    -1.0: 1.0,
    -0.5: 1.0,
    0.5: 1.0,
    1.0: 1.0,
    1.5: 0.2,
    2.0: 0.5,
    3.0: 0.05,
}
"""Gauge steps by which a wire is wrong, with prior weights; half a step is about one step of the metric
series, and many shops keep only the even gauges, two steps apart (judged on the steps of the metric series,
IEC 60317-0-1). Further off: another winding's reel, seldom thicker by more, which is seen as it is wound."""
FOIL_SIZES = np.array(
    [20, 25, 30, 35, 40, 50, 60, 70, 80, 100, 125, 150, 200, 250, 300, 400, 500, 600, 800, 1000]
) / 1e6  # fmt: skip
"""Thicknesses in which winding foil is commonly kept, m (common practice, no source)."""
COPPER_WEIGHTS = np.array([17.5, 35, 70, 105, 140, 210]) / 1e6
"""Thicknesses of the copper of boards, m: half an ounce to six (common practice, no source)."""
LOST_STRANDS = (0.03, 0.4)
"""Least and greatest part of the strands of a litz that is not soldered or broken (judged)."""
FOIL_STEPS = {-2: 0.2, -1: 1.0, 1: 1.0, 2: 0.2}
"""Sizes of ``FOIL_SIZES`` by which a foil is wrong, with prior weights (judged, like those of wire)."""
SAME_FOIL = 0.08
"""A thickness nearer than this to the one drawn is that one, relative: twice its usual tolerance (judged)."""
ALUMINIUM_FROM, HARDLY_ALUMINIUM = 1e-3, 0.3
"""Diameter (m) from which winding wire of aluminium is commonly made and soldered, and how likely it is
below, relative to above (judged: small magnetics are of copper; a wrong gauge is met far more often)."""
JOINT_PARTS = (0.05, 2.0)
"""Resistance of a bad joint as a fraction of its winding's (judged)."""


def _of_gauge(winding: Winding, ratio: float) -> Winding:
    """The winding with wire of another diameter under the same insulation."""
    wire = winding.wire
    diameter = wire.diameter * ratio
    grown = wire.overall * ratio if wire.litz else np.asarray(wire.overall) + diameter - wire.diameter
    return replace(winding, wire=replace(wire, diameter=float(diameter), overall=first_build(grown)))


def _gauges(design: Design, names: Sequence[str], who: str) -> list[Variant]:
    """Another gauge in all of these windings; ``who``: them with their verb, in words. A thicker wire that no
    longer fits its layers begins another one, or is pressed in."""
    nominal = first_build(design.winding(names[0]).wire.diameter)
    result = []
    for steps, weight in WIRE_STEPS.items():
        ratio = GAUGE_STEP**steps
        changed = design
        for name in names:
            changed = with_winding(changed, name, functools.partial(_of_gauge, ratio=ratio))
        word = "thicker" if ratio > 1 else "thinner"
        title = (
            f"{who} wound with {word} wire ({nominal * ratio * 1e3:.3g} mm instead of {nominal * 1e3:.3g} mm)"
        )
        tips = ratio > 1 and not same_layers(design, changed)
        laid = ways_of_laying(changed) if tips else (changed,)
        result += [Variant(ratio, weight / len(laid), way, title) for way in laid]
    return result


def _foil(design: Design, winding_name: str) -> list[Variant]:
    return _thicknesses(design, (winding_name,), FOIL_SIZES, f"{winding_name} is wound with {{}} foil")


def _track(design: Design, winding_name: str) -> list[Variant]:
    return _thicknesses(
        design, (winding_name,), COPPER_WEIGHTS, f"the tracks of {winding_name} are of {{}} copper"
    )


def _thicknesses(design: Design, names: Sequence[str], sizes: FloatArray, words: str) -> list[Variant]:
    """Another thickness of the series in all of these windings. ``words``: what is said of them, with a place
    for "thicker" or "thinner"."""
    nominal = first_build(design.winding(names[0]).wire.overall)
    series_below, series_above = (
        sizes[nominal * (1 - SAME_FOIL) > sizes],
        sizes[nominal * (1 + SAME_FOIL) < sizes],
    )
    result = []
    for step, weight in FOIL_STEPS.items():
        series, index = (series_below, step) if step < 0 else (series_above, step - 1)
        if abs(step) > len(series):
            continue
        thickness = float(series[index])

        def edit(winding: Winding, thickness: float = thickness) -> Winding:
            return replace(winding, wire=replace(winding.wire, overall=thickness))

        changed = design
        for name in names:
            changed = with_winding(changed, name, edit)
        word = words.format("thicker" if step > 0 else "thinner")
        title = f"{word} ({thickness * 1e3:.3g} mm instead of {nominal * 1e3:.3g} mm)"
        result.append(Variant(thickness / nominal, weight, changed, title))
    return result


def _wire(design: Design, winding_name: str) -> list[Variant]:
    return _gauges(design, (winding_name,), f"{winding_name} is")


def _reels(design: Design) -> tuple[str, ...]:
    """Windings of one wire, joined by "+": they come off the same reel, however many in hand. Tracks of one
    thickness come from the same board."""
    groups: dict[tuple[object, object], list[str]] = {}
    for winding in design.windings:
        if winding.wire.track:
            copper = first_build(winding.wire.overall)
            groups.setdefault((copper, str(winding.metal)), []).append(winding.name)
        elif not winding.wire.flat:
            bare = replace(winding.wire, in_hand=1, open_strands=0, label="", twisted=False, lay_factor=1.0)
            groups.setdefault((bare, str(winding.metal)), []).append(winding.name)
    return tuple("+".join(names) for names in groups.values() if len(names) > 1)


def _reel(design: Design, location: str) -> list[Variant]:
    names = location.split("+")
    together = "both" if len(names) == 2 else "all"
    who = f"{', '.join(names[:-1])} and {names[-1]}"
    if design.winding(names[0]).wire.track:
        return _thicknesses(
            design, names, COPPER_WEIGHTS, f"the tracks of {who} are {together} of {{}} copper"
        )
    return _gauges(design, names, f"{who} are {together}")


def _strand(design: Design, winding_name: str) -> list[Variant]:
    in_hand = design.winding(winding_name).wire.in_hand
    result = []
    for lost in (1, 2):
        if lost < in_hand:

            def edit(winding: Winding, lost: int = lost) -> Winding:
                return replace(winding, wire=replace(winding.wire, open_strands=lost))

            title = (
                f"{lost} of the {in_hand} wires in hand of {winding_name} "
                f"{'does' if lost == 1 else 'do'} not conduct"
            )
            changed = with_winding(design, winding_name, edit)
            result.append(Variant(float(lost), 3.0 if lost == 1 else 1.0, changed, title))
    return result


def _lost_title(design: Design, winding_name: str, lost: float) -> str:
    strands = design.winding(winding_name).wire.strands
    return f"{lost:.0f} of the {strands} strands of {winding_name} do not conduct"


def _lost_strands(design: Design, winding_name: str) -> list[Variant]:
    """Strands of litz that the solder has not reached, or that are broken."""
    strands = design.winding(winding_name).wire.strands
    counts = {max(round(part * strands), 1) for part in evenly(*LOST_STRANDS, 5, logarithmic=True)}

    def changed(lost: float) -> Design:
        left = strands - int(lost)
        return with_winding(
            design, winding_name, lambda winding: replace(winding, wire=replace(winding.wire, strands=left))
        )

    return sized(design, winding_name, equally(map(float, sorted(counts))), changed, _lost_title)


def _joint_title(design: Design, winding_name: str, extra: float) -> str:
    return f"a joint of {winding_name} has {format_quantity(extra, 'ohm', 3)} too much"


def _joint(design: Design, winding_name: str) -> list[Variant]:
    """Fractions of the winding's own resistance."""
    layout = layout_of(design)
    each = section_resistance(design, layout, 20.0)[0]
    resistances = [
        value for section, value in zip(layout.sections, each, strict=True) if section.winding == winding_name
    ]
    parallel = design.winding(winding_name).sections == "parallel"
    whole = float(sum(resistances)) / (len(resistances) ** 2 if parallel else 1)
    now = first_build(design.winding(winding_name).joint_resistance)

    def changed(extra: float) -> Design:
        return with_winding(
            design, winding_name, lambda winding: replace(winding, joint_resistance=now + extra)
        )

    sizes = equally(part * whole for part in evenly(*JOINT_PARTS, 7, logarithmic=True))
    return sized(design, winding_name, sizes, changed, _joint_title)


def _conductor(design: Design, winding_name: str) -> list[Variant]:
    now = design.winding(winding_name).metal
    other_metal = "copper" if now == "aluminium" else "aluminium"

    def edit(winding: Winding) -> Winding:
        return replace(winding, metal=other_metal)

    title = f"{winding_name} is wound with {other_metal} wire instead of {now}"
    return [Variant(None, 1.0, with_winding(design, winding_name, edit), title)]


def _thin(design: Design, name: str) -> bool:
    """Whether a winding is of a copper wire thinner than ``ALUMINIUM_FROM``."""
    winding = design.winding(name)
    return (
        winding.metal == "copper"
        and not winding.wire.flat
        and first_build(winding.wire.diameter) < ALUMINIUM_FROM
    )


_WIRE = Cause(
    name="wire",
    kind="copper",
    weight=COMMON,
    places=lambda design: tuple(winding.name for winding in design.windings if not winding.wire.flat),
    variants=_wire,
    confirm=(
        "Measure the bare diameter of {where} with a micrometer. If the other windings' "
        "resistances are off too, it is temperature."
    ),
    remedy="Check the reel's label and the diameter before winding {where}.",
    confusable=("strand", "temperature", "reel"),
)
_FOIL = replace(
    _WIRE,
    places=lambda design: tuple(winding.name for winding in design.windings if winding.wire.foil),
    variants=_foil,
    confirm=(
        "Measure the thickness of the foil of {where} with a micrometer. If the other windings' "
        "resistances are off too, it is temperature."
    ),
    remedy="Check the foil's label and thickness before winding {where}.",
)
"""The wrong wire of a winding of foil: its amount is the ratio of thicknesses."""
_TRACK = replace(
    _WIRE,
    places=lambda design: tuple(winding.name for winding in design.windings if winding.wire.track),
    variants=_track,
    confirm=(
        "Measure the copper of {where} in a section of the board, or weigh the board against the artwork. If "
        "the other windings' resistances are off too, it is the whole board's copper, or temperature."
    ),
    remedy="State the finished copper of every layer on the board's drawing, and measure it on a coupon.",
)
"""The wrong copper of a board in one winding: its amount is the ratio of thicknesses."""
_STRAND = Cause(
    name="strand",
    kind="copper",
    weight=OCCASIONAL,
    places=lambda design: tuple(winding.name for winding in design.windings if winding.wire.in_hand > 1),
    variants=_strand,
    exact=("resistance",),
    confirm=(
        "Tin the ends of {where} again and re-read its resistance; test each wire of the "
        "bundle for continuity."
    ),
    remedy=("Count the wires in hand of {where} at both pins and see that every one takes the solder."),
    confusable=("wire",),
)
_LITZ = replace(
    _STRAND,
    places=lambda design: tuple(
        winding.name for winding in design.windings if winding.wire.litz and winding.wire.in_hand == 1
    ),
    variants=_lost_strands,
    exact=(),
    confirm="Tin the ends of {where} again in a hot pot and re-read its resistance; look for broken strands.",
    remedy=(
        "Tin the litz of {where} in a pot hot enough for its enamel, along the whole joint, and read the "
        "resistance before the core goes in."
    ),
    confusable=("wire", "joint"),
    continuous=True,
    title=_lost_title,
)
"""Strands of a litz without contact: any number of them."""
_CONDUCTOR = Cause(
    name="conductor",
    kind="copper",
    weight=RARE,
    places=lambda design: tuple(
        winding.name
        for winding in design.windings
        if not winding.wire.track and not _thin(design, winding.name)
    ),
    variants=_conductor,
    exact=("resistance",),
    confirm="Weigh {where}, or scrape a wire end.",
    remedy="Check the reel's label before winding {where}.",
    confusable=("wire", "joint"),
)
"""The other metal: its resistance is an exact multiple, that of the resistivities."""

CAUSES = (
    _WIRE,
    _FOIL,
    _TRACK,
    Cause(
        name="reel",
        kind="copper",
        weight=OCCASIONAL,
        places=_reels,
        variants=_reel,
        confirm=(
            "Measure the bare diameter on each of {where} with a micrometer, and on the reel. If windings of "
            "other wire read off too, it is temperature."
        ),
        remedy="Check the label and the diameter of every reel when it comes to the machine.",
        confusable=("wire", "temperature", "mean-turn"),
    ),
    _STRAND,
    _LITZ,
    Cause(
        name="joint",
        kind="copper",
        weight=RARE,
        places=winding_names,
        variants=_joint,
        confirm=(
            "Move the ends of {where} while reading its resistance, and read it with the current reversed; "
            "solder again."
        ),
        remedy="Strip, wrap and solder the ends of {where} as the sheet says; look at every joint.",
        undone_by=(("soldered again", 0.0),),
        confusable=("wire", "strand", "leads"),
        continuous=True,
        title=_joint_title,
    ),
    _CONDUCTOR,
    replace(
        _CONDUCTOR,
        weight=RARE * HARDLY_ALUMINIUM,
        places=lambda design: tuple(
            winding.name for winding in design.windings if _thin(design, winding.name)
        ),
    ),
)
