"""The command `kinds`: all device kinds, or one whole."""

from __future__ import annotations

from typing import Annotated

import typer

from wirecheck.cli.shared import KindFolders, file_errors, no_traceback, page, unknown
from wirecheck.outputs import console


def _names(incomplete: str) -> list[str]:
    """For a shell that completes NAME."""
    from wirecheck.kinds import kind_names

    return [name for name in kind_names() if name.startswith(incomplete)]


def kinds(
    name: Annotated[
        str | None,
        typer.Argument(metavar="[NAME]", help="A kind, to be printed whole.", show_default=False, autocompletion=_names),
    ] = None,
    folders: KindFolders = None,
) -> None:
    """List the device kinds, or print one whole: its marks, positions and parameters, with a piece of a plan to copy."""
    with no_traceback():
        from wirecheck import pipeline
        from wirecheck.kinds import Kinds
        from wirecheck.outputs.kind_pages import render_kind, render_kinds

        known = pipeline.house_kinds(folders or []) or Kinds()
        if name is not None and name not in known.names:
            raise typer.BadParameter(unknown(name, known.names, "kind"), param_hint="NAME")
        text = (
            render_kinds([known.get(each) for each in known.names], *page())
            if name is None
            else render_kind(known.get(name), *page())
        )
        with file_errors():
            console.emit(text)
