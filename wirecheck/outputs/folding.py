"""Long lists of faults made short: by kind, wires by their number."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from wirecheck.behaviour.faults import Fault

HEADS: Mapping[str, tuple[str, str]] = {
    "wire open": ("wires open", " open"),
    "earthed": ("wires earthed", " earthed"),
    "shorted": ("cores shorted", ""),
    "stuck open": ("stuck open", " stuck open"),
    "welded": ("welded", " welded"),
    "excluded": ("welded", " welded"),
    "coil open": ("coils open", " coil open"),
    "stuck in": ("stuck in", " stuck in"),
    "source lost": ("supplies lost", " lost"),
    "input stuck": ("drive inputs", ""),
}
"""For each kind of fault what stands in front of a list of them, and what its words end in."""


def folded(faults: Sequence[Fault], runs: Mapping[str, int]) -> str:
    """Faults in few words, by kind: `wires open 2, 5 [S3:12–S4:13]; welded K1:13-14`.

    `runs` says into how many single wires each wire number is divided; where all of them are here, the number is enough.
    """
    kinds = dict.fromkeys(fault.kind for fault in faults)
    return "; ".join(_of_kind(kind, [f for f in faults if f.kind == kind], runs) for kind in kinds)


def _of_kind(kind: str, faults: Sequence[Fault], runs: Mapping[str, int]) -> str:
    head, tail = HEADS[kind]
    words = [fault.text.removesuffix(tail).removeprefix("wire ") for fault in faults]
    if kind == "wire open":
        here = Counter(fault.wires[0] for fault in faults)
        whole = {number for number in here if here[number] == runs.get(number)}
        words = [fault.wires[0] if fault.wires[0] in whole else word for fault, word in zip(faults, words, strict=True)]
    if kind == "shorted":
        words = _by_cable(words)
    return f"{head} {', '.join(dict.fromkeys(words))}"


def _by_cable(words: Iterable[str]) -> list[str]:
    """`W2: 3 shorted to 5, 3 to 6` for the pairs of one cable."""
    pairs: dict[str, list[str]] = {}
    for word in words:
        cable, _, pair = word.partition(": ")
        pairs.setdefault(cable, []).append(pair.replace(" shorted to ", " to "))
    return [f"{cable} {', '.join(each)}" for cable, each in pairs.items()]


def runs_of(faults: Iterable[Fault]) -> Mapping[str, int]:
    """Into how many single wires each number is divided."""
    return Counter(fault.wires[0] for fault in faults if fault.kind == "wire open")
