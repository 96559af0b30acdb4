"""What a chapter is, and how its headings are found."""

import re
from pathlib import Path

CAUTIONS = "Cautions"

CHAPTER_NAME = re.compile(r"\d\d_[a-z_]+\.ipynb")


def is_chapter(path: Path) -> bool:
    """Whether the file name is that of a chapter, ``NN_name.ipynb``."""
    return CHAPTER_NAME.fullmatch(path.name) is not None


def headings(markdown: str) -> list[tuple[int, str]]:
    """Level and text of each heading in a Markdown cell, fenced code left out."""
    found, fenced = [], False
    for line in markdown.splitlines():
        if line.lstrip().startswith(("```", "~~~")):
            fenced = not fenced
        elif not fenced and (match := re.match(r"(#{1,6})\s+(.*?)\s*#*\s*$", line)):
            found.append((len(match[1]), match[2]))
    return found
