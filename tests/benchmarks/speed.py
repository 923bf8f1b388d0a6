"""What every command costs, in CPU seconds of all its processes, on the ladder and the samples.

    python tests/benchmarks/speed.py                      every rung, every command
    python tests/benchmarks/speed.py "60 layers" mains    some rungs
    python tests/benchmarks/speed.py --compare COMMIT     the same beside a second checkout, in one run
    python tests/benchmarks/speed.py --ratios             rung over sample against BOUNDS; status 1 beyond one

The program is measured as pip leaves it, with its modules compiled, also where the shell forbids Python to
write bytecode (compiling them takes a third of a second of every command).

Figures of one machine at one time; what holds on any machine are the ratios of a rung to a sample and the
exponents: cost ~ layers^e (between neighbouring rungs), builds^e, samples^e, tests^e.
"""

from __future__ import annotations

import argparse
import math
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from time import process_time
from types import FrameType
from typing import Any

sys.path.insert(0, str(Path(__file__).parent))
from ladder import LAYERS, RUNGS, layered

ROOT = Path(__file__).parents[2]
SAMPLES = ("flyback-24w", "bridge-300w", "gate-drive")
COMMANDS = ("predict", "compare", "plan", "explain", "sheet", "report")
AIMS = {"predict": 3.0, "compare": 3.0, "plan": 3.0, "explain": 6.0, "sheet": 5.0, "report": 8.0}
"""CPU seconds that a rung should not exceed on the machine on which the issue was written."""
ONE_DESIGN = 10.0
"""Milliseconds of CPU that ``readings`` of one design should not exceed in a process that is under way."""
CALLS = {"flyback-24w": 5580, "bridge-300w": 6270, "gate-drive": 4640}
"""Calls of one design (``calls_of_one_design``) at most, 5 % above those counted."""
MEMORY = 500.0
"""MB that no command should exceed."""
BOUNDS = {"predict": 4.0, "compare": 4.0, "explain": 6.0, "sheet": 4.0}
"""A rung's CPU seconds over those of the dearest sample for the same command, at most: what ``--ratios``
holds."""
WATCHED = ("20 layers", "60 layers", "litz 200", "mains", "bifilar")
"""Rungs of ``--ratios``."""
AGAIN = 3
"""Times that a ratio beyond its bound is measured again before it counts."""


@dataclass(frozen=True)
class Cost:
    """CPU seconds (user and system, all processes) and the largest process's memory (MB); ``status`` of the
    command."""

    seconds: float
    memory: float
    status: int


def environment() -> dict[str, str]:
    """The environment of a command: this one, but for the order to write no bytecode."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}


def compiled(interpreter: Path) -> None:
    """Compile the modules of the program that ``interpreter`` runs, as its installation does."""
    code = (
        "import aswound, compileall, os\n"
        "for part in ('predict', 'compare', 'cli'):\n"
        "    compileall.compile_dir(os.path.join(aswound.__path__[0], part), quiet=2)"
    )
    subprocess.run([str(interpreter), "-c", code], check=True, env=environment())


def run(arguments: Sequence[str], folder: Path, interpreter: Path) -> Cost:
    """One command in its own process; its children count as far as it waits for them."""
    call = [
        str(interpreter),
        "-c",
        "import runpy; runpy.run_module('aswound', run_name='__main__')",
        *arguments,
    ]
    process = subprocess.Popen(
        call, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env=environment()
    )
    _, status, usage = os.wait4(process.pid, 0)
    process.returncode = os.waitstatus_to_exitcode(status)
    return Cost(usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024, process.returncode)


def written(name: str, text: str, folder: Path) -> Path:
    """The design of that text and readings of it, a leakage twice as large among them; the design's path."""
    from aswound.predict import parse_design, readings
    from aswound.predict.measures import MEASURE_UNITS

    path = folder / f"{name.replace(' ', '-')}.toml"
    path.write_text(text, encoding="utf-8")
    design = parse_design(text, name=path.name)
    rows = ["sample,test,reading"]
    rows += [
        f"{sample},{test.name},{value * (2.0 if test.short else 1.002) ** sample:.6g} "
        f"{MEASURE_UNITS[test.measure].replace('1', '')}"
        for sample in range(1, 2)
        for test, value in zip(design.tests, readings(design).tolist(), strict=True)
    ]
    path.with_suffix(".csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    return path


def _not_known(design: Any, number: int) -> Any:
    """The design with another error of the bench's temperature and another wall: nothing is known of it."""
    bench = replace(design.bench, temperature_error=1e-6 * (number + 1))
    return replace(
        design,
        bench=bench,
        bobbin=replace(design.bobbin, wall=float(design.bobbin.wall) * (1 + 1e-9 * number)),
    )


def one_design(text: str, times: int = 9) -> float:
    """Milliseconds of CPU that the readings of a design cost a process that is under way: the least of
    ``times`` designs that nothing is known of yet."""
    from aswound.predict import parse_design, readings

    design = parse_design(text)
    found = []
    for number in range(times + 1):
        unknown = _not_known(design, number)
        begin = process_time()
        readings(unknown)
        found.append(1e3 * (process_time() - begin))
    return min(found[1:])


def calls_of_one_design(text: str) -> int:
    """Calls that our own functions make for the readings of a design that nothing is known of, to each other
    and to the libraries: the same whatever else the machine does, and 0.9 to 1.3 µs each."""
    from aswound import predict
    from aswound.predict import parse_design, readings

    home, made = os.path.dirname(predict.__file__), 0

    def count(frame: FrameType | None, event: str, _: object) -> None:
        nonlocal made
        if event == "call" and frame is not None:
            frame = None if frame.f_code.co_name.endswith("comp>") else frame.f_back
        if event in ("call", "c_call") and frame is not None:
            made += frame.f_code.co_filename.startswith(home)

    design = parse_design(text)
    readings(_not_known(design, 101))
    unknown = _not_known(design, 102)
    before = sys.getprofile()
    sys.setprofile(count)
    try:
        readings(unknown)
    finally:
        sys.setprofile(before)
    return made


def call_of(command: str, design: Path) -> list[str]:
    """The command line of a command on a design of ``written``."""
    call = [command, design.name]
    if command in ("compare", "explain", "report"):
        call.append(design.with_suffix(".csv").name)
    if command in ("sheet", "report"):
        call += ["-o", f"{design.stem}-{command}.html", "--force"]
    return call


def exponents(measured: Callable[[str, Path, Sequence[str]], float], folder: Path) -> list[tuple[str, float]]:
    """(what, exponent) of predict against layers and builds, of predict against tests, of explain against
    samples, start-up taken off."""
    text = layered(20)
    design = written("exponents", text, folder)
    start = measured("predict", design, ["--builds", "2"])
    few, many = (measured("predict", design, ["--builds", str(number)]) for number in (2000, 16_000))
    found = [("predict against builds, 2000 to 16 000", _exponent(few - start, many - start, 8.0))]
    rows = design.with_suffix(".csv").read_text(encoding="utf-8").splitlines()
    one = measured("explain", design, [])
    several = [rows[0]] + [f"{k}{row[1:]}" for k in range(1, 9) for row in rows[1:]]
    design.with_suffix(".csv").write_text("\n".join(several) + "\n", encoding="utf-8")
    found.append(("explain against samples, 1 to 8", _exponent(one, measured("explain", design, []), 8.0)))
    half = text.split("[[test]]")
    fewer = written("fewer", "[[test]]".join(half[:7]), folder)
    found.append(("predict against tests, 6 to 12", _exponent(measured("predict", fewer, []), few, 2.0)))
    return found


def _exponent(small: float, large: float, factor: float) -> float:
    return math.log(max(large, 1e-3) / max(small, 1e-3)) / math.log(factor)


def checkout(commit: str, folder: Path) -> Path:
    """A second checkout of ``commit`` with an environment of its own; its interpreter."""
    tree = folder / "other"
    subprocess.run(["git", "clone", "--quiet", str(ROOT), str(tree)], check=True)
    subprocess.run(["git", "checkout", "--quiet", commit], cwd=tree, check=True)
    subprocess.run([sys.executable, "-m", "venv", "--system-site-packages", str(folder / "env")], check=True)
    interpreter = folder / "env" / "bin" / "python"
    subprocess.run([str(interpreter), "-m", "pip", "install", "--quiet", str(tree)], check=True)
    return interpreter


def table(names: Sequence[str], interpreters: Sequence[Path], folder: Path) -> dict[tuple[str, str], float]:
    """Print CPU seconds (and the worst memory, MB) of every command on designs by name, of every interpreter
    side by side, and the milliseconds of ``one_design`` in this process; those of the first interpreter by
    (name, command)."""
    for interpreter in interpreters:
        compiled(interpreter)
    print(
        f"{'':<14}"
        + "".join(f"{command:>{10 * len(interpreters)}}" for command in COMMANDS)
        + "    MB     ms"
    )
    result: dict[tuple[str, str], float] = {}
    for name in names:
        sample = ROOT / "samples" / f"{name}.toml"
        design = folder / sample.name if name in SAMPLES else written(name, RUNGS[name], folder)
        if name in SAMPLES:
            for kind in (".toml", ".csv"):
                target = design.with_suffix(kind)
                target.write_bytes(sample.with_suffix(kind).read_bytes())
        line, memory = f"{name:<14}", 0.0
        for command in COMMANDS:
            for number, interpreter in enumerate(interpreters):
                cost = run(call_of(command, design), folder, interpreter)
                failed = cost.status not in (0, 1)
                line += f"{'status ' + str(cost.status) if failed else f'{cost.seconds:.2f}':>10}"
                if number == 0:
                    result[name, command] = cost.seconds
                    memory = max(memory, cost.memory)
        alone = one_design(design.read_text(encoding="utf-8"))
        result[name, "one design"] = alone
        print(f"{line} {memory:5.0f} {alone:6.1f}", flush=True)
    return result


def ratios(folder: Path) -> int:
    """Print every watched rung over the dearest sample; 1 where one exceeds its bound, else 0.

    A ratio beyond its bound is measured again, ``AGAIN`` times at most, rung and sample one after the other,
    and the least cost of each counts: what other work on the machine adds does not fail a ratio, what the
    command itself costs does, every time.
    """
    here = Path(sys.executable)
    found = table([*SAMPLES, *WATCHED], [here], folder)

    def once_more(name: str, command: str) -> None:
        cost = run(call_of(command, folder / f"{name.replace(' ', '-')}.toml"), folder, here)
        found[name, command] = min(found[name, command], cost.seconds)

    beyond = [
        (rung, command)
        for command in BOUNDS
        for rung in WATCHED
        if not _held(found, rung, command, once_more)
    ]
    for rung, command in beyond:
        ratio = _ratio(found, rung, command)
        print(f"{command} on {rung}: {ratio:.1f} times the dearest sample, bound {BOUNDS[command]:g}")
    print("Every ratio within its bound." if not beyond else "A ratio is beyond its bound.")
    return int(bool(beyond))


def _dearest(found: Mapping[tuple[str, str], float], command: str) -> str:
    return max(SAMPLES, key=lambda name: found[name, command])


def _ratio(found: Mapping[tuple[str, str], float], rung: str, command: str) -> float:
    return found[rung, command] / found[_dearest(found, command), command]


def _held(
    found: Mapping[tuple[str, str], float], rung: str, command: str, once_more: Callable[[str, str], None]
) -> bool:
    """Whether a ratio keeps to its bound, at once or when both are measured again (``once_more`` lowers
    ``found``)."""
    for _ in range(AGAIN):
        if _ratio(found, rung, command) <= BOUNDS[command]:
            return True
        once_more(rung, command)
        once_more(_dearest(found, command), command)
    return _ratio(found, rung, command) <= BOUNDS[command]


def main() -> int:
    """Print the figures asked for; the exit status."""
    parser = argparse.ArgumentParser(description="What every command costs, in CPU seconds.")
    parser.add_argument("names", nargs="*", help="rungs or samples; none: all of them")
    parser.add_argument("--compare", metavar="COMMIT", help="a second checkout beside this one")
    parser.add_argument("--ratios", action="store_true", help="hold rung over sample to its bounds")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        if asked.ratios:
            return ratios(folder)
        interpreters = [Path(sys.executable)]
        if asked.compare:
            interpreters.append(checkout(asked.compare, folder))
        found = table(asked.names or [*SAMPLES, *RUNGS], interpreters, folder)
        if asked.names:
            return 0
        for small, large in pairwise(LAYERS):
            for command in ("predict", "explain"):
                pair = (found[f"{number} layers", command] for number in (small, large))
                value = _exponent(*pair, large / small)
                print(f"{command} against layers, {small} to {large}: exponent {value:.2f}")

        def measured(command: str, design: Path, more: Sequence[str]) -> float:
            return run([*call_of(command, design), *more], folder, interpreters[0]).seconds

        for what, value in exponents(measured, folder):
            print(f"{what}: exponent {value:.2f}")
        aims = {**AIMS, "one design": ONE_DESIGN}
        over = [f"{command} on {name}" for (name, command), spent in found.items() if spent > aims[command]]
        print("Beyond the aims here: " + ", ".join(over) if over else "All within the aims.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
