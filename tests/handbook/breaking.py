"""For tests of the checks: the healthy sample, and how to put a fault into a copy."""

from pathlib import Path

from nbformat import NotebookNode

from tests.handbook import refresh

SAMPLE = Path(__file__).parent / "samples" / "01_sample.ipynb"


def cell_with(notebook: NotebookNode, words: str) -> NotebookNode:
    return next(cell for cell in notebook.cells if words in cell.source)


def exchange(notebook: NotebookNode, old: str, new: str) -> None:
    cell = cell_with(notebook, old)
    cell.source = cell.source.replace(old, new)


def save(notebook: NotebookNode, folder: Path) -> Path:
    path = folder / "01_sample.ipynb"
    path.write_text(refresh.text_of(notebook), encoding="utf-8")
    return path
