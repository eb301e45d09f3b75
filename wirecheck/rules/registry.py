"""The claim kinds by name. Each is a module of `wirecheck.rules.claims`, imported when it is first asked for."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from importlib import import_module, resources
from typing import TYPE_CHECKING, cast

from wirecheck.findings import Finding, Proof
from wirecheck.rules.record import Rule

if TYPE_CHECKING:
    from types import ModuleType

    from wirecheck.facts import Facts

Judge = Callable[[Rule, "Facts"], Iterable[Finding | Proof]]

CLAIMS = "wirecheck.rules.claims"


def claim_kinds() -> tuple[str, ...]:
    """The names of all claim kinds, in the alphabet's order."""
    files = (entry.name for entry in resources.files(CLAIMS).iterdir())
    return tuple(sorted(_kind_of(name) for name in files if name.endswith(".py") and not name.startswith("_")))


def judge_of(kind: str) -> Judge:
    """The function that judges claims of a kind."""
    return cast("Judge", _module(kind).judge)


def conditions_of(kind: str) -> Mapping[str, object]:
    """JSON Schema of the conditions that a claim of the kind may state."""
    return cast("Mapping[str, object]", _module(kind).CONDITIONS)


def known_to(kind: str, condition: str) -> Collection[str]:
    """The words that a condition may have where only the program knows them, none where the schema tells all."""
    known = getattr(_module(kind), "known", None)
    return known(condition) if known else ()


def words_of(kind: str) -> frozenset[str]:
    """The words that the texts of a rule of the kind may use."""
    return cast("frozenset[str]", _module(kind).WORDS) | {"devices", "wires"}


def _kind_of(file_name: str) -> str:
    return file_name.removesuffix(".py").replace("_", "-")


def _module(kind: str) -> ModuleType:
    return import_module(f"{CLAIMS}.{kind.replace('-', '_')}")


def about(kind: str) -> str:
    """What a claim of the kind says, in a sentence or two."""
    return " ".join((_module(kind).__doc__ or "").partition("\n\n")[0].split())
