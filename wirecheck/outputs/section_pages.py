"""A section of a plan whole: its keys, what each means, and a piece of a plan to copy."""

from __future__ import annotations

from wirecheck.outputs.kind_pages import key_lines
from wirecheck.outputs.text import closed, new_page
from wirecheck.plan.sections import ONE_OF, TOP_LEVEL, section_page, sections


def render_section(name: str, colour: bool = False, width: int = 100) -> str:
    """The page of one section, by its key in a plan."""
    needed, what = TOP_LEVEL[name]
    about, fragment = section_page(name)
    page = new_page(colour, width)
    page.paragraph(f"{name}: {what}{' (needed)' if needed else ''}", "strong")
    page.paragraph(about)
    one = ONE_OF[name]
    key_lines(page, "Keys" if one == name else f"Keys of one {one}", sections()[one])
    page.blank()
    page.paragraph("To copy:", "strong")
    page.verbatim(fragment.splitlines())
    return closed(page)
