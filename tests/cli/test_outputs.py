"""Files that commands write: never over another without --force, never over an input, whole or not at all."""

from __future__ import annotations

import errno
import os
import shutil
from pathlib import Path
from typing import Any

import forked
import pytest
from how_many import and_slow
from small_design import SMALL, SMALL_READINGS

from aswound.cli.main import main
from aswound.cli.written import check_free, write_whole

SAMPLES = Path(__file__).parents[2] / "samples"
FEW = ["--builds", "100"]
INTERLEAVE = ["--most", "5", "--builds", "0"]


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a design, its readings and a file that somebody wants to keep."""
    (tmp_path / "d.toml").write_text(SMALL, encoding="utf-8")
    (tmp_path / "r.csv").write_text(SMALL_READINGS, encoding="utf-8")
    for kept in ("kept.svg", "kept.cir", "kept.html", "kept.toml"):
        (tmp_path / kept).write_text("mine\n", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


WRITING = {
    "netlist": (["netlist", "d.toml", "--to", "2 kHz", "-o"], "kept.cir"),
    "predict": (["predict", "d.toml", *FEW, "--draw"], "kept.svg"),
    "sweep": (["sweep", "d.toml", *FEW, "--points", "10", "-o"], "kept.svg"),
    "interleave-draw": (["interleave", "d.toml", *INTERLEAVE, "--draw"], "kept.svg"),
    "interleave-write": (["interleave", "d.toml", *INTERLEAVE, "--pick", "1", "--write"], "kept.toml"),
    "sheet": (["sheet", "d.toml", *FEW, "-o"], "kept.html"),
    "report": (["report", "d.toml", *FEW, "-o"], "kept.html"),
}


DEAR = ("report", "sheet")
"""Written in the same way as the others; with --slow and in .ci/run."""


@pytest.mark.parametrize("name", WRITING)
def test_a_file_that_exists_is_kept_without_force(
    name: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments, kept = WRITING[name]
    assert main([*arguments, kept]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "a file that exists" in shown.err
    assert "--force" in shown.err
    assert (folder / kept).read_text("utf-8") == "mine\n"


@pytest.mark.parametrize("name", ["predict", *and_slow(*(name for name in WRITING if name != "predict"))])
def test_a_file_that_appears_meanwhile_is_kept(
    name: str, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The name was free when the command began; somebody else has taken it when it writes."""
    arguments, kept = WRITING[name]
    new = folder / f"new{Path(kept).suffix}"

    def looked_at(file: Path, *rest: Any, **more: Any) -> None:
        check_free(file, *rest, **more)
        new.write_text("somebody else's", encoding="utf-8")

    monkeypatch.setattr("aswound.cli.written.check_free", looked_at)
    assert main([*arguments, new.name]) == 2
    assert "a file that exists" in capsys.readouterr().err
    assert new.read_text("utf-8") == "somebody else's"


@pytest.mark.parametrize("name", [*(name for name in WRITING if name not in DEAR), *and_slow(*DEAR)])
def test_force_replaces_and_leaves_no_draft(
    name: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments, kept = WRITING[name]
    before = sorted(os.listdir(folder))
    assert main([*arguments, kept, "--force"]) == 0
    capsys.readouterr()
    assert (folder / kept).read_text("utf-8") != "mine\n"
    assert sorted(os.listdir(folder)) == before


LINKED = {
    "netlist": "linked.cir",
    "predict": "linked.svg",
    "sweep": "linked.svg",
    "interleave-draw": "linked.svg",
    "interleave-write": "d.toml",
    "sheet": "linked.html",
    "report": "linked.html",
}


@pytest.mark.parametrize("hard", [False, True])
@pytest.mark.parametrize("name", WRITING)
def test_an_input_is_never_written_even_by_another_name(
    name: str, hard: bool, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments, _ = WRITING[name]
    output = LINKED[name]
    before = (folder / "d.toml").read_bytes()
    if output != "d.toml":
        (os.link if hard else os.symlink)("d.toml", output)
    assert main([*arguments, output, "--force"]) == 2
    assert "which this command reads" in " ".join(capsys.readouterr().err.split())
    assert (folder / "d.toml").read_bytes() == before


@pytest.mark.parametrize(
    "arguments",
    [
        ["netlist", "d.toml", "-o", "d.toml", "--force"],
        ["report", "d.toml", "r.csv", *FEW, "-o", "r.csv", "--force"],
        ["compare", "d.toml", "r.csv", "--learn", "-o", "r.csv"],
        ["enter", "d.toml", "-o", "d.toml"],
        ["sweep", "d.toml", "--measured", "r.svg", "-o", "r.svg", "--force"],
    ],
)
def test_neither_is_the_input_itself(
    arguments: list[str], folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.copy("r.csv", "r.svg")
    before = {name: (folder / name).read_bytes() for name in os.listdir(folder)}
    assert main(arguments) == 2
    assert "which this command reads" in " ".join(capsys.readouterr().err.split())
    assert {name: (folder / name).read_bytes() for name in os.listdir(folder)} == before


def test_a_catalogue_that_the_design_names_is_an_input(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    own = folder / "own.svg"
    own.write_text("", encoding="utf-8")
    design = folder / "d.toml"
    design.write_text('catalogue = ["own.svg"]\n' + design.read_text("utf-8"), encoding="utf-8")
    assert main(["predict", "d.toml", *FEW, "--draw", "own.svg", "--force"]) == 2
    assert "which this command reads" in " ".join(capsys.readouterr().err.split())
    assert own.read_bytes() == b""


def test_a_link_stays_a_link_and_keeps_the_mode(tmp_path: Path) -> None:
    real, link = tmp_path / "real.toml", tmp_path / "link.toml"
    real.write_text("old\n", encoding="utf-8")
    real.chmod(0o640)
    link.symlink_to("real.toml")
    write_whole(link, "new\n", over=True)
    assert link.is_symlink()
    assert real.read_text("utf-8") == "new\n"
    assert real.stat().st_mode & 0o777 == 0o640
    assert sorted(os.listdir(tmp_path)) == ["link.toml", "real.toml"]


def test_learning_into_the_design_through_a_link(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "link.toml").symlink_to("d.toml")
    main(["compare", "link.toml", "r.csv", "--learn", "-o", "link.toml"])
    capsys.readouterr()
    assert (folder / "link.toml").is_symlink()
    assert "[calibration]" in (folder / "d.toml").read_text("utf-8")


def test_a_read_only_file_stays(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "kept.cir").chmod(0o444)
    assert main(["netlist", "d.toml", "-o", "kept.cir", "--force"]) == 2
    assert "read-only" in capsys.readouterr().err
    assert (folder / "kept.cir").read_text("utf-8") == "mine\n"


@pytest.mark.parametrize("over", [False, True])
def test_a_full_disk_names_the_file_and_leaves_what_was_there(
    over: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    file = tmp_path / "page.html"
    if over:
        file.write_text("old\n", encoding="utf-8")
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left") as caught:
        write_whole(file, "new\n" * 1000, over=over)
    assert caught.value.filename == str(file)
    assert os.listdir(tmp_path) == (["page.html"] if over else [])
    assert not over or file.read_text("utf-8") == "old\n"


@pytest.mark.parametrize("over", [False, True])
@pytest.mark.parametrize("after", [False, True])
def test_an_interrupt_about_the_replacement(
    over: bool, after: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Right after it the result stays; right before it what was there before."""
    name = "replace" if over else "link"
    real = getattr(os, name)

    def interrupted(*given: object, **named: object) -> None:
        if after:
            real(*given, **named)
        raise KeyboardInterrupt

    file = tmp_path / "d.toml"
    if over:
        file.write_text("old\n", encoding="utf-8")
    monkeypatch.setattr(os, name, interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_whole(file, "new\n", over=over)
    assert os.listdir(tmp_path) == (["d.toml"] if over or after else [])
    if over or after:
        assert file.read_text("utf-8") == ("new\n" if after else "old\n")


def test_a_device_is_written_as_it_stands(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["netlist", "d.toml", "--to", "2 kHz", "-o", os.devnull]) == 0
    capsys.readouterr()
    assert not Path(os.devnull).is_file()
    assert sorted(os.listdir(folder)) == sorted(
        ["d.toml", "r.csv", "kept.svg", "kept.cir", "kept.html", "kept.toml"]
    )


@pytest.mark.parametrize("over", [False, True])
def test_a_file_system_without_nameless_files_or_links(
    over: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As on other systems: a draft with a name, which is gone at the end."""

    def refused(*_: object, **__: object) -> None:
        raise OSError(errno.EOPNOTSUPP, os.strerror(errno.EOPNOTSUPP))

    monkeypatch.setattr(os, "O_TMPFILE", 0)  # a folder cannot be opened for writing without
    file = tmp_path / "page.html"
    for link in (os.link, refused):
        monkeypatch.setattr(os, "link", link)
        file.unlink(missing_ok=True)
        if over:
            file.write_text("old\n", encoding="utf-8")
        write_whole(file, "new\n", over=over)
        assert file.read_text("utf-8") == "new\n"
        assert os.listdir(tmp_path) == ["page.html"]


def test_standard_output_that_leads_to_a_file_is_written_as_it_stands(folder: Path) -> None:
    """``-o /dev/stdout > n.cir``, and with ``>>`` behind what is there: no name that is taken, and whole."""
    call = ["netlist", "d.toml", "--to", "2 kHz", "-o"]
    whole = forked.run([*call, "n.cir"], folder=folder)
    assert whole.returncode == 0, whole.stderr
    (folder / "out.cir").write_text("* mine\n", encoding="utf-8")
    with (folder / "out.cir").open("a", encoding="utf-8") as stream:
        done = forked.run([*call, "/dev/stdout"], folder=folder, out=stream.fileno())
    assert done.returncode == 0, done.stderr
    assert (folder / "out.cir").read_text("utf-8") == "* mine\n" + (folder / "n.cir").read_text("utf-8")


@pytest.mark.parametrize("name", ["/dev/full", "/proc/n.cir"])
def test_what_cannot_be_written_is_named_as_it_was_given(name: str) -> None:
    if not Path(name).parent.is_dir() or (name == "/dev/full" and not Path(name).exists()):
        pytest.skip("a file of Linux")
    with pytest.raises(OSError, match=r"No (space|such)") as caught:
        write_whole(Path(name), "text\n")
    assert caught.value.filename == name


@pytest.mark.parametrize(
    "arguments", [["predict", *FEW, "--draw", "page.svg"], *and_slow(["sheet", *FEW, "-o", "page.html"])]
)
def test_a_name_that_is_no_text_is_no_fault_of_the_tool(arguments: list[str], folder: Path) -> None:
    """A file's name in another encoding is the title of a design that has none."""
    name = os.fsdecode(b"n\xff\x1b[31m.toml")
    (folder / name).write_text(SMALL.replace('title = "Two windings"', ""), encoding="utf-8")
    command, *more = arguments
    done = forked.run([command, name, *more], folder=folder)  # whose streams are strict
    assert done.returncode == 0, done.stderr
    assert "n\\xff\\x1b[31m" in done.stdout + (folder / more[-1]).read_text("utf-8")


def test_readings_whose_name_is_no_text(folder: Path) -> None:
    """In a report, which names all files, and in a message."""
    name = os.fsdecode(b"\xff.csv")
    (folder / name).write_text(SMALL_READINGS, encoding="utf-8")
    done = forked.run(["report", "d.toml", name, *FEW, "-o", "page.html"], folder=folder)
    assert done.returncode == 1, done.stderr
    assert "\\udcff.csv" in (folder / "page.html").read_text("utf-8")


@pytest.mark.usefixtures("folder")
@pytest.mark.parametrize(
    "command", [["sheet", "d.toml", *FEW, "-o"], *and_slow(["report", "d.toml", *FEW, "-o"])]
)
def test_the_name_of_a_page_steers_no_terminal(
    command: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([*command, "a\x1b[31m.html"]) == 0
    assert capsys.readouterr().err == "Wrote a\\x1b[31m.html.\n"


def test_page_and_material_are_two_files(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet", "d.toml", *FEW, "-o", "x.csv", "--materials", "./x.csv", "--force"]) == 2
    assert "two files" in capsys.readouterr().err
    assert not (folder / "x.csv").exists()


@pytest.mark.parametrize("to", ["nowhere", "link"])
@pytest.mark.parametrize("name", ["netlist", "sheet", "enter"])
def test_a_link_that_leads_nowhere_is_refused_before_any_work(
    name: str, to: str, folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """`enter` used to say so after the first reading was typed."""
    (folder / "link").symlink_to(to)
    monkeypatch.setattr("builtins.input", lambda *_: pytest.fail("asked for a reading"))
    arguments = ["enter", "d.toml", "-o"] if name == "enter" else WRITING[name][0]
    assert main([*arguments, "link"]) == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert "a link that leads nowhere" in " ".join(shown.err.split())
    assert (folder / "link").is_symlink()
