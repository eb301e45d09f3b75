"""Output files, written whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


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
