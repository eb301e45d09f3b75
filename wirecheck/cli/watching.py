"""Doing something again whenever a file changes, until somebody interrupts it."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from time import sleep

from wirecheck.outputs import console

PAUSE_S = 0.2
"""Between two looks at the files: soon enough for a reader, and no load."""

Stamp = tuple[int, int] | None


def watch(files: Callable[[], Sequence[Path]], once: Callable[[], int], pause_s: float = PAUSE_S) -> int:
    """Call `once`, and again whenever one of the files has changed, until an interrupt; the last exit status.

    `files` is asked each time anew: a folder may have got another. A file that is gone for a moment, as an editor makes it that
    writes a new one in its place, is waited for.
    """
    status = 0
    try:
        while True:
            seen = _stamps(files())
            status = _status_of(once)
            console.say("Watching; Ctrl-C ends.")
            _wait(files, seen, pause_s)
    except KeyboardInterrupt:
        return status


def _wait(files: Callable[[], Sequence[Path]], seen: dict[Path, Stamp], pause_s: float) -> None:
    """Until the files differ from what was seen, and stay as they are from one look to the next: no half of a file is read."""
    before = seen
    while True:
        sleep(pause_s)
        now = _stamps(files())
        if now == before and _changed(seen, now):
            return
        before = now


def _status_of(once: Callable[[], int]) -> int:
    """What a call returns, or leaves with: a plan that cannot be read is no reason to stop watching."""
    try:
        return once()
    except SystemExit as left:
        return int(left.code or 0)
    finally:
        if sys.stdout is not None:
            sys.stdout.flush()


def _stamps(files: Sequence[Path]) -> dict[Path, Stamp]:
    return {path: _stamp(path) for path in files}


def _stamp(path: Path) -> Stamp:
    """When a file was changed, and its size; None where it is not there."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


def _changed(before: dict[Path, Stamp], now: dict[Path, Stamp]) -> bool:
    """Whether the files differ, and none that was there is missing just now."""
    return now != before and all(stamp or not before.get(path) for path, stamp in now.items())
