"""The tests of a design that states none, in the file's own form."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Any


def usual_tests(windings: Sequence[str], *, laminated: bool) -> list[dict[str, Any]]:
    """The tests of a design that states none, as tables of the file format.

    L_<w> and R_<w> of every winding; Lk_<first> with all others shorted and, with three or more windings,
    Lk_<a>_<b> of every pair; n_<first>_<w>; C_<first>_<second> between the first two. Open tests at 10
    kHz, shorted ones and the capacitance at 100 kHz; laminated cores at 120 Hz and 1 kHz.

    Parameters
    ----------
    windings : Sequence[str], names of the windings
    laminated : bool, whether the core is laminated
    """
    open_at, shorted_at = ("120 Hz", "1 kHz") if laminated else ("10 kHz", "100 kHz")
    tests: list[dict[str, Any]] = []
    for winding in windings:
        tests.append(
            {"name": f"L_{winding}", "measure": "inductance", "drive": winding, "frequency": open_at}
        )
        tests.append({"name": f"R_{winding}", "measure": "resistance", "drive": winding})
    first, others = windings[:1], list(windings[1:])
    if others:
        tests.append(_leakage_test(f"Lk_{first[0]}", first[0], others, shorted_at))
    if len(others) > 1:
        pairs = combinations(windings, 2)
        tests += [
            _leakage_test(f"Lk_{driven}_{second}", driven, [second], shorted_at) for driven, second in pairs
        ]
    for second in others:
        tests.append(
            {
                "name": f"n_{first[0]}_{second}",
                "measure": "ratio",
                "drive": first[0],
                "sense": second,
                "frequency": open_at,
            }
        )
    if others:
        tests.append(
            {
                "name": f"C_{first[0]}_{others[0]}",
                "measure": "capacitance",
                "drive": first[0],
                "sense": others[0],
                "frequency": shorted_at,
            }
        )
    return _uniquely_named(tests)


def _leakage_test(test: str, drive: str, short: list[str], frequency: str) -> dict[str, Any]:
    return {"name": test, "measure": "inductance", "drive": drive, "short": short, "frequency": frequency}


def _uniquely_named(tests: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The tests with unique names: if windings such as A, B and A_B give a name twice, the later one gets an
    apostrophe."""
    seen: set[str] = set()
    for test in tests:
        while test["name"] in seen:
            test["name"] += "'"
        seen.add(test["name"])
    return tests
