"""What all tests share: one thread for small matrices, hypothesis that draws the same examples every time in
continuous integration, tests that only it runs, one folder for the compiled modules of the processes that
tests start, the order of the files, what they cost."""

from __future__ import annotations

import contextlib
import gc
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

for library in ("OPENBLAS", "OMP", "MKL"):
    os.environ.setdefault(f"{library}_NUM_THREADS", "1")

import pytest  # noqa: E402
from cost_of_tests import Cost  # noqa: E402
from how_many import SLOW, examples  # noqa: E402
from hypothesis import HealthCheck, settings  # noqa: E402
from sample_pages import Sheets, report  # noqa: E402
from xdist.scheduler import LoadFileScheduling  # noqa: E402


def examples_of_laws() -> None:
    """A busy machine breaks no law; the integration draws the same examples every time."""
    settings.register_profile("here", deadline=None, max_examples=examples(100))
    settings.register_profile(
        "integration",
        settings.get_profile("here"),
        derandomize=True,
        print_blob=True,
        suppress_health_check=[HealthCheck.too_slow],
    )
    settings.load_profile("integration" if os.environ.get("CI") else "here")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--slow", action="store_true", help="run the tests marked slow as well, as .ci/run does")


def pytest_configure(config: pytest.Config) -> None:
    """Compile once what every process started by a test imports, wherever the tree may not be written; look
    for cycles as rarely as the commands do."""
    gc.set_threshold(20_000)
    if "PYTHONPYCACHEPREFIX" not in os.environ and os.environ.pop("PYTHONDONTWRITEBYTECODE", ""):
        os.environ["PYTHONPYCACHEPREFIX"] = folder = tempfile.mkdtemp(prefix="compiled-")
        config.add_cleanup(lambda: shutil.rmtree(folder, ignore_errors=True))
    if slow_too(config):
        os.environ[SLOW] = "1"
    examples_of_laws()
    config.pluginmanager.register(Cost(config, whole=whole(config)))
    if hasattr(config.option, "loadscopereorder"):
        config.option.loadscopereorder = False  # workers take files in the order below


def slow_too(config: pytest.Config) -> bool:
    """Whether the tests marked slow run."""
    return bool(config.getoption("--slow") or os.environ.get("CI"))


def whole(config: pytest.Config) -> bool:
    """Whether the whole suite runs: no files, words or marks were asked for."""
    asked = config.option.keyword or config.option.markexpr
    return config.args_source == pytest.Config.ArgsSource.TESTPATHS and not asked


DEAREST = (
    "fuzz/test_fuzz.py",
    "cli/test_report.py",
    "cli/test_schema.py",
    "cli/test_views_hold_the_data.py",
    "regression/test_output.py",
    "unit/test_sound_parts.py",
    "reference/test_error_sizes.py",
    "unit/test_recipes.py",
    "cli/test_sheet.py",
    "unit/test_names.py",
    "unit/test_causes.py",
    "cli/test_same_everywhere.py",
    "cli/test_statuses.py",
    "property/test_adjustments.py",
    "unit/test_shared_causes.py",
    "unit/test_designfile_faults.py",
    "unit/test_plan.py",
    "property/test_network.py",
    "exact/test_production.py",
    "reference/test_netlist.py",
    "exact/test_arrangement_builds.py",
    "cli/test_interleave.py",
)
"""Files of some seconds and more, in this order before the others: two workers end at the same time."""


TOGETHER = {
    "source": (
        "unit/test_constants.py",
        "unit/test_docstrings.py",
        "unit/test_forms.py",
        "unit/test_mutations.py",
        "unit/test_names.py",
        "unit/test_rooms.py",
    ),
    "sheets": ("cli/test_sheet.py", "regression/test_sheet.py"),
    "flyback": (
        "cli/test_commands.py",
        "cli/test_fixture.py",
        "cli/test_lot.py",
        "cli/test_one_sample.py",
        "cli/test_report.py",
        "cli/test_schema.py",
        "cli/test_views_hold_the_data.py",
        "regression/test_output.py",
        "unit/test_fault_coverage.py",
        "unit/test_next_test.py",
        "unit/test_sound_parts.py",
    ),
}
"""Files that one worker takes together: the product's source is parsed once (``product_source``), the pages
of a sample are made once (``sample_pages``), its forward runs are remembered from file to file."""


class Files(LoadFileScheduling):
    """Workers by files, and by what stands ``TOGETHER``."""

    def _split_scope(self, nodeid: str) -> str:
        file = super()._split_scope(nodeid)
        name = file.removeprefix("tests/")
        return next((scope for scope, files in TOGETHER.items() if name in files), file)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> LoadFileScheduling | None:
    return Files(config, log) if config.getoption("dist") == "loadfile" else None


def pytest_collectstart(collector: pytest.Collector) -> None:
    """Every second worker imports the files from the last to the first, so that each worker compiles those
    that the other has not yet come to."""
    worker = getattr(collector.config, "workerinput", {}).get("workerid", "gw0")
    if isinstance(collector, pytest.Session) and whole(collector.config) and int(worker[2:]) % 2:
        for path in sorted(Path(__file__).parent.rglob("test_*.py"), reverse=True):
            with contextlib.suppress(Exception):  # what is wrong with it is told when it is collected
                _ = pytest.Module.from_parent(collector, path=path).obj


def pytest_collection_finish() -> None:
    """What was loaded stays to the end: no look for cycles goes through it again."""
    gc.collect()
    gc.freeze()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    places = {f"tests/{name}": place for place, name in enumerate(DEAREST)}
    items.sort(key=lambda item: places.get(item.location[0], len(places)))
    if slow_too(config):
        return
    for item in items:
        if item.get_closest_marker("slow"):
            item.add_marker(pytest.mark.skip(reason="slow: --slow or .ci/run"))


@pytest.fixture(scope="session")
def sheets(tmp_path_factory: pytest.TempPathFactory) -> Sheets:
    return Sheets(tmp_path_factory.mktemp("sheets"))


@pytest.fixture(scope="session")
def flyback_report(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    return report(tmp_path_factory.mktemp("report"))


WATCHED = """
import resource, subprocess, sys
status = subprocess.run(sys.argv[1:]).returncode
used = resource.getrusage(resource.RUSAGE_CHILDREN)
sys.stderr.write(f"used {used.ru_utime + used.ru_stime} {used.ru_maxrss}")
sys.exit(status)
"""
"""A small process between: what a large process starts begins with the memory of the large one."""


@pytest.fixture
def watched() -> list[str]:
    """Words before a command: it ends its error stream with "used", its CPU seconds and its memory in kB."""
    return [sys.executable, "-c", WATCHED]
