"""HTML, with the one escaping that it needs: whatever is text cannot become markup."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from wirecheck.errors import visible


class Markup(str):
    """Text that is markup already: made by `element` and by nothing else."""

    __slots__ = ()


def element(tag: str, content: str | Sequence[str], cls: str = "", **attributes: str) -> Markup:
    """An element. A plain string is text and is escaped; what other elements made stays as it is.

    >>> element("td", "<b>", cls="x")
    '<td class="x">&lt;b&gt;</td>'
    """
    given = ({"class": cls} if cls else {}) | attributes
    words = "".join(f' {name}="{escape(value)}"' for name, value in given.items())
    parts = [content] if isinstance(content, str) else content
    return Markup(f"<{tag}{words}>{''.join(map(_safe, parts))}</{tag}>")


def _safe(text: str) -> str:
    return text if isinstance(text, Markup) else escape(visible(text))


def page(title: str, style: str, body: Markup) -> str:
    """A whole page. It may load nothing and run nothing, whatever stands in it."""
    policy = "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
    head = (
        '<meta charset="utf-8">'
        f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"{element('title', title)}<style>{style}</style>"
    )
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head>\n<body>{body}</body></html>\n'
