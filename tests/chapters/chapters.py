"""What the chapters derive or show: the ids that their cells name, read from the notebooks without running them."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import nbformat
from augerbook.core.subject import Subject

HANDBOOK = Path(__file__).parents[2] / "handbook"
CONFIRMING = ("confirm", "relation", "confirm_value")


def chapter_of(subject: Subject) -> Path:
    """Where the chapter of a subject lies."""
    return HANDBOOK / f"{subject.number:02d}_{subject.name}.ipynb"


def words_of(subject: Subject) -> str:
    """What a chapter's cells hold, text and code, in one line: a sentence may be broken anywhere."""
    notebook = nbformat.reads(chapter_of(subject).read_text(encoding="utf-8"), as_version=4)
    return " ".join(" ".join(cell.source for cell in notebook.cells).split())


@cache
def confirmed_in(path: Path) -> dict[str, frozenset[str]]:
    """For each function that confirms or shows, the ids its calls name; only ids written out count."""
    found: dict[str, set[str]] = {name: set() for name in CONFIRMING}
    for cell in nbformat.reads(path.read_text(encoding="utf-8"), as_version=4).cells:
        if cell.cell_type != "code":
            continue
        for node in ast.walk(ast.parse(_without_magics(cell.source))):
            if isinstance(node, ast.Call) and node.args and isinstance(node.args[0], ast.Constant):
                name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                if name in found:
                    found[name].add(str(node.args[0].value))
    return {name: frozenset(ids) for name, ids in found.items()}


def typed_again(path: Path) -> Iterator[tuple[str, Any]]:
    """What a chapter hands to ``confirm`` without having worked it out before: id and expression."""
    code = [
        c.source for c in nbformat.reads(path.read_text(encoding="utf-8"), as_version=4).cells if c.cell_type == "code"
    ]
    known: dict[str, Any] = {}
    exec("\n".join(line for line in code[0].splitlines() if line.startswith(("import ", "from "))), known)
    for node in (node for source in code for node in ast.walk(ast.parse(_without_magics(source)))):
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "book.confirm" and len(node.args) == 2:
            typed = {name.id for name in ast.walk(node.args[1]) if isinstance(name, ast.Name)}
            if typed <= known.keys():  # nothing in it comes from another cell
                yield ast.literal_eval(node.args[0]), eval(ast.unparse(node.args[1]), known)


def _without_magics(source: str) -> str:
    return "\n".join("pass" if line.startswith(("%", "!")) else line for line in source.splitlines())
