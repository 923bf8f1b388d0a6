"""Copper: turn lengths, direct-current resistance, and what alternating current adds in each layer.

Resistance: ρ(20 °C) = 1/58 µΩ m with 0.393 %/K (IEC 60028), aluminium 0.0282 µΩ m with 0.40 %/K (from
memory). Alternating current by the one-dimensional layer of Dowell (Proc. IEE 113, 1966) with porosity η,
in the exact form of a conducting sheet between the ampere-turns F_a and F_b of its two faces,

    Z = (α/(ησ b)) [(F_a² + F_b²) coth αt − 2 F_a F_b csch αt] l,     α = (1 + j) √(ω μ0 ησ/2)

less what the same layer has at low frequency (resistance (F_a − F_b)² l/(ησ b t), inductance μ0 l t (F_a²
+ F_a F_b + F_b²)/3b), which are counted elsewhere. Litz: loss of thin strands in the mean square field, π
ω² μ0² d⁴ σ H² l/64 for each (textbook).
"""

from __future__ import annotations

import math

import numpy as np

from .field import MU0
from .layers import Array, Layer, Layout
from .parts import Part

RESISTIVITY = {"copper": (1 / 58e6, 0.00393), "aluminium": (2.82e-8, 0.0040)}


def turn_length(part: Part, layer: Layer) -> float:
    """Length (m) of one turn of a layer: the leg's perimeter and a curve around it; on a ring around its
    section."""
    size, form = part.core.size, part.core.form
    middle = (layer.inner + layer.outer) / 2
    if form == "toroid":
        perimeter = 2 * size["height"] + size["outer_diameter"] - size["inner_diameter"]
        return (perimeter + 2 * math.pi * middle) * part.truth.mean_turn
    if part.direction == "up":
        middle = (layer.low + layer.high) / 2
    if "leg_diameter" in size:
        return (math.pi * size["leg_diameter"] + 2 * math.pi * middle) * part.truth.mean_turn
    corner = size.get("leg_corner", 0.0)
    perimeter = 2 * (size["leg_width"] + size["leg_depth"]) - (8 - 2 * math.pi) * corner
    return (perimeter + 2 * math.pi * middle) * part.truth.mean_turn


def resistivity(part: Part, layer: Layer, temperature: float) -> float:
    """Of the layer's metal at a temperature (°C), in ohm metre."""
    plain, coefficient = RESISTIVITY[part.winding(layer.winding).metal]
    return plain * part.truth.resistivity * (1 + coefficient * (temperature - 20))


def direct(part: Part, layout: Layout, temperature: float) -> Array:
    """(branches,) direct-current resistance of each section (ohm)."""
    result = np.zeros(len(layout.branches))
    for layer in layout.layers:
        length = turn_length(part, layer) * layer.turns * part.winding(layer.winding).wire.lay
        result[layer.branch] += resistivity(part, layer, temperature) * length / layer.metal
    return result


def alternating(part: Part, layout: Layout, omega: Array, share: float) -> Array:
    """(F, branches, branches) impedance that alternating current adds, complex (ohm): losses in the layers
    and the leakage that their screening takes away. share : of the ampere-turn drop at the inner wall."""
    count = len(layout.branches)
    result = np.zeros((len(omega), count, count), complex)
    temperature = part.bench.temperature + part.truth.warmer
    place = np.array([(layer.inner + layer.outer) / 2 for layer in layout.layers])
    for number, layer in enumerate(layout.layers):
        below = np.zeros(count)
        above = np.zeros(count)
        for other, one in enumerate(layout.layers):
            branch, turns = one.branch, one.turns
            common = min(one.high, layer.high) - max(one.low, layer.low)
            part_of = max(common, 0.0) / (one.high - one.low) if one.high > one.low else 1.0
            inside = part_of if part.core.form != "toroid" else 1.0
            if place[other] < place[number] - 1e-7:
                below[branch] += turns * inside
                above[branch] += turns * inside
            elif other == number or (abs(place[other] - place[number]) < 1e-7 and inside > 0.5):
                above[branch] += turns * (1.0 if other == number else inside)
        total = np.zeros(count)
        for one in layout.layers:
            total[one.branch] += one.turns
        Fa, Fb = share * total - below, share * total - above
        result += _layer(part, layer, omega, Fa, Fb, temperature)
    return result


def _layer(part: Part, layer: Layer, omega: Array, Fa: Array, Fb: Array, temperature: float) -> Array:
    conductivity = 1 / resistivity(part, layer, temperature)
    length = turn_length(part, layer)
    breadth = layer.high - layer.low
    squares = np.outer(Fa, Fa) + np.outer(Fb, Fb)
    mixed = np.outer(Fa, Fb) + np.outer(Fb, Fa)
    wire = layer.wire
    if wire.kind == "litz":
        strands = wire.strands * wire.in_hand * layer.turns
        field = (squares + mixed / 2) / (3 * breadth**2)
        loss = math.pi * (MU0 * omega) ** 2 * wire.copper**4 * conductivity * strands * length / 64
        return np.asarray(part.truth.alternating * loss[:, None, None] * field, complex)
    thick = layer.copper
    porosity = min(len(layer.centres) * layer.breadth / breadth, 1.0)
    sigma = porosity * conductivity
    alpha = (1 + 1j) * np.sqrt(omega * MU0 * sigma / 2)
    at = alpha * thick
    coth, csch = 1 / np.tanh(at), 1 / np.sinh(at)
    scale = (alpha / (sigma * breadth) * length)[:, None, None]
    whole = scale * (squares * coth[:, None, None] - mixed * csch[:, None, None])
    current = np.outer(Fa - Fb, Fa - Fb)
    static = 1j * omega[:, None, None] * MU0 * length * thick * (squares + mixed / 2) / (3 * breadth)
    added = whole - static - current * length / (sigma * breadth * thick)
    return np.asarray(part.truth.alternating * added.real + 1j * added.imag)
