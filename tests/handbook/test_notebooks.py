"""Every notebook of the handbook: runs, differs in nothing from what is stored, is built like the others."""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from tests.handbook import anatomy, refresh, stored

NOTEBOOKS = refresh.notebooks()
CHAPTERS = [path for path in NOTEBOOKS if anatomy.is_chapter(path)]

each_notebook = pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)


def nbval(path: Path) -> subprocess.CompletedProcess[str]:
    """Run nbval over one notebook in a process of its own: its kernel and its settings are not ours."""
    command = [sys.executable, "-m", "pytest", "-c", os.devnull, f"--rootdir={path.parent}"]
    command += ["-p", "no:cacheprovider", "-q", "--no-header", "--color=no"]
    for plugin in ("tests.handbook.quick_start", "nbval.plugin", "tests.handbook.nbval_rules"):
        command += ["-p", plugin]
    command += ["--nbval", "--nbval-current-env", f"--nbval-cell-timeout={refresh.SECONDS_PER_CELL}", str(path)]
    with tempfile.TemporaryDirectory() as scratch:
        return subprocess.run(
            command,
            cwd=refresh.ROOT,
            env=refresh.kernel_environment(scratch) | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )


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
    if faults := anatomy.chapter_faults(refresh.parse(path.read_text(encoding="utf-8"))):
        pytest.fail(f"{path.name}:\n" + "\n".join(faults), pytrace=False)


@pytest.mark.notebook
@each_notebook
def test_executed_again_nothing_differs(path: Path) -> None:
    try:
        fresh = refresh.refreshed(path)
    except refresh.NotebookError as fault:
        pytest.fail(str(fault), pytrace=False)
    committed = path.read_text(encoding="utf-8")
    if fresh != committed:
        pytest.fail(refresh.difference(committed, fresh, path.name), pytrace=False)


@pytest.mark.notebook
@each_notebook
def test_nbval_finds_the_same_outputs(path: Path) -> None:
    run = nbval(path)
    if run.returncode != 0:
        pytest.fail(run.stdout, pytrace=False)
