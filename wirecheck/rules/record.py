"""A rule as a frozen record, and how it words its findings."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from wirecheck.findings import Evidence, Finding, Proof, Spot

WORD = re.compile(r"\{([a-z_]+)\}")
"""A place in a rule's text that is filled from the finding."""


_TWICE = re.compile(r"\b(?P<kind>\w[\w -]*) (?P<name>\S+) \((?P=kind)\)", re.IGNORECASE)


def said_once(text: str) -> str:
    """Text without a device's title where the same word stands in front of the device.

    >>> said_once("Pressing the emergency stop S1 (emergency stop) does not stop M1 (spindle).")
    'Pressing the emergency stop S1 does not stop M1 (spindle).'
    """
    return _TWICE.sub(r"\g<kind> \g<name>", text)


def _as_sentence(text: str) -> str:
    # Only an article: a designation stands as the plan has it.
    return text[:1].upper() + text[1:] if text.startswith(("the ", "a hot ")) else text


def join_words(words: Iterable[str], last: str = "and") -> str:
    """Words as a sentence has them; `last` stands before the last of them.

    >>> join_words(["S1", "S2", "K1"])
    'S1, S2 and K1'
    """
    items = list(words)
    return f"{', '.join(items[:-1])} {last} {items[-1]}" if len(items) > 1 else "".join(items)


def fill(text: str, words: Mapping[str, str]) -> str:
    """Text with its {words} filled in; KeyError where one is not known.

    Only whole `{word}` places are touched, and what is filled in is not read again: a brace in a device's title does no harm.

    >>> fill("{device} stays live", {"device": "T1 {drive}"})
    'T1 {drive} stays live'
    """
    return WORD.sub(lambda place: words[place[1]], text)


def in_capitals(text: str) -> str:
    """Text with its {words} in capitals, for where there is no finding to fill them from.

    >>> in_capitals("{device} stays live")
    'DEVICE stays live'
    """
    return WORD.sub(lambda place: place[1].replace("_", " ").upper(), text)


class Rule(NamedTuple):
    """What must hold. `claim` holds the conditions of the claim kind; `message` may be empty where the kind words it.

    `regions` are those in which it holds, none for all. A rule of the house's own has the `file` it stands in, and may stand in
    the place of a rule that it `replaces` or `tightens`. `told_by` names the rules of which a finding with the same cause says
    all that one of this rule would say; `follows_from` those whose finding on the same device is the cause of one of this rule.
    """

    name: str
    title: str
    severity: str
    kind: str
    claim: Mapping[str, object]
    why: str
    remedy: str
    sources: tuple[str, ...]
    since: str
    message: str = ""
    regions: tuple[str, ...] = ()
    file: str = ""
    replaces: str = ""
    tightens: str = ""
    told_by: tuple[str, ...] = ()
    follows_from: tuple[str, ...] = ()

    def holds_in(self, region: str) -> bool:
        """Whether plans of a region are judged by it."""
        return not self.regions or region in self.regions

    def finding(
        self,
        at: Spot,
        message: str = "",
        *,
        devices: Iterable[str] = (),
        wires: Iterable[str] = (),
        evidence: Evidence | None = None,
        severity: str | None = None,
        rests_on: Iterable[str] = (),
        **words: str,
    ) -> Finding:
        """A finding of this rule. `words` fill the {words} of its texts."""
        devices, wires = tuple(devices), tuple(wires)
        known = {"devices": join_words(devices), "wires": join_words(wires), **words}
        return Finding(
            rule=self.name,
            severity=severity or self.severity,
            # A message from the claim kind is finished already: a brace in it comes from the plan.
            message=_as_sentence(said_once(message or fill(self.message, known))),
            why=said_once(fill(self.why, known)),
            remedy=said_once(fill(self.remedy, known)),
            at=at,
            devices=devices,
            wires=wires,
            evidence=evidence or Evidence(),
            sources=self.sources,
            rests_on=tuple(rests_on),
        )

    def citing(self, source: str) -> Rule:
        """The same rule with one source more: that of the table or figure on which a finding rests."""
        return self if not source or source in self.sources else self._replace(sources=(*self.sources, source))

    def proof(self, states: int, faults: int = 0, condition_reached: bool = True) -> Proof:
        """The claim held in so many states, under so many faults."""
        return Proof(self.title, states, faults, condition_reached)
