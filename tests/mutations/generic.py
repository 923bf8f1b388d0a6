"""Mistakes that nobody thought of: small changes of single tokens, drawn at random from whole rooms.

    python tests/mutations/generic.py compare predict/circuit predict/winding --sample 150 --seconds 1800

Each mutant runs the tests that import its module, else those of ROOM_TESTS. What survives is printed with its
line: mend it by a test, or argue in README.md why it is none. ``--json FILE`` keeps every result.
"""

from __future__ import annotations

import argparse
import ast
import json
import random
import re
import sys
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from trial import ROOT, copy_of_the_tree

ROOM_TESTS = {
    "compare/causes": ("tests/unit/test_causes.py",),
    "compare/consistency": ("tests/exact/test_consistency.py", "tests/exact/test_consistency_scores.py"),
    "compare/diagnosis": ("tests/exact/test_diagnosis_numbers.py", "tests/unit/test_scores.py"),
    "compare/hypotheses": ("tests/unit/test_interventions.py",),
    "compare/lots": ("tests/exact/test_lot_statistics.py", "tests/unit/test_shared_causes.py"),
    "compare/meter": ("tests/reference/test_meter.py", "tests/reference/test_budget.py"),
    "compare/plan": ("tests/unit/test_plan.py", "tests/unit/test_limits.py"),
    "compare/readings": ("tests/unit/test_readingsfile.py",),
    "compare/verdict": ("tests/exact/test_decision.py", "tests/unit/test_stages.py"),
    "predict/circuit": ("tests/property/test_network.py", "tests/exact/test_display.py"),
    "predict/winding": ("tests/exact/test_layout.py", "tests/exact/test_layout_places.py"),
}
"""Tests of a room, for modules that no test imports by themselves."""
OPERATORS = {ast.Add: "-", ast.Sub: "+", ast.Mult: "/", ast.Div: "*"}
COMPARISONS = {ast.Lt: ">=", ast.LtE: ">", ast.Gt: "<=", ast.GtE: "<", ast.Eq: "!=", ast.NotEq: "=="}
SWAPPED = {"min": "max", "max": "min", "minimum": "maximum", "maximum": "minimum", "any": "all", "all": "any"}


@dataclass(frozen=True)
class Mutant:
    """A change of one line. ``line``: its number from 1."""

    file: str
    line: int
    before: str
    after: str


def mutants_of(file: str) -> Iterator[Mutant]:
    """Every mutant of one module; constants in capitals are held by their page, and left out."""
    text = (ROOT / file).read_text(encoding="utf-8")
    lines = text.splitlines()
    for node in _living(ast.parse(text)):
        for place, old, new in _changes(node, lines):
            row, column = place
            raw = lines[row - 1].encode()
            changed = (raw[:column] + new.encode() + raw[column + len(old.encode()) :]).decode()
            if raw[column:].decode().startswith(old):
                yield Mutant(file, row, lines[row - 1], changed)


def _living(tree: ast.Module) -> Iterator[ast.AST]:
    """All nodes but sentences for people, annotations and constants of the module."""
    waiting: list[ast.AST] = [node for node in tree.body if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.JoinedStr | ast.Raise):
            continue
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Fault":
            continue
        yield node
        dead = {id(getattr(node, name, None)) for name in ("annotation", "returns")}
        waiting += [child for child in ast.iter_child_nodes(node) if id(child) not in dead]


def _changes(node: ast.AST, lines: list[str]) -> Iterator[tuple[tuple[int, int], str, str]]:
    """((line, byte in it), old text, new text)."""
    if isinstance(node, ast.Constant) and isinstance(node.value, int | float):
        old = lines[node.lineno - 1].encode()[node.col_offset : node.end_col_offset].decode()
        if isinstance(node.value, bool):
            yield (node.lineno, node.col_offset), old, str(not node.value)
        elif node.value == 0:
            yield (node.lineno, node.col_offset), old, "1"
        else:
            yield (node.lineno, node.col_offset), old, f"({old} * 2)"
    elif isinstance(node, ast.BinOp) and type(node.op) in OPERATORS:
        yield from _between(node.left, node.right, lines, r"[-+*/]", OPERATORS[type(node.op)])
    elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in COMPARISONS:
        yield from _between(
            node.left, node.comparators[0], lines, r"[<>=!]=?", COMPARISONS[type(node.ops[0])]
        )
    elif isinstance(node, ast.BoolOp):
        new = "or" if isinstance(node.op, ast.And) else "and"
        yield from _between(node.values[0], node.values[1], lines, r"\b(?:and|or)\b", new)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.USub):
        yield (node.lineno, node.col_offset), "-", "+"
    elif isinstance(node, ast.Call):
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        end = node.func.end_col_offset
        if name in SWAPPED and end is not None:
            yield (node.func.end_lineno or node.lineno, end - len(name)), name, SWAPPED[name]


def _between(
    left: ast.expr, right: ast.expr, lines: list[str], pattern: str, new: str
) -> Iterator[tuple[tuple[int, int], str, str]]:
    """The operator between two operands that stand on one line."""
    if left.end_lineno != right.lineno or left.end_col_offset is None:
        return
    gap = lines[right.lineno - 1].encode()[left.end_col_offset : right.col_offset].decode()
    found = re.search(pattern, gap)
    if found and len(found[0]) <= 3:
        yield (right.lineno, left.end_col_offset + len(gap[: found.start()].encode())), found[0], new


def tests_of(file: str) -> tuple[str, ...]:
    """The tests that import a module by itself, fewest first; else those of its room."""
    module = "aswound." + file.removesuffix(".py").replace("/", ".")
    room, _, name = module.rpartition(".")
    pattern = re.compile(rf"{re.escape(module)}\b|from {re.escape(room)} import [^\n]*\b{name}\b")
    own = [
        path
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        if pattern.search(path.read_text(encoding="utf-8"))
    ]
    found = [str(path.relative_to(ROOT)) for path in own][:2]
    rest = ROOM_TESTS.get(str(Path(file).parent), ())
    return tuple(dict.fromkeys([*found, *rest]))


def drawn(rooms: Sequence[str], sample: int, seed: int) -> list[Mutant]:
    """``sample`` mutants of all in the rooms."""
    files = sorted(
        str(path.relative_to(ROOT))
        for room in rooms
        for path in (ROOT / room).rglob("*.py")
        if path.name != "__init__.py"
    )
    every = [mutant for file in files for mutant in mutants_of(file)]
    return random.Random(seed).sample(every, min(sample, len(every)))


def main() -> int:
    parser = argparse.ArgumentParser(
        description="Single tokens changed at random, against the tests of a room."
    )
    parser.add_argument("rooms", nargs="+", help="folders, as compare or predict/circuit")
    parser.add_argument("--sample", type=int, default=150)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=1800.0, help="begin no further mutant after so long")
    parser.add_argument("--json", type=Path, help="a line of JSON for every mutant")
    given = parser.parse_args()
    begin, count, survivors = time.monotonic(), 0, 0
    with copy_of_the_tree() as copy:
        for one in drawn(given.rooms, given.sample, given.seed):
            if time.monotonic() - begin > given.seconds:
                break
            lines = (copy.folder / one.file).read_text(encoding="utf-8").splitlines(keepends=True)
            lines[one.line - 1] = one.after + "\n"
            with copy.with_text(one.file, "".join(lines)):
                outcome = copy.run(tests_of(one.file), limit=90.0)
            count += 1
            survivors += not outcome.noticed
            word = "noticed " if outcome.noticed else "SURVIVES"
            print(f"{word} {one.file}:{one.line} {one.before.strip()} → {one.after.strip()}", flush=True)
            if given.json:
                with given.json.open("a", encoding="utf-8") as file:
                    told = {**vars(one), "noticed": outcome.noticed, "first": outcome.first}
                    file.write(json.dumps({**told, "seconds": outcome.seconds}) + "\n")
    print(f"{count} mutants, {survivors} survive")
    return 1 if survivors else 0


if __name__ == "__main__":
    sys.exit(main())
