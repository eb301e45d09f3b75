"""The command `sheets`: the documents for the bench, as files."""

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


def sheets(
    plan: PlanFile,
    output: Annotated[str, typer.Option("--output", "-o", metavar="FOLDER", help="Made where there is none.")],
    replace: Replace = False,
    rules: RuleFolders = None,
    kinds: KindFolders = None,
) -> None:
    """Write the documents for the bench: lists and sheets as CSV, and all of them as one page to print.

    Exit status: 0 all is written; 2 the plan or the call could not be used, and nothing is written; 3 the check was incomplete:
    the documents are written and say so.
    """
    folder = Path(output)
    if folder.exists() and not folder.is_dir():
        raise typer.BadParameter(f"{output} is no folder", param_hint="-o")
    if not folder.exists() and not folder.parent.is_dir():  # told now, and not when all has been worked out
        raise typer.BadParameter(f"there is no folder {folder.parent} to put it in", param_hint="-o")
    with no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.files import write_folder
        from wirecheck.outputs.progress import ProgressBar

        own = pipeline.house_kinds(kinds or [])
        house = pipeline.house_rules(rules or [], own)
        with ProgressBar(sys.stderr) as progress:
            files, report = pipeline.sheets(plan, progress, house, own)
        with file_errors(output):
            try:
                write_folder(folder, files, replace)
            except FileExistsError as standing:
                leave(UNUSABLE, f"{standing.filename} exists; --replace writes over it. Nothing is written.")
        for reason in report.incomplete:
            console.say(f"The documents in {output} are not complete: {reason}.")
    raise typer.Exit(INCOMPLETE if report.incomplete else 0)
