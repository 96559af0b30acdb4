"""Every notebook of the handbook: runs, differs in nothing from what is stored, is built like the others."""

import ast
from pathlib import Path

import pytest

from tests.handbook import anatomy, reading, refresh, stored
from tests.handbook.nbval_run import differences

PACKAGE = refresh.ROOT / "lib" / "augerbook"
NOTEBOOKS = refresh.notebooks()
CHAPTERS = [path for path in NOTEBOOKS if anatomy.is_chapter(path)]

each_notebook = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)


def test_there_is_a_handbook() -> None:
    names = [path.stem for path in NOTEBOOKS]
    assert "start" in names, f"handbook/start.ipynb is missing; there are {names}"
    assert CHAPTERS, f"no chapter (NN_name.ipynb) in handbook/; there are {names}"


@each_notebook
def test_is_stored_clean(path: Path) -> None:
    faults = stored.stored_faults(refresh.parse(path.read_text(encoding="utf-8")), path.stat().st_size)
    if path.read_text(encoding="utf-8") != refresh.cleaned(path):
        faults.append(f"it is not stored the way it is committed: run tests/handbook/refresh.py {path.stem}")
    if faults:
        pytest.fail(f"{path.name}:\n" + "\n".join(faults), pytrace=False)


@pytest.mark.parametrize("path", CHAPTERS, ids=lambda path: path.stem)
def test_has_the_anatomy_of_a_chapter(path: Path) -> None:
    if faults := reading.reading_faults(refresh.parse(path.read_text(encoding="utf-8"))):
        pytest.fail(f"{path.name}:\n" + "\n".join(faults), pytrace=False)


@each_notebook
def test_its_links_lead_somewhere(path: Path) -> None:
    assert reading.dead_links(path) == []


@pytest.mark.slow
@pytest.mark.parametrize("path", CHAPTERS, ids=lambda path: path.stem)
def test_where_a_result_of_another_chapter_is_named_a_link_leads_there(path: Path) -> None:
    notebook = refresh.parse(path.read_text(encoding="utf-8"))
    if faults := list(reading.unlinked_quantities(notebook, own=path.stem.partition("_")[2])):
        pytest.fail(f"{path.name}:\n" + "\n".join(faults), pytrace=False)


@each_notebook
def test_begins_with_namespaces(path: Path) -> None:
    """What it needs of the library are rooms, not names out of them; of SymPy the whole."""
    rooms, names = [], []
    for cell in refresh.code_cells(refresh.parse(path.read_text(encoding="utf-8"))):
        for node in ast.walk(ast.parse(cell.source)):
            if isinstance(node, ast.ImportFrom) and (node.module or "").partition(".")[0] in ("augerbook", "sympy"):
                for alias in node.names:
                    place = PACKAGE.joinpath(*(node.module or "").split(".")[1:], alias.name)
                    is_room = place.is_dir() or place.with_suffix(".py").is_file()
                    (rooms if is_room else names).append(f"{node.module}.{alias.name}")
    assert names == []
    assert len(rooms) <= 12


@pytest.mark.notebook
@each_notebook
def test_executed_again_nothing_differs(path: Path) -> None:
    if found := differences(path):
        pytest.fail("\n".join(found), pytrace=False)
