"""The command `faults`: every single fault and what it does."""

from __future__ import annotations

import sys
from typing import Annotated, Literal

import typer

from wirecheck.cli.shared import KindFolders, PlanFile, file_errors, no_traceback, page
from wirecheck.outputs import console


def faults(
    plan: PlanFile,
    form: Annotated[Literal["text", "json", "csv"], typer.Option("--format", help="csv: for a spreadsheet.")] = "text",
    kinds: KindFolders = None,
) -> None:
    """List every single fault and what it does to each function, worst first.

    Exit status: 0 the table is printed, 2 the plan or the call could not be used, 3 the analysis was incomplete, so nothing is
    claimed.
    """
    with no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.fault_table import render_faults_csv, render_faults_json
        from wirecheck.outputs.fault_text import render_faults_text
        from wirecheck.outputs.progress import ProgressBar

        read = pipeline.read(plan, kinds=pipeline.house_kinds(kinds or []))
        with ProgressBar(sys.stderr) as progress:
            table = pipeline.faults(read, progress, kinds or [])
        with file_errors():
            if form == "text":
                console.emit(render_faults_text(table, *page()))
            else:  # a file that is read elsewhere is UTF-8 wherever it is printed
                console.emit(render_faults_json(table) if form == "json" else render_faults_csv(table), "utf-8")
