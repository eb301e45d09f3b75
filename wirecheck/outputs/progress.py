"""A progress bar on a terminal, for work that takes longer than two seconds."""

from __future__ import annotations

import threading
from types import TracebackType
from typing import TextIO

from wirecheck.errors import visible

PATIENCE_S = 2.0
REDRAW_S = 0.25
BAR = 20
CLEAR = "\r\x1b[2K"


class ProgressBar:
    """Draws on a stream from a thread of its own, so that it also shows while one long step runs. Silent off a terminal."""

    def __init__(self, stream: TextIO | None, patience_s: float = PATIENCE_S) -> None:
        self._patience_s = patience_s
        self._line = ""
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._draw, args=(stream,), daemon=True) if stream and stream.isatty() else None

    def __call__(self, done: int, total: int, what: str) -> None:
        """Tell how far the work is and what comes next."""
        full = BAR * done // max(total, 1)
        self._line = f"[{'#' * full}{'.' * (BAR - full)}] {done}/{total} {visible(what)[:50]}"

    def __enter__(self) -> ProgressBar:
        if self._thread:
            self._thread.start()
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self._over.set()
        if self._thread:
            self._thread.join()

    def _draw(self, stream: TextIO) -> None:
        wait_s = self._patience_s
        drawn = False
        while not self._over.wait(wait_s):
            stream.write(CLEAR + self._line)
            stream.flush()
            wait_s, drawn = REDRAW_S, True
        if drawn:
            stream.write(CLEAR)
            stream.flush()
