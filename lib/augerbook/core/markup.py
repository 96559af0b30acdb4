"""What people typed, made inert for the place where it will stand: it shows as it is and does nothing."""

from __future__ import annotations

import re

#: Letters, digits and signs that mean nothing to Markdown, HTML, LaTeX or a forum, however they follow one another.
_HARMLESS = re.compile(r"(?:[^\W_]|[ ,;()'\"+%=°²³·–-]|\.(?![^\W\d])|:(?!//)|/(?!/))*")
#: A character without width: a bracket or a backtick before it no longer begins or ends anything.
_BREAK = "\u200b"
_BEGINS = re.compile(r"[\[<`](?=\S)")


def one_line(text: str) -> str:
    """Return ``text`` on one line: what cannot be printed becomes a space, and spaces stand single."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())


def for_plain(text: str) -> str:
    """Return ``text`` for BBCode and plain text, which have no way to write a bracket that means nothing."""
    return _BEGINS.sub(lambda found: found[0] + _BREAK, one_line(text))


def for_markdown(text: str) -> str:
    """Return ``text`` for a line of Markdown outside of tables: as code where anything in it could be more than text.

    Inside of code there are no tags, links, mentions and formulas, and what looks for formulas later leaves it alone.
    """
    line = one_line(text)
    if _HARMLESS.fullmatch(line):
        return line
    inside = re.sub(r"`(?=\S)", "`" + _BREAK, line)  # no two backticks follow one another now
    return f"`` {inside} ``" if "`" in inside else f"`{inside}`"
