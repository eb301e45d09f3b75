"""Output files are written whole or not at all."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from wirecheck.outputs.files import write_whole


def test_new_file_has_the_content_and_ordinary_rights(tmp_path: Path) -> None:
    path = tmp_path / "sheet.svg"
    write_whole(path, b"new")
    ordinary = tmp_path / "ordinary"
    ordinary.touch()
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode == ordinary.stat().st_mode


def test_existing_file_is_kept_unless_replaced(tmp_path: Path) -> None:
    path = tmp_path / "sheet.svg"
    path.write_bytes(b"old")
    with pytest.raises(FileExistsError):
        write_whole(path, b"new")
    assert path.read_bytes() == b"old"
    write_whole(path, b"new", replace=True)
    assert path.read_bytes() == b"new"
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("there", [False, True])
def test_file_system_without_links(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool) -> None:
    def refuse(old: Path, new: Path) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", refuse)
    path = tmp_path / "sheet.svg"
    if there:
        path.write_bytes(b"old")
        with pytest.raises(FileExistsError):
            write_whole(path, b"new")
    else:
        write_whole(path, b"new")
    assert path.read_bytes() == (b"old" if there else b"new")
    assert list(tmp_path.iterdir()) == [path]


def test_nothing_is_left_when_writing_fails(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(handle: int, mode: str) -> object:
        os.close(handle)
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fdopen", full)
    with pytest.raises(OSError, match="No space"):
        write_whole(tmp_path / "sheet.svg", b"new")
    assert list(tmp_path.iterdir()) == []
