"""What the chapters derive: the ids that their cells confirm, read from the notebooks without running them."""

import ast
from functools import cache
from pathlib import Path

import nbformat
from augerbook.core.subject import Subject

HANDBOOK = Path(__file__).parents[2] / "handbook"
CONFIRMING = ("confirm", "confirm_value")


def chapter_of(subject: Subject) -> Path:
    """Where the chapter of a subject lies."""
    return HANDBOOK / f"{subject.number:02d}_{subject.name}.ipynb"


@cache
def confirmed_in(path: Path) -> dict[str, frozenset[str]]:
    """For each function that confirms, the ids its calls name; only ids written out count."""
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


def _without_magics(source: str) -> str:
    return "\n".join("pass" if line.startswith(("%", "!")) else line for line in source.splitlines())
