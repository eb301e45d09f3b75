"""The command line: reads options, calls the pipeline, prints. Nothing else is decided here.

Each command is a module of this package with a function of its name, imported only when it is asked for: a command pays for no
other. A new one is such a module and its name in `COMMANDS`.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module
from typing import Annotated, Any, NoReturn

import typer
from typer.core import TyperGroup

from wirecheck.cli.shared import installed_version, no_traceback
from wirecheck.outputs import console

COMMANDS = ("check", "rehearse", "faults", "draw", "sheets", "diagnose", "rules", "kinds")
"""In the order in which the help lists them."""


class Commands(TyperGroup):
    """The commands, of which each is made when it is first asked for."""

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002 -- what it overrides has it
        """Their names, in their order."""
        return list(COMMANDS)

    def get_command(self, ctx: Any, cmd_name: str) -> Any:
        """One of them. For a name that is none all are made: the nearest is offered then."""
        for name in (cmd_name,) if cmd_name in COMMANDS else COMMANDS:
            if name not in self.commands:
                self.commands[name] = _made(name)
        return super().get_command(ctx, cmd_name)


def _made(name: str) -> Any:
    alone = typer.Typer(add_completion=False, rich_markup_mode=None, pretty_exceptions_enable=False)
    alone.command(name)(getattr(import_module(f"{__name__}.{name}"), name))
    return typer.main.get_command(alone)


app = typer.Typer(
    name="wirecheck",
    cls=Commands,
    help="Checks the wiring of a small machine on paper, before anything is energised.",
    epilog="Exit status: 0 nothing at or above --fail-at; 1 something is; 2 the input or the call could not be used; "
    "3 the analysis was incomplete, so nothing is claimed.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def main(arguments: Sequence[str] | None = None) -> NoReturn:
    """Run the command line and leave with its exit status."""
    with no_traceback():
        app(args=arguments, prog_name="wirecheck")
    sys.exit(0)


def _tell_version(wanted: bool) -> None:
    if wanted:
        console.emit(f"wirecheck {installed_version()}\n")
        raise typer.Exit


@app.callback()
def _common(
    version: Annotated[
        bool, typer.Option("--version", help="Print the version and leave.", callback=_tell_version, is_eager=True)
    ] = False,
) -> None:
    """Options of the program as a whole; each acts by its own callback."""
