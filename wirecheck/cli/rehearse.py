"""The command `rehearse`: a plan played event by event."""

from __future__ import annotations

import sys
from typing import Annotated, Literal

import typer

from wirecheck.cli.shared import KindFolders, PlanFile, file_errors, no_traceback, page
from wirecheck.outputs import console


def rehearse(
    plan: PlanFile,
    events: Annotated[
        list[str] | None, typer.Argument(metavar="EVENT", help="Events in their order, as S4=pressed.", show_default=False)
    ] = None,
    fault: Annotated[
        list[str] | None,
        typer.Option(
            "--fault",
            help='A fault, as "wire 12 [S1:12–S2:11] open"; `faults` lists them. Of several the last comes, the others are there '
            "from the start.",
            show_default=False,
        ),
    ] = None,
    at: Annotated[int, typer.Option("--at", metavar="N", min=0, help="The fault comes after the Nth event.")] = 0,
    form: Annotated[Literal["text", "json"], typer.Option("--format")] = "text",
    kinds: KindFolders = None,
) -> None:
    """Play events from rest: after each, what moved, what is live, which coils are in, what the motors do.

    Exit status: 0 all was played, 2 the plan or the call could not be used, 3 there was too much to follow.
    """
    done = events or []
    if at > len(done):
        raise typer.BadParameter(f"there are {len(done)} events, so none is number {at}", param_hint="--at")
    if at and not fault:
        raise typer.BadParameter("it says when a fault comes, and no --fault is given", param_hint="--at")
    with no_traceback():
        from wirecheck import pipeline
        from wirecheck.outputs.progress import ProgressBar
        from wirecheck.outputs.rehearsal import render_rehearsal_json, render_rehearsal_text

        read = pipeline.read(plan, kinds=pipeline.house_kinds(kinds or []))
        with ProgressBar(sys.stderr) as progress:
            steps = pipeline.rehearse(read, done, ", then ".join(fault) if fault else None, at, progress)
        with file_errors():
            if form == "json":
                console.emit(render_rehearsal_json(read.file, steps), "utf-8")
            else:
                console.emit(render_rehearsal_text(read, steps, *page()))
