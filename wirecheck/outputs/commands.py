"""A trace as the command that plays it."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterable

from wirecheck.errors import visible
from wirecheck.findings import Evidence

PLAIN_IN_QUOTES = re.compile(r"[^\"$`\\!%^\x00-\x1f\x7f]*")
"""What means nothing between double quotes to any shell, that of Windows among them."""


def rehearse_command(plan: str, evidence: Evidence, kinds: Iterable[str] = ()) -> str:
    """The command line that plays a trace, to be pasted into a shell; `kinds` are folders of device kinds that the plan needs.

    >>> rehearse_command("my plan.yaml", Evidence(events=("G0=on",), fault="K1 stuck in", fault_after=1))
    'wirecheck rehearse "my plan.yaml" G0=on --fault "K1 stuck in" --at 1'
    """
    words = ["wirecheck", "rehearse", quoted(plan), *map(quoted, evidence.events)]
    if evidence.fault is not None:
        words += ["--fault", quoted(evidence.fault), *(["--at", str(evidence.fault_after)] if evidence.fault_after else [])]
    for folder in kinds:
        words += ["--kinds", quoted(folder)]
    return visible(" ".join(words))


def quoted(word: str) -> str:
    """A word for a shell: in double quotes where that is enough, since they mean the same everywhere."""
    if shlex.quote(word) == word:
        return word
    return f'"{word}"' if PLAIN_IN_QUOTES.fullmatch(word) else shlex.quote(word)
