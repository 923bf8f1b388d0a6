"""The product's own source, for the tests that look at every line of it: each module is read and parsed once.

What is parsed stays to the end: no look for cycles goes through it.
"""

from __future__ import annotations

import ast
import functools
import gc
from pathlib import Path

ROOT = Path(__file__).parents[2]


@functools.cache
def sources() -> dict[Path, str]:
    """Every module of predict/, compare/ and cli/ with its text."""
    paths = sorted(path for room in ("predict", "compare", "cli") for path in (ROOT / room).rglob("*.py"))
    return {path: path.read_text(encoding="utf-8") for path in paths}


@functools.cache
def parsed(text: str) -> ast.Module:
    collecting = gc.isenabled()
    gc.disable()
    try:
        return ast.parse(text)
    finally:
        gc.freeze()
        if collecting:
            gc.enable()


@functools.cache
def nodes_of(text: str) -> tuple[ast.AST, ...]:
    """Everything in a module."""
    return tuple(ast.walk(parsed(text)))
