"""`wirecheck sheets`: all files or none."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from wirecheck import cli
from wirecheck.outputs.files import write_folder

LATHE = Path(__file__).parents[2] / "examples" / "good" / "pillar-drill.yaml"


def run(*arguments: str) -> int:
    with pytest.raises(SystemExit) as left:
        cli.main(["sheets", *arguments])
    return int(left.value.code or 0)


def test_all_documents_are_written_with_the_digest_of_the_plan(tmp_path: Path) -> None:
    assert run(str(LATHE), "-o", str(tmp_path / "out")) == 0
    names = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"sheets.html", "wire-list.csv", "terminal-list.csv", "cable-list.csv", "parts-list.csv", "label-list.csv"} <= names
    assert {"earth-list.csv", "drive-settings.csv", "assumptions.csv"} <= names
    digest = hashlib.sha256(LATHE.read_bytes()).hexdigest()
    for path in (tmp_path / "out").iterdir():
        text = path.read_text(encoding="utf-8")
        assert digest in text, path.name
        assert "does not replace a qualified electrician" in text, path.name
        assert "Tansy Weir" in text, path.name


def test_the_same_plan_gives_the_same_bytes(tmp_path: Path) -> None:
    for folder in ("a", "b"):
        assert run(str(LATHE), "-o", str(tmp_path / folder)) == 0
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes()


def test_a_file_that_is_there_is_kept_and_nothing_else_is_written(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "wire-list.csv").write_text("mine")
    assert run(str(LATHE), "-o", str(tmp_path)) == 2
    assert "wire-list.csv exists; --replace writes over it" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == ["wire-list.csv"]
    assert (tmp_path / "wire-list.csv").read_text() == "mine"
    assert run(str(LATHE), "-o", str(tmp_path), "--replace") == 0
    assert (tmp_path / "wire-list.csv").read_text(encoding="utf-8").startswith("number,")
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_a_plan_that_cannot_be_read_leaves_no_folder(tmp_path: Path) -> None:
    assert run(str(tmp_path / "missing.yaml"), "-o", str(tmp_path / "out")) == 2
    assert not (tmp_path / "out").exists()


def test_a_failure_half_way_takes_everything_back(tmp_path: Path) -> None:
    (tmp_path / "a").write_bytes(b"old a")
    (tmp_path / "c").mkdir()  # a folder that stands where a file should go cannot be moved over
    (tmp_path / "c" / "kept").write_bytes(b"kept")
    with pytest.raises(FileNotFoundError):
        write_folder(tmp_path, {"a": b"new", "b": b"new", "c/x/y": b"new"}, replace=True)
    assert (tmp_path / "a").read_bytes() == b"old a"
    assert not (tmp_path / "b").exists()


def test_a_new_folder_that_could_not_be_filled_is_taken_away(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_folder(tmp_path / "new", {"a": b"1", "no/such": b"2"})
    assert not (tmp_path / "new").exists()


def test_a_folder_in_a_folder_that_is_not_there_is_refused_before_anything_is_worked_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("no such plan.yaml", "-o", str(tmp_path / "none" / "papers")) == 2
    assert "there is no folder" in " ".join(capsys.readouterr().err.split())
