"""How a chapter reads: the answer first, little open to the eye, a figure every few cells, links that lead somewhere.

What is beyond school mathematics stands under a heading that is folded away (``jp-MarkdownHeadingCollapsed``); it is
complete once unfolded, and open where notebooks are shown as plain pages.
"""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import nbformat
from augerbook.chapters import whole_head
from nbformat import NotebookNode

from tests.handbook.anatomy import CAUTIONS, headings, pieces

HEADINGS = (
    "The answer first",
    "Before you start",
    "Derivation",
    "Break it",
    "Worked examples",
    "What practice says",
    "Checks",
    "Exercises",
    "Take home",
    "Sources",
)
#: Cells open to the eye, and how many of them may follow each other without a figure, up to the checks.
MOST_OPEN, MOST_WITHOUT_FIGURE = 60, 8
EXERCISES, TO_BREAK, EXAMPLES, TAKEN_HOME = 3, 2, 2, 5

#: A chapter takes a maker no longer. Words at the pace of adults who read English non-fiction, 238 a minute (Brysbaert,
#: How many words do we read per minute?, Journal of Memory and Language 109, 2019; from memory); the rest is
#: judgement.
MOST_MINUTES = 25.0
_A_WORD, _A_FIGURE, _A_FORMULA, _A_ROW = 1 / 238, 12 / 60, 6 / 60, 2 / 60
#: What is looked up, not read.
_LOOKED_UP = ("Checks", "Sources")

#: Names of results that are also everyday words: nobody would look for a link on them.
_EVERYDAY = {"friction give", "gas constant", "melt flow", "melt give", "wind up"}

_LINK = re.compile(r"\[([^\]]*)\]\(([^()\s]+)\)")
_MENTION = re.compile(r"\bchapters? (?:on(?! )?\s+[a-z]+|\d+)", re.IGNORECASE)


def _markdown(notebook: NotebookNode) -> Iterator[NotebookNode]:
    yield from (cell for cell in notebook.cells if cell.cell_type == "markdown")


def open_cells(notebook: NotebookNode) -> list[NotebookNode]:
    """The cells that a reader sees before unfolding anything."""
    seen: list[NotebookNode] = []
    folded = 7  # deeper than any heading
    for number, cell in enumerate(notebook.cells):
        found = headings(cell.source) if cell.cell_type == "markdown" else []
        if found and found[0][0] <= folded:
            folded = found[0][0] if cell.metadata.get("jp-MarkdownHeadingCollapsed") else 7
            seen.append(cell)
        elif folded == 7 and not (number == 1 and cell.cell_type == "code"):  # the imports
            seen.append(cell)
    return seen


def is_figure(cell: NotebookNode) -> bool:
    """Whether a cell shows a picture."""
    return any("image/png" in output.get("data", {}) for output in cell.get("outputs", []))


def minutes_to_read(notebook: NotebookNode) -> float:
    """How long a chapter takes to read from top to bottom: what is open, without the tables of checks and sources."""
    tables = {
        id(cell) for heading in _LOOKED_UP for cell in parts(notebook).get(heading, []) if cell.cell_type == "code"
    }
    minutes = 0.0
    for cell in open_cells(notebook):
        if id(cell) in tables:
            continue
        shown = "\n".join(_texts([cell]))
        for output in cell.get("outputs", []):
            shown += output.get("text", "") + ("$$$$" if "text/latex" in output.get("data", {}) else "")
        shown = re.sub(r"<details>.*?</details>", "", shown, flags=re.DOTALL)
        rows = [line for line in shown.splitlines() if line.startswith("|")]
        prose = "\n".join(line for line in shown.splitlines() if not line.startswith("|"))
        words = re.findall(r"[^\W\d_]+", re.sub(r"\$[^$]*\$|<[^>]*>", " x ", _LINK.sub(r"\1", prose)))
        minutes += _A_WORD * len(words) + _A_FORMULA * (prose.count("$$") // 2)
        minutes += _A_ROW * len(rows) + _A_FIGURE * is_figure(cell)
    return minutes


def calls(cell: NotebookNode, name: str) -> int:
    """How often a code cell calls ``book.name``."""
    if cell.cell_type != "code":
        return 0
    return sum(
        isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr == name
        for node in ast.walk(ast.parse(cell.source))
    )


def parts(notebook: NotebookNode) -> dict[str, list[NotebookNode]]:
    """The cells below each heading of level 2, in order. A cell with such a heading in its middle is cut there."""
    found: dict[str, list[NotebookNode]] = {}
    at = ""
    for cell in notebook.cells:
        for piece in _cut(cell):
            for level, text in headings(piece.source) if piece.cell_type == "markdown" else ():
                if level == 2:
                    at = text
                    found.setdefault(at, [])
            if at:
                found[at].append(piece)
    return found


def _cut(cell: NotebookNode) -> list[NotebookNode]:
    if cell.cell_type != "markdown" or len(pieces(cell.source)) == 1:
        return [cell]
    return [nbformat.from_dict({**cell, "source": piece}) for piece in pieces(cell.source)]


def reading_faults(notebook: NotebookNode) -> list[str]:
    """Where a chapter departs from how chapters read; empty if it does not."""
    titles = [text for cell in _markdown(notebook) for level, text in headings(cell.source) if level == 1]
    if len(titles) != 1 or not headings(notebook.cells[0].source):
        return [f"a chapter has one title (# ...), in its first cell; found {titles or 'none'}"]
    below = parts(notebook)
    order = [name for name in below if name != CAUTIONS]
    if order != list(HEADINGS):
        return [f"the headings are {order}; expected {list(HEADINGS)}, and {CAUTIONS} after the derivation"]
    faults = _order_of_cautions(list(below))

    def count(heading: str, name: str) -> int:
        return sum(calls(cell, name) for cell in below[heading])

    opening = "\n".join(_texts(below["The answer first"]))
    if not count("The answer first", "explore"):
        faults.append("no sliders (book.explore) stand under 'The answer first'")
    faults += [
        f"'The answer first' has no {what}"
        for what in ("*otter*", "*wren*", "Rule of thumb")
        if what.lower() not in opening.lower()
    ]
    before = "\n".join(_texts(below["Before you start"]))
    if not re.search(r"\]\(\w+\.ipynb", before):
        faults.append("'Before you start' links to no chapter")
    if not count("Before you start", "quantities_that_matter"):
        faults.append("'Before you start' has no table of the quantities that matter")
    broken = sum(level == 3 for cell in below["Break it"] if cell.cell_type == "markdown"
                 for level, _ in headings(cell.source))  # fmt: skip
    if broken < TO_BREAK:
        faults.append(f"'Break it' has {broken} places (### ...); at least {TO_BREAK}")
    if (found := count("Worked examples", "worked")) < EXAMPLES:
        faults.append(f"'Worked examples' has {found}; at least {EXAMPLES}")
    if (found := count("Exercises", "exercise")) != EXERCISES:
        faults.append(f"'Exercises' has {found} cells that tell right from wrong; {EXERCISES} are asked for")
    taken = [line for text in _texts(below["Take home"]) for line in text.splitlines() if line.startswith("- ")]
    if len(taken) != TAKEN_HOME:
        faults.append(f"'Take home' has {len(taken)} lines ('- ...'); {TAKEN_HOME} are asked for")
    if (minutes := minutes_to_read(notebook)) > MOST_MINUTES:
        faults.append(f"it takes {minutes:.1f} minutes to read; at most {MOST_MINUTES:g}")
    return faults + _open_faults(notebook) + list(unlinked_mentions(notebook))


def _order_of_cautions(names: list[str]) -> list[str]:
    if CAUTIONS in names and names.index(CAUTIONS) < names.index("Derivation"):
        return [f"'## {CAUTIONS}' stands before the derivation; it belongs after it"]
    return []


def _texts(cells: list[NotebookNode]) -> Iterator[str]:
    for cell in cells:
        if cell.cell_type == "markdown":
            yield cell.source
        for output in cell.get("outputs", []):
            yield output.get("data", {}).get("text/markdown", "")


def _open_faults(notebook: NotebookNode) -> list[str]:
    seen = open_cells(notebook)
    faults = [f"{len(seen)} cells are open to the eye; at most {MOST_OPEN}"] if len(seen) > MOST_OPEN else []
    since = 0
    for cell in seen:
        if cell.cell_type == "markdown" and (2, "Checks") in headings(cell.source):
            break
        since = 0 if is_figure(cell) else since + 1
        if since == MOST_WITHOUT_FIGURE + 1:
            faults.append(f"no figure within {MOST_WITHOUT_FIGURE} open cells before: {cell.source[:60]!r}")
    return faults


def unlinked_mentions(notebook: NotebookNode) -> Iterator[str]:
    """Mentions of another chapter that lead nowhere."""
    for cell in _markdown(notebook):
        for match in _MENTION.finditer(_LINK.sub("", cell.source)):
            yield f"'{match[0]}' is no link, in the cell that begins {cell.source[:40]!r}"


def unlinked_quantities(notebook: NotebookNode, own: str) -> Iterator[str]:
    """Results of another chapter that a part of the chapter ``own`` names without a link to that chapter."""
    foreign = [q for q in whole_head().producer if q.owner != own]
    named = {words.lower(): q.owner for q in foreign for words in (q.name_in_words, q.key.replace("_", " "))}
    named = {words: owner for words, owner in named.items() if " " in words and words not in _EVERYDAY}
    names = re.compile(rf"\b({'|'.join(sorted(map(re.escape, named), key=len, reverse=True))})\b")
    for heading, cells in parts(notebook).items():
        text = " ".join(cell.source for cell in cells if cell.cell_type == "markdown")
        led_to = {match[2].partition("#")[0][3:].removesuffix(".ipynb") for match in _LINK.finditer(text)}
        for match in names.finditer(" ".join(_LINK.sub(" @ ", text).lower().split())):
            if (owner := named[match[1]]) not in led_to:
                led_to.add(owner)
                yield (
                    f"'{match[1]}' belongs to the chapter {owner}, and nothing under '{heading}' leads there: link it, "
                    "call it otherwise, or, if everybody says so, add it to _EVERYDAY in tests/handbook/reading.py"
                )


def links(notebook: NotebookNode) -> Iterator[str]:
    """The targets of all links in text and in outputs."""
    for text in _texts(notebook.cells):
        yield from (match[2] for match in _LINK.finditer(text))


def dead_links(path: Path) -> list[str]:
    """Links of a notebook to a file of the handbook, or to a heading in it, that is not there."""
    dead = []
    for target in links(nbformat.read(path, as_version=4)):
        if "://" in target:
            continue
        name, _, anchor = target.partition("#")
        file = path.parent / name if name else path
        known = file.is_file() and (
            not anchor or file.suffix != ".ipynb" or anchor in anchors(nbformat.read(file, as_version=4))
        )
        if not known:
            dead.append(target)
    return dead


def anchors(notebook: NotebookNode) -> set[str]:
    """The names under which headings can be linked to."""
    return {text.replace(" ", "-") for cell in _markdown(notebook) for _, text in headings(cell.source)}
