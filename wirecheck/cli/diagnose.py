"""The command `diagnose`: from the filled-in dead-test sheet to the wiring error."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from wirecheck.cli.shared import FOUND, KindFolders, PlanFile, file_errors, no_traceback, page
from wirecheck.outputs import console


def diagnose(
    plan: PlanFile,
    readings: Annotated[
        str, typer.Argument(metavar="READINGS.csv", help="The dead-test sheet with its readings filled in.", show_default=False)
    ],
    kinds: KindFolders = None,
) -> None:
    """Say which single wiring error explains the readings of a dead test, most likely first, and what to measure next.

    Exit status: 0 all readings are as they should be, 1 something is wrong, 2 the plan or the readings could not be used.
    """
    with no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.diagnosis import render_diagnosis

        found, filled, old = pipeline.diagnose(plan, Path(readings), pipeline.house_kinds(kinds or []))
        with file_errors():
            console.emit(render_diagnosis(plan, found, filled.steps, old, *page()))
    raise typer.Exit(0 if found.healthy else FOUND)
