"""Printing to standard output and standard error, whatever these are joined to."""

from __future__ import annotations

import io
import os
import sys
from contextlib import suppress

from wirecheck.errors import visible


def emit(text: str, encoding: str | None = None) -> None:
    """Print to standard output, in its own encoding or the one given. A reader who went away is no error; OSError for others."""
    if sys.stdout is None:  # It was closed before the program began.
        return
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(encoding=encoding, errors="backslashreplace")
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except OSError as error:
        # What is still buffered must not complain again when the interpreter flushes it at its end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if not isinstance(error, BrokenPipeError):
            raise


def say(text: str) -> None:
    """Print lines to standard error. Where nobody listens the exit status still tells."""
    with suppress(OSError, ValueError, AttributeError):
        sys.stderr.write("\n".join(map(visible, text.split("\n"))) + "\n")
