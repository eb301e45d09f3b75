"""The way in, for the command `wirecheck` and for `python -m wirecheck`."""

from __future__ import annotations

import atexit
import gc
from typing import NoReturn


def main() -> NoReturn:
    """Run the command line and leave with its exit status.

    The garbage collector passes less often and not at the end, which takes a sixth off the time of a check. Nearly all that a run
    makes is kept to its end or freed by its reference count; Python would go through all of it, and through every module that was
    imported, again and again on the way and twice more before the process ends.
    """
    gc.set_threshold(100_000)
    atexit.register(gc.freeze)
    from wirecheck import cli  # only now, for most of what there is to go through comes with the imports

    cli.main()


if __name__ == "__main__":
    main()
