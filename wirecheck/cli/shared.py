"""What the commands share: options of one form, exit statuses, and that no traceback reaches a user."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Annotated, NoReturn

import typer

from wirecheck.outputs import console

FOUND, UNUSABLE, INCOMPLETE = 1, 2, 3
"""Exit statuses besides 0: something at or above --fail-at; input or call that cannot be used; nothing can be claimed."""

WIDTH_OFF_A_TERMINAL = 100

PlanFile = Annotated[str, typer.Argument(metavar="PLAN", help="Plan file; - is standard input.", show_default=False)]
KindFolders = Annotated[
    list[str] | None, typer.Option("--kinds", metavar="FOLDER", help="Device kinds of the house's own; can be given again.")
]
RuleFolders = Annotated[
    list[str] | None, typer.Option("--rules", metavar="FOLDER", help="Rules of the house's own; can be given again.")
]
Replace = Annotated[bool, typer.Option("--replace", help="Write over a file that exists.")]


def page() -> tuple[bool, int]:
    """Whether standard output takes colours, and how wide it is."""
    if sys.stdout is None or not sys.stdout.isatty():
        return False, WIDTH_OFF_A_TERMINAL
    from shutil import get_terminal_size

    return not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb", get_terminal_size().columns


@contextmanager
def no_traceback(interrupts: bool = True) -> Iterator[None]:
    """Whatever goes wrong is told in plain words, with the exit status that belongs to it; `interrupts` too, or else raised."""
    from wirecheck.errors import NotInPlan, PlanErrors, TooLarge

    try:
        yield
    except (typer.Exit, typer.Abort, SystemExit):
        raise
    except (PlanErrors, NotInPlan) as errors:
        leave(UNUSABLE, str(errors))
    except TooLarge as bound:
        leave(INCOMPLETE, f"Too much to follow, so nothing is claimed: {bound}")
    except KeyboardInterrupt:
        if not interrupts:
            raise
        leave(INCOMPLETE, "Interrupted: nothing is claimed.")
    except Exception as fault:
        if _is_usage_error(fault):
            raise
        leave(INCOMPLETE, f"wirecheck itself has a fault, so nothing is claimed: {type(fault).__name__}: {fault}")


def _is_usage_error(fault: Exception) -> bool:
    # Typer brings its own errors of the call along and prints them itself; they all have this.
    return hasattr(fault, "exit_code")


@contextmanager
def file_errors(name: str = "Standard output") -> Iterator[None]:
    """What cannot be written, a file or standard output, ends the program in plain words."""
    try:
        yield
    except OSError as error:
        leave(UNUSABLE, f"{name} cannot be written: {error.strerror}")


def leave(status: int, text: str) -> NoReturn:
    """End the program with an exit status and a reason on standard error."""
    console.say(text)
    sys.exit(status)


def unknown(name: str, known: Sequence[str], what: str) -> str:
    """That there is no rule or kind of this name, and which comes nearest."""
    from wirecheck.errors import nearest_word

    nearest = nearest_word(name, known)
    return f"there is no {what} `{name}`" + (f"; did you mean `{nearest}`?" if nearest else f"; `wirecheck {what}s` lists them")


def installed_version() -> str:
    """The version that is installed."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("wirecheck")
    except PackageNotFoundError:
        return "(not installed, run from its source tree)"
