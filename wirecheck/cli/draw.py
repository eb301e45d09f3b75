"""The command `draw`: the connection diagram as a file."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from wirecheck.cli.shared import (
    INCOMPLETE,
    UNUSABLE,
    KindFolders,
    PlanFile,
    Replace,
    RuleFolders,
    file_errors,
    leave,
    no_traceback,
)
from wirecheck.outputs import console


def draw(
    plan: PlanFile,
    output: Annotated[str, typer.Option("--output", "-o", metavar="FILE", help="A name that ends in .svg, .png or .dot.")],
    replace: Replace = False,
    rules: RuleFolders = None,
    kinds: KindFolders = None,
) -> None:
    """Draw the connection diagram of a plan, with what the check finds marked on it."""
    from wirecheck.drawings import SUFFIXES, EngineMissing

    path = Path(output)
    if path.suffix not in SUFFIXES:
        raise typer.BadParameter(f"the name must end in one of {', '.join(SUFFIXES)}: {output}", param_hint="-o")
    if path.exists() and not replace:
        raise typer.BadParameter(f"{output} exists; --replace writes over it", param_hint="-o")
    with no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.files import write_whole
        from wirecheck.outputs.progress import ProgressBar

        own = pipeline.house_kinds(kinds or [])
        house = pipeline.house_rules(rules or [], own)
        read = pipeline.read(plan, kinds=own)
        with ProgressBar(sys.stderr) as progress:
            try:
                drawing, report = pipeline.draw(read, path.suffix, progress, house)
            except EngineMissing as missing:
                leave(UNUSABLE, f"{output} cannot be drawn: {missing}")
        with file_errors(output):
            write_whole(path, drawing, replace)
        for reason in report.incomplete:
            console.say(f"The marks on {output} are not complete: {reason}.")
    raise typer.Exit(INCOMPLETE if report.incomplete else 0)
