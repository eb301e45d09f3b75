"""The command `kinds`: all device kinds, or one whole."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from wirecheck.cli.shared import KindFolders, file_errors, no_traceback, page, unknown
from wirecheck.outputs import console
from wirecheck.plan.sections import ONE_OF

if TYPE_CHECKING:
    from wirecheck.kinds import Kinds


def _names(incomplete: str) -> list[str]:
    """For a shell that completes NAME."""
    from wirecheck.kinds import kind_names

    return [name for name in (*kind_names(), *ONE_OF) if name.startswith(incomplete)]


def kinds(
    name: Annotated[
        str | None,
        typer.Argument(
            metavar="[NAME]",
            help="A kind or a section of a plan, such as wires, to be printed whole.",
            show_default=False,
            autocompletion=_names,
        ),
    ] = None,
    folders: KindFolders = None,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of plans with these kinds, for an editor.")
    ] = False,
) -> None:
    """List the device kinds, or print one whole: its marks, positions and parameters, with a piece of a plan to copy.

    The other sections of a plan have a page each too: machine, places, wires, cables, functions, accepted.
    """
    if schema and name is not None:
        raise typer.BadParameter("it is about all kinds, so no NAME belongs to it", param_hint="--schema")
    with no_traceback():
        known = _known(folders or ())
        if name is not None and name not in (*known.names, *ONE_OF):
            raise typer.BadParameter(unknown(name, [*known.names, *ONE_OF], "kind"), param_hint="NAME")
        text = _schema(known) if schema else _page(known, name)
        with file_errors():
            console.emit(text, "utf-8" if schema else None)


def _known(folders: Sequence[str]) -> Kinds:
    # Not by way of the pipeline, whose stages take ten times as long to import as a list takes to print.
    if folders:
        from wirecheck.plan.house import read_kinds

        return read_kinds(folders)
    from wirecheck.kinds import Kinds

    return Kinds()


def _page(known: Kinds, name: str | None) -> str:
    from wirecheck.outputs.kind_pages import render_kind, render_kinds

    if name is not None and name in ONE_OF and name not in known.names:
        from wirecheck.outputs.section_pages import render_section

        return render_section(name, *page())
    return render_kind(known.get(name), *page()) if name else render_kinds([known.get(each) for each in known.names], *page())


def _schema(known: Kinds) -> str:
    from wirecheck.plan.schema import schema_text

    return schema_text([known.get(name) for name in known.names])
