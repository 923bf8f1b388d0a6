"""The ladder: designs of ordinary parts whose cost is watched, each with twelve tests, a resonance and a
capacitance among them.

``RUNGS`` maps a name to the text of its design file. The rungs "N layers" differ in the number of layers
only, so that the exponent of the cost against layers can be read off them.
"""

from __future__ import annotations

_TESTS = """
[[test]]
name = "L_P"
measure = "inductance"
drive = "P"
frequency = "{low}"
[[test]]
name = "L_S"
measure = "inductance"
drive = "S"
frequency = "{low}"
[[test]]
name = "n"
measure = "ratio"
drive = "P"
sense = "S"
frequency = "{low}"
[[test]]
name = "M"
measure = "mutual"
drive = "P"
sense = "S"
frequency = "{low}"
[[test]]
name = "Lk_P"
measure = "inductance"
drive = "P"
short = ["S"]
frequency = "{high}"
[[test]]
name = "Rs_P"
measure = "ac_resistance"
drive = "P"
short = ["S"]
frequency = "{high}"
[[test]]
name = "Lk_S"
measure = "inductance"
drive = "S"
short = ["P"]
frequency = "{high}"
[[test]]
name = "R_P"
measure = "resistance"
drive = "P"
[[test]]
name = "R_S"
measure = "resistance"
drive = "S"
[[test]]
name = "C"
measure = "capacitance"
drive = "P"
sense = "S"
frequency = "{low}"
[[test]]
name = "Q"
measure = "quality"
drive = "P"
frequency = "{low}"
[[test]]
name = "f0"
measure = "resonance"
drive = "P"
"""


def tests(low: str, high: str) -> str:
    return _TESTS.format(low=low, high=high)


def layered(layers: int) -> str:
    """A step-up transformer of so many layers of thin wire: half the primary, the secondary, the other half.

    72 turns in a layer; every layer full but the last of each step.
    """
    outside = max(1, round(layers / 4))
    inside = layers - 2 * outside
    return f"""
title = "{layers} layers"
[core]
material = "MnZn 2300"
gap = "0.3 mm"
[core.dimensions]
form = "E"
leg_width = "12 mm"
leg_depth = "20 mm"
window_width = "18 mm"
window_height = "20 mm"
outer_leg = "6 mm"
back = "6 mm"
[bobbin]
wall = "1 mm"
flange = "1 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.22 mm", grade = 1 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.22 mm", grade = 1 }}
[build]
steps = [
  {{ wind = "P", turns = {outside * 72 - 12} }},
  {{ tape = "0.06 mm", wraps = 3 }},
  {{ wind = "S", turns = {inside * 72 - 12} }},
  {{ tape = "0.06 mm", wraps = 3 }},
  {{ wind = "P", turns = {outside * 72 - 12} }},
  {{ tape = "0.06 mm", wraps = 2 }},
]
{tests("1 kHz", "20 kHz")}"""


def litz(strands: int = 120) -> str:
    """A resonant half bridge in litz on two chambers: 5 layers beside 4."""
    overall = 0.066 * strands**0.5  # mm
    return f"""
title = "Half bridge in litz, {strands} strands"
[core]
shape = "ETD 39/20/13"
material = "MnZn 2300"
gap = "0.8 mm"
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
chambers = 2
partition = "1.2 mm"
[[winding]]
name = "P"
wire = {{ litz_strands = {strands}, strand = "0.05 mm", overall = "{overall:.2f} mm" }}
[[winding]]
name = "S"
wire = {{ litz_strands = {strands}, strand = "0.05 mm", overall = "{overall:.2f} mm", in_hand = 2 }}
[build]
steps = [
  {{ wind = "P", turns = {int(5 * (11.2 / (1.02 * overall) - 1))}, chamber = 1, layers = 5 }},
  {{ tape = "0.06 mm", wraps = 2, chamber = 1 }},
  {{ wind = "S", turns = {int(4 * (5.6 / (1.02 * overall) - 1))}, chamber = 2, layers = 4 }},
  {{ tape = "0.06 mm", wraps = 2, chamber = 2 }},
]
{tests("10 kHz", "100 kHz")}"""


BIFILAR = f"""
title = "Bifilar pair of 300 turns"
[core]
shape = "ETD 34/17/11"
material = "MnZn 2300"
[bobbin]
wall = "1.1 mm"
flange = "1.1 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.20 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.20 mm", grade = 2 }}
[build]
steps = [
  {{ wind = "P", turns = 300, with = ["S"] }},
  {{ tape = "0.06 mm", wraps = 2 }},
]
{tests("10 kHz", "100 kHz")}"""

MAINS = f"""
title = "Mains transformer of 1450 turns"
[core]
shape = "EI 66"
material = "silicon steel NO 0.50"
stacking_factor = 0.95
[bobbin]
wall = "1.2 mm"
flange = "1.2 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.224 mm", grade = 1 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.80 mm", grade = 1 }}
[build]
steps = [
  {{ wind = "P", turns = 1340 }},
  {{ tape = "0.06 mm", wraps = 4 }},
  {{ wind = "S", turns = 110 }},
  {{ tape = "0.06 mm", wraps = 2 }},
]
{tests("50 Hz", "1 kHz")}"""

PLANAR = f"""
title = "Planar transformer of 20 tracks"
[core]
shape = "E 38/8/25"
material = "MnZn 2300"
[bobbin]
wall = "0.3 mm"
flange = "0.2 mm"
[[winding]]
name = "P"
wire = {{ trace = "0.070 mm", width = "1.9 mm", spacing = "0.3 mm" }}
[[winding]]
name = "S"
wire = {{ trace = "0.070 mm", width = "8.5 mm", spacing = "0.3 mm" }}
sections = "parallel"
[build]
direction = "up"
steps = [
{
    "".join(
        f'''  {{ wind = "{'P' if k % 2 else 'S'}", turns = {4 if k % 2 else 1} }},
  {{ spacer = "0.15 mm", permittivity = 4.4 }},
'''
        for k in range(20)
    )
}]
{tests("50 kHz", "200 kHz")}"""

RING = f"""
title = "Ring with few turns"
[core]
shape = "R 36/23/15"
material = "MnZn 5000"
[bobbin]
wall = "0.4 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.50 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.80 mm", grade = 2 }}
[build]
steps = [
  {{ wind = "P", turns = 60 }},
  {{ tape = "0.06 mm", wraps = 3 }},
  {{ wind = "S", turns = 12 }},
  {{ tape = "0.06 mm", wraps = 2 }},
]
{tests("10 kHz", "100 kHz")}"""

INTERLEAVED = f"""
title = "Four windings, interleaved"
[core]
shape = "ETD 49/25/16"
material = "MnZn 2300"
[bobbin]
wall = "1.4 mm"
flange = "1.4 mm"
[[winding]]
name = "P"
wire = {{ diameter = "0.50 mm", grade = 2 }}
[[winding]]
name = "S"
wire = {{ diameter = "0.80 mm", grade = 2, in_hand = 2 }}
sections = "parallel"
[[winding]]
name = "T"
wire = {{ diameter = "0.40 mm", grade = 2 }}
[[winding]]
name = "B"
wire = {{ diameter = "0.25 mm", grade = 2 }}
[build]
steps = [
  {{ wind = "P", turns = 52 }},
  {{ tape = "0.05 mm", wraps = 3 }},
  {{ wind = "S", turns = 13 }},
  {{ tape = "0.05 mm", wraps = 2 }},
  {{ wind = "T", turns = 30 }},
  {{ tape = "0.05 mm", wraps = 3 }},
  {{ wind = "P", turns = 52 }},
  {{ tape = "0.05 mm", wraps = 3 }},
  {{ wind = "S", turns = 13 }},
  {{ tape = "0.05 mm", wraps = 2 }},
  {{ wind = "B", turns = 8 }},
  {{ tape = "0.05 mm", wraps = 2 }},
]
{tests("10 kHz", "100 kHz")}"""

LAYERS = (3, 10, 20, 40, 60)
RUNGS = {
    **{f"{layers} layers": layered(layers) for layers in LAYERS},
    "litz 60": litz(60),
    "litz 200": litz(200),
    "bifilar": BIFILAR,
    "mains": MAINS,
    "planar": PLANAR,
    "ring": RING,
    "interleaved": INTERLEAVED,
}
"""Name of a rung → text of its design file."""
