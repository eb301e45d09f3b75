"""The one place that knows where packaged data stands: beside the source tree, or inside an installed wheel.

In the repository `rules/` and `schemas/` stand at the root of the project; a wheel carries them as `wirecheck/_data/`.
Files that belong to one package (the device kinds) stand in that package and need no second place.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent


def data_folder(name: str) -> Path:
    """The folder `rules` or `schemas`, from the wheel where there is one, else from the source tree."""
    packaged = _PACKAGE / "_data" / name
    return packaged if packaged.is_dir() else _PACKAGE.parent / name


def package_folder(*parts: str) -> Path:
    """A folder of data inside the package, such as `package_folder("kinds", "data")`."""
    return _PACKAGE.joinpath(*parts)


def read_text(path: Path) -> str:
    """The text of a packaged file."""
    return path.read_text(encoding="utf-8")
