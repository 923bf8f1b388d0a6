"""The same answer in every environment: hash seed, locale, folder, width, a reader that goes; and soon.

Of the small design with every run; of a sample, which has more to say, with --slow and in .ci/run.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import forked
import pytest
from how_many import and_slow
from small_design import SMALL, SMALL_READINGS

from aswound.cli.main import main

SAMPLES = Path(__file__).parents[2] / "samples"
FEW = ["--builds", "100"]
COMMANDS = {
    "predict": ["predict", "d.toml", *FEW],
    "plan": ["plan", "d.toml"],
    "compare": ["compare", "d.toml", "r.csv"],
    "explain": ["explain", "d.toml", "r.csv"],
    "lot": ["lot", "d.toml", "r.csv"],
    "check": ["check", "r.csv"],
    "sheet": ["sheet", "d.toml", *FEW],
    "sweep": ["sweep", "d.toml", *FEW, "--points", "10"],
    "netlist": ["netlist", "d.toml", "--to", "2 kHz"],
    "interleave": ["interleave", "d.toml", "--most", "5", "--builds", "0"],
    "cores": ["cores"],
    "schema": ["schema", "report"],
    "catalogue": ["materials", "--json"],
    "data": ["compare", "d.toml", "many.csv", "--json"],
    "keys": ["keys"],
}
PLAIN = {"PATH": os.environ["PATH"], "COLUMNS": "80", "LC_ALL": "C.UTF-8", "PYTHONHASHSEED": "0"}
if "PYTHONPYCACHEPREFIX" in os.environ:
    PLAIN["PYTHONPYCACHEPREFIX"] = os.environ["PYTHONPYCACHEPREFIX"]  # what was compiled once: see conftest


def _small(place: Path) -> Path:
    """The folder of the small design: two parts, and two hundred that miss."""
    place.mkdir()
    (place / "d.toml").write_text(SMALL, encoding="utf-8")
    (place / "r.csv").write_text(SMALL_READINGS, encoding="utf-8")
    wrong = [row for row in SMALL_READINGS.splitlines(keepends=True) if row.startswith("A2")]
    many = "".join(f"Q{number}{row[2:]}" for number in range(200) for row in wrong)
    (place / "many.csv").write_text(f"sample,test,reading\n{many}", encoding="utf-8")
    return place


def _folder(place: Path) -> Path:
    """The folder of a sample: two parts, and forty that miss."""
    place.mkdir()
    shutil.copy(SAMPLES / "flyback-24w.toml", place / "d.toml")
    rows = (SAMPLES / "flyback-24w.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    (place / "r.csv").write_text(
        "".join(row for row in rows if row.startswith(("sample", "A1", "A2"))), encoding="utf-8"
    )
    wrong = [row for row in rows if row.startswith("A2")]
    many = "".join(f"Q{number}{row[2:]}" for number in range(40) for row in wrong)
    (place / "many.csv").write_text(f"sample,test,reading\n{many}", encoding="utf-8")
    return place


def _run(arguments: list[str], folder: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "aswound", *arguments],
        cwd=folder,
        capture_output=True,
        check=False,
        env={**PLAIN, **environment},
    )


DESIGNS = {"small": _small, "sample": _folder}


@pytest.mark.parametrize(
    ("name", "which"),
    [
        ("explain", "small"),
        *and_slow(
            ("explain", "sample"), *((name, "small") for name in ("predict", "interleave", "lot", "netlist"))
        ),
    ],
)
def test_hash_seed_locale_and_folder_change_no_byte(name: str, which: str, tmp_path: Path) -> None:
    arguments = COMMANDS[name] + ([] if name == "netlist" else ["--json"])
    first = _run(arguments, DESIGNS[which](tmp_path / "one"))
    assert first.returncode in (0, 1), first.stderr
    again = _run(
        arguments,
        DESIGNS[which](tmp_path / "another folder, Ω"),
        PYTHONHASHSEED="12345",
        LC_ALL="C",
        LANG="de_DE.UTF-8",
        TZ="Asia/Tokyo",
        HOME=str(tmp_path),
        OMP_NUM_THREADS="7",
    )
    assert again.stdout == first.stdout
    assert (again.returncode, again.stderr) == (first.returncode, first.stderr)


@pytest.mark.parametrize("name", ["predict", *and_slow("lot", "netlist", "keys")])
def test_the_c_locale_shows_plain_stand_ins(name: str, tmp_path: Path) -> None:
    """ASCII alone, as Python does where its own switch to UTF-8 is off."""
    done = _run(COMMANDS[name], _small(tmp_path / "one"), LC_ALL="C", PYTHONCOERCECLOCALE="0", PYTHONUTF8="0")
    assert done.returncode in (0, 1), done.stderr
    text = done.stdout.decode("ascii")
    assert "\\u" not in text
    assert "?" not in text
    assert b"Traceback" not in done.stderr
    assert done.stderr.isascii()


@pytest.mark.parametrize("name", ["predict", "interleave", *and_slow("lot", "sheet", "keys")])
def test_any_number_of_columns(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Below 40 there is no room: then as in 80. Tables are not squeezed below 80; nothing else is wider than
    the page."""
    monkeypatch.chdir(_small(tmp_path / "one"))
    shown = {}
    for columns in (20, 40, 79, 80, 200, 999_999):
        monkeypatch.setenv("COLUMNS", str(columns))
        assert main(COMMANDS[name]) in (0, 1)
        shown[columns] = capsys.readouterr().out
        assert max(map(len, shown[columns].splitlines())) <= max(columns, 80), columns
    assert shown[20] == shown[80]


@pytest.mark.parametrize("name", ["compare", "catalogue", "schema", "data"])
def test_a_reader_that_takes_one_line(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """``| head -1``: first line, no message, the status of the verdict. Two of the outputs are larger than
    what a pipe holds."""
    folder = _small(tmp_path / "one")
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")
    verdict = main(COMMANDS[name])
    whole = capsys.readouterr()
    read, write = os.pipe()
    with open(os.devnull, "rb") as nothing, open(tmp_path / "said", "wb") as said:
        streams = (nothing.fileno(), write, said.fileno())
        begun = forked.Begun(COMMANDS[name], streams)
    os.close(write)
    with open(read, encoding="utf-8") as reader:
        first = reader.readline()
    assert first == whole.out.splitlines(keepends=True)[0]
    assert begun.wait() == verdict
    assert (tmp_path / "said").read_text(encoding="utf-8") == whole.err


SECONDS = 8.0


@pytest.mark.slow
@pytest.mark.parametrize("arguments", [["compare"], ["lot"]], ids=lambda arguments: arguments[0])
def test_two_thousand_samples(arguments: list[str], tmp_path: Path, watched: list[str]) -> None:
    """16 000 readings in 4 to 8 s of processor time."""
    folder = _folder(tmp_path / "one")
    head, *rows = (folder / "r.csv").read_text(encoding="utf-8").splitlines()
    sound = [row.partition(",")[2] for row in rows if row.startswith("A1")]
    with (folder / "r.csv").open("w", encoding="utf-8") as stream:
        stream.write(f"{head}\n" + "".join(f"P{k},{row}\n" for k in range(2000) for row in sound))
    command = [sys.executable, "-m", "aswound", *arguments, "d.toml", "r.csv", "--json"]
    done = subprocess.run([*watched, *command], cwd=folder, env=PLAIN, capture_output=True, check=False)
    assert done.returncode in (0, 1), done.stderr
    assert b"P1999" in done.stdout
    seconds, kilobytes = re.findall(rb"used ([\d.]+) (\d+)$", done.stderr)[0]
    assert float(seconds) < SECONDS
    assert int(kilobytes) < 1_000_000
