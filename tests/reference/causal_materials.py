"""Tables of the generic ferrites in ``predict/data/materials.toml``: the nearest material that can exist.

    python tests/reference/causal_materials.py        # writes the tables of every ferrite again

The shape that data sheets of such grades show,

    μ'/μi = 1/√(1 + (f/f_r)⁴),      tan δ = t0 + (f/f_r)^1.5          (generic, common practice, no source),

is of no linear material: its loss rises without its permeability answering, which Kramers and Kronig forbid.
So the nearest sum of relaxations and of resonances (damping 0.15 and more) is taken, all of them
positive,

    μ/μi = Σ a/(1 + jf/f0) + Σ b/(1 − (f/f0)² + 2jζf/f0),             a, b ≥ 0, Σ a + Σ b = 1,

which a network of inductors, capacitors and resistors reads as well (non-negative least squares, relative in
μ' and, a fifth as heavy, in μ'').
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

FILE = Path(__file__).parents[2] / "predict" / "data" / "materials.toml"
SHAPES = {
    "MnZn 2000": (3e6, 0.002),
    "MnZn 2300": (2.5e6, 0.002),
    "MnZn 3000": (1.8e6, 0.002),
    "MnZn 5000": (0.8e6, 0.003),
    "MnZn 7000": (0.5e6, 0.004),
    "MnZn 10000": (0.3e6, 0.005),
    "NiZn 125": (60e6, 0.004),
    "NiZn 300": (20e6, 0.004),
    "NiZn 800": (5e6, 0.003),
}
"""f_r (Hz) and t0."""
ENDS = (1e-3, 3.0)
"""First and last frequency of a table, parts of f_r."""
A_DECADE = 12
DAMPING = (0.15, 0.25, 0.4, 0.7, 1.0)

Array = NDArray[np.float64]


def shape(frequency: Array, resonance: float, floor: float) -> tuple[Array, Array]:
    """(μ'/μi, tan δ) of the shape that data sheets show."""
    relative = frequency / resonance
    return 1 / np.sqrt(1 + relative**4), floor + relative**1.5


def terms(frequency: Array, low: float, high: float) -> NDArray[np.complex128]:
    """(f, terms) relaxations and resonances between and beyond the ends of the table, and a constant."""
    columns = [1 / (1 + 1j * frequency / at) for at in np.geomspace(low / 3, high * 8, 60)]
    columns += [
        1 / (1 - (frequency / at) ** 2 + 2j * damping * frequency / at)
        for at in np.geomspace(high / 30, high * 6, 40)
        for damping in DAMPING
    ]
    return np.array([*columns, np.ones_like(frequency) + 0j]).T


def table(resonance: float, floor: float) -> tuple[Array, Array, Array]:
    """(frequencies, μ'/μi, tan δ) of the nearest material, μ' from 1 on."""
    low, high = (end * resonance for end in ENDS)
    count = round(A_DECADE * np.log10(high / low)) + 1
    frequency = np.array([float(f"{value:.3g}") for value in np.geomspace(low, high, count)])
    real, tangent = shape(frequency, resonance, floor)
    columns = terms(frequency, low, high)
    matrix = np.vstack(
        [
            columns.real / real[:, None],
            -0.2 * columns.imag / (real * tangent)[:, None],
            50 * np.ones((1, columns.shape[1])),
        ]
    )
    wanted = np.concatenate([np.ones(count), np.full(count, 0.2), [50.0]])
    found = columns @ nnls(matrix, wanted)[0]
    return frequency, found.real / found.real[0], -found.imag / found.real


def written(frequency: float) -> str:
    """A frequency as the file has it."""
    return f'"{frequency / 1e6:.3g} MHz"' if frequency >= 0.9995e6 else f'"{frequency / 1e3:.3g} kHz"'


def main() -> None:
    """Write the tables into the file."""
    text = FILE.read_text(encoding="utf-8")
    for name, (resonance, floor) in SHAPES.items():
        frequency, real, tangent = table(resonance, floor)
        lines = {
            "frequencies": ", ".join(map(written, frequency)),
            "real_ratio": ", ".join(f"{value:.4g}" for value in real),
            "loss_tangent": ", ".join(f"{value:.3g}" for value in tangent),
        }
        begin = text.index(f'name = "{name}"')
        end = text.find("[[material]]", begin)
        block = text[begin:end]
        for key, values in lines.items():
            block = re.sub(rf"^{key} = \[.*\]$", f"{key} = [{values}]", block, flags=re.M)
        text = text[:begin] + block + text[end:]
    FILE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
