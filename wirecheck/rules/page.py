"""The claim kinds as a page in Markdown, made from their modules: what each claims, its conditions, and the {words} it fills.

`python -m wirecheck.rules.page` prints it; `docs/rules.md` ends with that text.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from typing import Any

from wirecheck.rules.conditions import describe
from wirecheck.rules.registry import about, claim_kinds, conditions_of, words_of

HEADING = "## The claim kinds"
EVERYWHERE = ("devices", "wires")
"""Words that every claim kind fills: the finding's devices and wires."""


def claim_kinds_page() -> str:
    """The page, from its heading on."""
    return "\n".join([HEADING, "", *(row for kind in claim_kinds() for row in _kind(kind))]).rstrip() + "\n"


def _kind(kind: str) -> Iterator[str]:
    yield f"### {kind}"
    yield ""
    yield about(kind)
    conditions: Mapping[str, Any] = conditions_of(kind)
    properties = conditions["properties"]
    if properties:
        yield from ("", "| condition | what it is | what may stand there |", "|---|---|---|")
    for name, schema in properties.items():
        needed = " Needed." if name in conditions.get("required", ()) else ""
        yield f"| `{name}` | {_cell(schema.get('description', ''))}{needed} | {_cell(_form(schema))} |"
    choices = [" with ".join(f"`{key}`" for key in c["required"]) for c in conditions.get("anyOf", ())]
    if choices:
        yield from ("", f"At least one of {', '.join(choices)} is needed.")
    words = sorted(words_of(kind) - set(EVERYWHERE))
    yield from ("", f"Words: {', '.join(f'`{{{word}}}`' for word in words)}.", "")


def _form(schema: Mapping[str, Any]) -> str:
    """What may stand at a condition; a choice of devices is explained once, above."""
    if "kind" in schema.get("required", ()):
        return "terminals, chosen as told above" if "anyOf" in schema else "devices, chosen as told above"
    if "items" in schema:
        return f"a list: {describe(schema['items'])}"
    return describe(schema)


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


if __name__ == "__main__":
    sys.stdout.write(claim_kinds_page())
