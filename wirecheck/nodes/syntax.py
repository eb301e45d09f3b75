"""What is wrong with a text that is no YAML, in plain words."""

from __future__ import annotations

import yaml

MOST_DEPTH = 40
"""How deep lists and mappings may be nested; a plan needs seven."""

_SECOND_KEY = "a colon makes a second key on this line: put the text in quotes, or look at the indentation"
_PLAIN_WORDS = {
    "found character that cannot start any token": "this character cannot begin a word: put the word in quotes",
    "exceeded maximum nesting depth": f"the text is nested more than {MOST_DEPTH} deep",
    "found character '\\t' that cannot start any token": "a tab stands here: indent with spaces",
    "found character '": "this character cannot begin a word: put the word in quotes",
    "mapping values are not allowed in this context": _SECOND_KEY,
    "mapping values are not allowed here": _SECOND_KEY,
    "did not find expected ',' or '}'": "a comma or the closing } is missing",
    "did not find expected ',' or ']'": "a comma or the closing ] is missing",
    "expected ',' or '}', but got": "a comma or the closing } is missing",
    "expected ',' or ']', but got": "a comma or the closing ] is missing",
    "did not find expected key": "a key is expected here: look at the indentation and at the line above",
    "did not find expected '-' indicator": "a list goes on here: look at the indentation of the dash",
    "expected <block end>, but found": "the indentation does not fit what stands above",
    "could not find expected ':'": "a colon is missing after a key",
    "found undefined alias": "this alias names no anchor above it",
    "did not find expected <document start>": "the text goes on after its end",
    "found unexpected end of stream": "this quote is never closed",
    "found unknown escape character": "a backslash in double quotes: use single quotes",
}


def syntax_error(bad: yaml.MarkedYAMLError, lines: list[str]) -> tuple[int, int, str, str]:
    """Place and plain words of what the parser says."""
    mark = bad.problem_mark or bad.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    if line > len(lines) > 0:  # the end of the file: show its last line
        line, column = len(lines), len(lines[-1]) + 1
    problem = str(bad.problem or bad.context or "not YAML")
    if problem == "found unexpected end of stream" and bad.context_mark:  # a quote that is never closed: show where it begins
        line, column = bad.context_mark.line + 1, bad.context_mark.column + 1
    words = next((plain for begin, plain in _PLAIN_WORDS.items() if problem.startswith(begin)), problem)
    if "\t" in (lines[line - 1][:column] if lines else ""):
        words = "a tab stands here: indent with spaces"
    begun = bad.context_mark
    since = (
        f" (what is open began in line {begun.line + 1}, column {begun.column + 1})" if begun and begun.line + 1 != line else ""
    )
    return line, column, f"the text cannot be read as YAML: {words}{since}", ""
