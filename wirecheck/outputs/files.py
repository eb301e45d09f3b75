"""Output files, written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from shutil import rmtree


def write_whole(path: Path, content: bytes, replace: bool = False) -> None:
    """Write a file through a temporary neighbour, so that no half of it is ever seen.

    FileExistsError where the file stands already and is not to be replaced, even if it came about only just now.
    """
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    temporary = Path(name)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        temporary.chmod(0o666 & ~_umask())
        if replace:
            temporary.replace(path)
        else:
            _place_new(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)


def write_folder(folder: Path, files: Mapping[str, bytes], replace: bool = False) -> None:
    """Write several files into a folder, all or none; the folder is made where there is none.

    FileExistsError where one of them stands already and is not to be replaced; nothing is written then.
    """
    made = not folder.exists()
    folder.mkdir(exist_ok=True)
    standing = [name for name in files if (folder / name).exists()]
    if standing and not replace:
        raise FileExistsError(17, os.strerror(17), str(folder / standing[0]))
    placed: list[str] = []
    staging = Path(tempfile.mkdtemp(dir=folder, prefix=".writing."))
    try:
        for name, content in files.items():
            write_whole(staging / name, content)
        for name in standing:
            (folder / name).rename(staging / f"{name}.before")
        for name in files:
            _place_new(staging / name, folder / name)
            placed.append(name)
    except BaseException:
        for name in placed:
            (folder / name).unlink()
        for name in standing:
            if (staging / f"{name}.before").exists():
                (staging / f"{name}.before").rename(folder / name)
        raise
    finally:
        rmtree(staging, ignore_errors=True)
        if made and not placed:
            with suppress(OSError):  # somebody put something of their own into it
                folder.rmdir()


def _place_new(temporary: Path, path: Path) -> None:
    """Give a file its name, which nothing else may have."""
    try:
        # A link refuses an existing name in the same breath in which it makes a new one; a rename would not.
        os.link(temporary, path)
    except FileExistsError:
        raise
    except OSError:  # A file system without links.
        if path.exists():
            raise FileExistsError(17, os.strerror(17), str(path)) from None
        temporary.rename(path)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
