"""Executes the notebooks and stores them the way they are committed.

    python tests/handbook/refresh.py                  execute all notebooks, write what changed
    python tests/handbook/refresh.py 03_screw start   only these
    python tests/handbook/refresh.py --check          write nothing, show the difference
    python tests/handbook/refresh.py --clean-only     do not execute, only strip what is never committed

Committed are text outputs, figures, and execution counts from 1 on, without which pytest's nbval takes a cell for one
that never ran. Not committed are widget state and views, and whatever tells of the machine: they change with every
run, and saved widget state breaks rendering.
"""

import argparse
import asyncio
import difflib
import json
import os
import re
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from tests.handbook import quick_start  # noqa: E402, F401, I001  # before what it makes quick

import nbformat  # noqa: E402
from nbclient import NotebookClient  # noqa: E402
from nbclient.exceptions import CellExecutionError, CellTimeoutError, DeadKernelError  # noqa: E402
from nbformat import NotebookNode  # noqa: E402

from tests.handbook import pictures  # noqa: E402

HANDBOOK = ROOT / "handbook"
# A cell of its own for any kernel; '%run' would tell of an error and go on.
MOVE_SLIDERS = f"import runpy\n_ = runpy.run_path({str(Path(__file__).with_name('sliders.py'))!r})"

SECONDS_PER_CELL = 120
WIDGET_VIEW = "application/vnd.jupyter.widget-view+json"
KERNEL = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
LANGUAGE = {"name": "python"}
# What a reader or a test relies on; everything else in a cell's metadata comes from an editor.
KEPT_CELL_METADATA = {
    "tags": None,
    "jupyter": {"source_hidden", "outputs_hidden"},
    "jp-MarkdownHeadingCollapsed": None,  # what stands below that heading is folded away
}
MEMORY_ADDRESS = re.compile(r"\b0x[0-9a-fA-F]{6,}\b")


class NotebookError(Exception):
    """A notebook that cannot be stored: the message names the notebook, the cell and the reason."""


def notebooks(names: Iterable[str] = ()) -> list[Path]:
    """Paths of the named notebooks (stem, file name or path), or of the whole handbook."""
    found = []
    for name in names:
        given = Path(name)
        candidates = [given, HANDBOOK / given.name, HANDBOOK / f"{given.name}.ipynb"]
        path = next((c for c in candidates if c.suffix == ".ipynb" and c.is_file()), None)
        if path is None:
            known = ", ".join(sorted(p.stem for p in HANDBOOK.glob("*.ipynb"))) or "none yet"
            raise NotebookError(f"There is no notebook {name!r}. In handbook/ there are: {known}.")
        found.append(path.resolve())
    return found or sorted(HANDBOOK.glob("*.ipynb"))


def parse(text: str) -> NotebookNode:
    """A notebook from its JSON text. Cells without an id get one from their place: cell-01, cell-02, ..."""
    raw = json.loads(text)
    raw["nbformat_minor"] = max(5, raw.get("nbformat_minor", 5))
    taken = {cell["id"] for cell in raw["cells"] if "id" in cell}
    for place, cell in enumerate(raw["cells"], 1):
        if "id" not in cell:
            new = f"cell-{place:02d}"
            while new in taken:
                new += "x"
            taken.add(new)
            cell["id"] = new
    return nbformat.reads(json.dumps(raw), as_version=4)


def text_of(notebook: NotebookNode) -> str:
    """The JSON text that is committed: keys sorted, one space of indent, a newline at the end."""
    return nbformat.writes(notebook, version=4).rstrip("\n") + "\n"


def clean(notebook: NotebookNode) -> NotebookNode:
    """Strip, in place, everything that is never committed, and count the code cells. Returns the notebook."""
    notebook.metadata = nbformat.from_dict({"kernelspec": KERNEL, "language_info": LANGUAGE})
    for cell in notebook.cells:
        cell.metadata = _kept_metadata(cell.metadata)
    for count, cell in enumerate(code_cells(notebook), 1):
        cell.execution_count = count
        cell.outputs = _clean_outputs(cell.outputs, count)
        if count == 1:
            # A reader comes for the question, not for a page of imports: folded, one click opens them.
            cell.metadata.setdefault("jupyter", {})["source_hidden"] = True
    return notebook


def code_cells(notebook: NotebookNode) -> list[NotebookNode]:
    """The cells that a kernel runs."""
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def _clean_outputs(outputs: Iterable[NotebookNode], count: int) -> list[NotebookNode]:
    """The outputs without widget views and empty rests."""
    kept = []
    for output in outputs:
        output.pop("transient", None)
        if output.output_type == "execute_result":
            output.execution_count = count
        if output.output_type in ("display_data", "execute_result"):
            bare = _is_bare_widget(output)
            output.data.pop(WIDGET_VIEW, None)
            if bare or not output.data:
                continue
            output.metadata = nbformat.from_dict(
                {mime: value for mime, value in output.metadata.items() if mime in output.data}
            )
        kept.append(output)
    return kept


def _is_bare_widget(output: NotebookNode) -> bool:
    """Whether the output is a widget that a cell ends with: its view, and its Python form as text."""
    return set(output.get("data", {})) == {WIDGET_VIEW, "text/plain"}


def _kept_metadata(metadata: Mapping[str, Any]) -> NotebookNode:
    kept: dict[str, Any] = {}
    for key, inner in KEPT_CELL_METADATA.items():
        value = metadata.get(key)
        if inner is not None and value:
            value = {k: v for k, v in value.items() if k in inner}
        if value:
            kept[key] = value
    return nbformat.from_dict(kept)


def texts(output: NotebookNode) -> list[str]:
    """Every piece of text in one output."""
    if output.output_type == "stream":
        return [output.text]
    if output.output_type == "error":
        return [_without_colours("\n".join(output.traceback))]
    return [text for mime, text in output.data.items() if mime.startswith("text/") or mime == "image/svg+xml"]


def _without_colours(text: str) -> str:
    return re.sub(r"\x1b\[[0-9;]*m", "", text)


def output_faults(notebook: NotebookNode) -> list[str]:
    """What no stored output may hold: errors, warnings on stderr, memory addresses."""
    faults = []
    for number, cell in enumerate(notebook.cells, 1):
        for output in cell.get("outputs", []):
            if _is_bare_widget(output):
                faults.append(
                    f"cell {number} ({cell.id}) shows a widget, of which only Python's text for it could be stored: "
                    f"display its view alone, with a picture that stands in for it (augerbook.page.stand_in)"
                )
            for text in texts(output):
                if output.output_type == "error" or output.get("name") == "stderr":
                    faults.append(f"cell {number} ({cell.id}) wrote an error or warning:\n{text.rstrip()}")
                elif address := MEMORY_ADDRESS.search(text):
                    faults.append(
                        f"cell {number} ({cell.id}) shows the memory address {address[0]}, which changes "
                        f"with every run: end the cell with something that has a readable form, or with ';'"
                    )
    return faults


def execute(notebook: NotebookNode, name: str, folder: Path = HANDBOOK) -> NotebookNode:
    """Run all cells in a fresh kernel with ``folder`` as working directory, then move every slider.

    Returns the notebook, executed and cleaned. Raises ``NotebookError`` if a cell raises, takes longer than
    ``SECONDS_PER_CELL``, writes to stderr or shows a memory address, or if a slider's callback raises.
    """
    # In a thread of its own: the caller's may have an event loop running already (browser tests do).
    with ThreadPoolExecutor(max_workers=1) as own:
        own.submit(asyncio.run, _execute(notebook, name, folder)).result()
    return _checked(notebook, name)


def _checked(notebook: NotebookNode, name: str) -> NotebookNode:
    if faults := output_faults(notebook):
        raise NotebookError(f"{name}: " + "\n".join(faults))
    return clean(notebook)


async def _execute(notebook: NotebookNode, name: str, folder: Path) -> None:
    for cell in code_cells(notebook):
        cell.outputs, cell.execution_count = [], None
    client = NotebookClient(
        notebook,
        timeout=SECONDS_PER_CELL,
        kernel_name=KERNEL["name"],
        resources={"metadata": {"path": str(folder)}},
        store_widget_state=False,
        coalesce_streams=True,
        record_timing=False,
    )
    number = 0
    with tempfile.TemporaryDirectory() as scratch:
        async with client.async_setup_kernel(env=kernel_environment(scratch), transport_encryption="auto"):
            try:
                for number, cell in enumerate(list(notebook.cells), 1):
                    await client.async_execute_cell(cell, number - 1)
                await _move_sliders(client, name)
            except CellExecutionError as error:
                raise NotebookError(f"{name}: cell {number} raised:\n{_without_colours(str(error))}") from None
            except CellTimeoutError:
                raise NotebookError(f"{name}: cell {number} took longer than {SECONDS_PER_CELL} s") from None
            except DeadKernelError:
                raise NotebookError(f"{name}: the kernel died in cell {number}") from None


async def _move_sliders(client: NotebookClient, name: str) -> None:
    probe = nbformat.v4.new_code_cell(MOVE_SLIDERS)
    client.nb.cells.append(probe)  # the client executes only what is part of its notebook
    try:
        await client.async_execute_cell(probe, len(client.nb.cells) - 1, store_history=False)
    except CellExecutionError as error:
        raise NotebookError(f"{name}: a control fails when it is moved:\n{_without_colours(str(error))}") from None
    finally:
        client.nb.cells.pop()


def kernel_environment(scratch: str) -> dict[str, str]:
    """The environment of a notebook's kernel: without this machine's start-up files and backend."""
    environment = {key: value for key, value in os.environ.items() if key not in ("MPLBACKEND", "PYTHONWARNINGS")}
    # The second setting silences the debugger's remark on Python's frozen modules; nobody debugs here.
    return environment | {"IPYTHONDIR": scratch, "PYDEVD_DISABLE_FILE_VALIDATION": "1"}


def keep_equal_pictures(old: NotebookNode, new: NotebookNode) -> None:
    """Where a new PNG counts as the same picture as the stored one (``pictures``), keep the stored bytes.

    So a picture changes in the repository only when something moved, and never creeps: what is stored stays.
    """
    for _, before, after in _pictures_of_both(old, new):
        if not pictures.disagreement(before.data["image/png"], after.data["image/png"]):
            after.data["image/png"] = before.data["image/png"]


def _pictures_of_both(old: NotebookNode, new: NotebookNode) -> Iterator[tuple[str, NotebookNode, NotebookNode]]:
    stored = {cell.id: cell.get("outputs", []) for cell in old.cells}
    for number, cell in enumerate(new.cells, 1):
        for before, after in zip(stored.get(cell.id, []), cell.get("outputs", []), strict=False):
            if "image/png" in before.get("data", {}) and "image/png" in after.get("data", {}):
                yield f"cell {number} ({cell.id})", before, after


def refreshed(path: Path) -> str:
    """The text that ``path`` should hold: executed again, cleaned, equal pictures kept."""
    new = execute(parse(path.read_text(encoding="utf-8")), path.name, path.parent)
    return _stored_beside(path, new)


def with_outputs(path: Path, outputs: Sequence[Iterable[Mapping[str, Any]]]) -> str:
    """The text that ``path`` should hold, with these outputs of its code cells, which another has executed.

    Raises ``NotebookError`` if one of them may not be stored.
    """
    new = parse(path.read_text(encoding="utf-8"))
    for cell, fresh in zip(code_cells(new), outputs, strict=True):
        cell.outputs = [nbformat.from_dict(output) for output in fresh]
    return _stored_beside(path, _checked(new, path.name))


def _stored_beside(path: Path, new: NotebookNode) -> str:
    keep_equal_pictures(parse(path.read_text(encoding="utf-8")), new)
    return text_of(new)


def cleaned(path: Path) -> str:
    """The text that ``path`` should hold, without executing anything."""
    return text_of(clean(parse(path.read_text(encoding="utf-8"))))


def difference(stored: str, fresh: str, name: str) -> str:
    """A unified diff a person can read; of pictures it is said in what they disagree."""
    before, after = ([_readable(line) for line in text.splitlines()] for text in (stored, fresh))
    names = f"{name} as committed", f"{name} executed again"
    diff = list(difflib.unified_diff(before, after, *names, lineterm="", n=2))
    shown = diff[:120] + ([f"... and {len(diff) - 120} lines more"] if len(diff) > 120 else [])
    for where, old, new in _pictures_of_both(parse(stored), parse(fresh)):
        if said := pictures.disagreement(old.data["image/png"], new.data["image/png"]):
            shown.append(f"the picture of {where}: {said}")
    return "\n".join(shown or ["(the texts differ only in their line ends)"])


def _readable(line: str) -> str:
    if match := re.match(r'(\s*"image/png": )"([A-Za-z0-9+/=\\n]+)"', line):
        return f"{match[1]}<{pictures.in_words(match[2].replace(chr(92) + 'n', ''))}>"
    return line if len(line) <= 400 else f"{line[:400]} ..."


def _handle(path: Path, arguments: argparse.Namespace) -> tuple[str, bool]:
    """Refresh one notebook; returns what to print and whether all is well."""
    start = time.monotonic()
    stored = path.read_text(encoding="utf-8")
    try:
        fresh = cleaned(path) if arguments.clean_only else refreshed(path)
    except (NotebookError, nbformat.ValidationError, json.JSONDecodeError) as fault:
        return f"FAILED  {path.name}\n{fault}", False
    took = f"{path.name}  {time.monotonic() - start:.1f} s"
    if fresh == stored:
        return f"same    {took}", True
    if arguments.check:
        return f"DIFFERS {took}\n{difference(stored, fresh, path.name)}", False
    beside = path.with_suffix(".ipynb.new")
    beside.write_text(fresh, encoding="utf-8", newline="\n")
    beside.replace(path)
    return f"written {took}", True


def main(words: Sequence[str] | None = None) -> int:
    """Command line; returns 0 if all is well, 1 if a notebook failed or, with --check, differs."""
    reader = argparse.ArgumentParser(description="Execute the notebooks and store them as they are committed.")
    reader.add_argument("names", nargs="*", help="notebooks (03_screw, or a path); without any, all")
    reader.add_argument("--check", action="store_true", help="write nothing, show the difference")
    reader.add_argument("--clean-only", action="store_true", help="strip what is never committed, execute nothing")
    arguments = reader.parse_args(words)
    try:
        paths = notebooks(arguments.names)
    except NotebookError as fault:
        print(fault, file=sys.stderr)
        return 1
    well = True
    with ThreadPoolExecutor(max_workers=2) as pool:
        for message, fine in pool.map(lambda path: _handle(path, arguments), paths):
            print(message, flush=True)
            well = well and fine
    return 0 if well else 1


if __name__ == "__main__":
    sys.exit(main())
