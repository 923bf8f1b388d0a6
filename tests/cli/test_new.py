"""``new``: a whole file or none, never over another."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from aswound.cli.main import main


def test_the_message_goes_to_standard_error(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "my design.toml"
    assert main(["new", str(path), "--core", "E 25/13/7"]) == 0
    shown = capsys.readouterr()
    assert shown.out == ""
    assert f"aswound predict '{path}'" in shown.err
    assert [item.name for item in tmp_path.iterdir()] == ["my design.toml"]


@pytest.mark.parametrize("failing", ["link", "fdopen"])
def test_nothing_is_left_of_a_failure(
    capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    real = getattr(os, failing)

    def full(first: object, *_rest: object, **_named: object) -> None:
        if isinstance(first, int):
            os.close(first)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, failing, full)
    assert main(["new", str(tmp_path / "my.toml"), "--core", "E 25/13/7"]) == 2
    monkeypatch.setattr(os, failing, real)
    assert "No space left" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_neither_files_nor_dangling_links_are_overwritten(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    held = tmp_path / "held.toml"
    held.write_text("mine", encoding="utf-8")
    link = tmp_path / "link.toml"
    link.symlink_to(tmp_path / "nowhere.toml")
    for path in (held, link, tmp_path):
        assert main(["new", str(path), "--core", "E 25/13/7"]) == 2
        assert "exists" in capsys.readouterr().err
    assert held.read_text(encoding="utf-8") == "mine"
    assert sorted(item.name for item in tmp_path.iterdir()) == ["held.toml", "link.toml"]


def test_no_folder_and_no_such_core(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    assert main(["new", str(tmp_path / "no" / "my.toml"), "--core", "E 25/13/7"]) == 2
    assert "folder" in capsys.readouterr().err
    assert main(["new", str(tmp_path / "my.toml"), "--core", "E 25/13/8"]) == 2
    assert "E 25/13/7" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []
