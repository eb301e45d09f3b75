"""The progress bar: silent off a terminal and on short work, gone when the work is done."""

from __future__ import annotations

import io
import time

from wirecheck.outputs.progress import CLEAR, ProgressBar


class Terminal(io.StringIO):
    """A stream that is a terminal."""

    def isatty(self) -> bool:
        return True


def test_silent_off_a_terminal() -> None:
    stream = io.StringIO()
    with ProgressBar(stream, patience_s=0.0) as bar:
        bar(1, 2, "x")
        time.sleep(0.02)
    assert stream.getvalue() == ""


def test_silent_on_short_work() -> None:
    stream = Terminal()
    with ProgressBar(stream, patience_s=60.0) as bar:
        bar(1, 2, "x")
    assert stream.getvalue() == ""


def test_drawn_on_long_work_and_wiped_at_the_end() -> None:
    stream = Terminal()
    with ProgressBar(stream, patience_s=0.01) as bar:
        bar(1, 4, "Motion\x1b starts")
        time.sleep(0.1)
    text = stream.getvalue()
    assert "[#####...............] 1/4 Motion\\x1b starts" in text
    assert text.endswith(CLEAR)


def test_wiped_also_when_the_work_fails() -> None:
    stream = Terminal()
    try:
        with ProgressBar(stream, patience_s=0.01):
            time.sleep(0.1)
            raise ZeroDivisionError
    except ZeroDivisionError:
        pass
    assert stream.getvalue().endswith(CLEAR)
