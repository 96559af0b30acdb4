"""What stands in a chapter, and in which order. The list of headings is typed here and nowhere else."""

import re
from dataclasses import dataclass, field
from pathlib import Path

from nbformat import NotebookNode

HEADINGS = (
    "The question",
    "Quantities and assumptions",
    "Derivation",
    "Worked example",
    "Explore",
    "What practice says",
    "Checks",
    "Questions",
    "Sources",
)
WITH_CODE = ("Derivation", "Worked example", "Explore", "Checks")
CAUTIONS = "Cautions"
CAUTIONS_AFTER = "Derivation"

CHAPTER_NAME = re.compile(r"\d\d_[a-z_]+\.ipynb")


@dataclass
class Section:
    """A level-2 heading and the kinds of cells below it."""

    heading: str
    cells: list[str] = field(default_factory=list)


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


def sections(notebook: NotebookNode) -> list[Section]:
    """The notebook cut at its level-2 headings; what stands before the first one is left out."""
    found: list[Section] = []
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            found += [Section(text) for level, text in headings(cell.source) if level == 2]
        if found:
            found[-1].cells.append(cell.cell_type)
    return found


def chapter_faults(notebook: NotebookNode) -> list[str]:
    """Where a chapter departs from the order all chapters share; empty if it does not."""
    faults = []
    titles = [
        text
        for cell in notebook.cells
        if cell.cell_type == "markdown"
        for level, text in headings(cell.source)
        if level == 1
    ]
    first = notebook.cells[0] if notebook.cells else None
    if len(titles) != 1 or first is None or first.cell_type != "markdown" or not headings(first.source):
        faults.append(f"a chapter has one title (# ...), in its first cell; found {titles or 'none'}")

    found = sections(notebook)
    names = [section.heading for section in found]
    regular = [name for name in names if name != CAUTIONS]
    faults += [f"the heading '## {name}' is missing" for name in HEADINGS if name not in regular]
    faults += [
        f"'## {name}' is not a chapter's heading ({', '.join(HEADINGS)}, {CAUTIONS}); use a level-3 heading"
        for name in regular
        if name not in HEADINGS
    ]
    faults += [f"the heading '## {name}' stands there twice" for name in HEADINGS if regular.count(name) > 1]
    in_order = [name for name in HEADINGS if name in regular]
    if not faults and regular != in_order:
        faults.append(f"the headings stand in the order {regular}; expected {in_order}")
    if CAUTIONS in names and CAUTIONS_AFTER in names and names.index(CAUTIONS) < names.index(CAUTIONS_AFTER):
        faults.append(f"'## {CAUTIONS}' stands before '## {CAUTIONS_AFTER}'; it belongs after it")
    faults += [
        f"there is no code cell under '## {section.heading}'"
        for section in found
        if section.heading in WITH_CODE and "code" not in section.cells
    ]
    return faults
