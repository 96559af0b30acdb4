"""What a chapter is, and how its headings are found."""

import re
from itertools import pairwise
from pathlib import Path

CAUTIONS = "Cautions"

CHAPTER_NAME = re.compile(r"\d\d_[a-z_]+\.ipynb")


def is_chapter(path: Path) -> bool:
    """Whether the file name is that of a chapter, ``NN_name.ipynb``."""
    return CHAPTER_NAME.fullmatch(path.name) is not None


def headings(markdown: str) -> list[tuple[int, str]]:
    """Level and text of each heading in a Markdown cell, fenced code left out."""
    return [(level, text) for _, level, text in _numbered(markdown)]


def pieces(markdown: str) -> list[str]:
    """A Markdown text cut before each heading of level 2 but one that opens it."""
    lines = markdown.splitlines()
    cuts = [0, *(line for line, level, _ in _numbered(markdown) if level == 2 and line > 0), len(lines)]
    return ["\n".join(lines[start:end]) for start, end in pairwise(cuts)]


def _numbered(markdown: str) -> list[tuple[int, int, str]]:
    found, fenced = [], False
    for number, line in enumerate(markdown.splitlines()):
        if line.lstrip().startswith(("```", "~~~")):
            fenced = not fenced
        elif not fenced and (match := re.match(r"(#{1,6})\s+(.*?)\s*#*\s*$", line)):
            found.append((number, len(match[1]), match[2]))
    return found
