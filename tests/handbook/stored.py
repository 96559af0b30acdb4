"""What every stored notebook keeps to, chapter or not: small, clean, runnable from top to bottom."""

import ast
import base64
import re
from collections.abc import Iterator

from augerbook.draw.still import MOST_PICTURE_BYTES
from IPython.core.inputtransformer2 import TransformerManager
from nbformat import NotebookNode

from tests.handbook.refresh import WIDGET_VIEW, output_faults, texts

MOST_BYTES = 400_000
PICTURE_WORDS = "Picture: "
ABSOLUTE_PATH = re.compile(r"(?<![\w.:/])(/(?:home|root|tmp|usr|opt|var|mnt|srv|Users|work)/\w|[A-Z]:\\\w)")

_SCOPES = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
_OWN_NAMES = (ast.Lambda, ast.ListComp, ast.SetComp, ast.DictComp, ast.GeneratorExp)


def stored_faults(notebook: NotebookNode, size: int) -> list[str]:
    """Everything wrong with a stored notebook of ``size`` bytes; empty if nothing is."""
    faults = [f"the file has {size} bytes; at most {MOST_BYTES}"] if size > MOST_BYTES else []
    if "widgets" in notebook.metadata:
        faults.append("widget state is stored in the metadata")
    count = 0
    for number, cell in enumerate(notebook.cells, 1):
        where = f"cell {number} ({cell.id})"
        faults += [f"{where} holds the absolute path {path}" for path in _absolute_paths(cell)]
        if cell.cell_type != "code":
            continue
        count += 1
        counted = [cell.execution_count, *(o.execution_count for o in cell.outputs if "execution_count" in o)]
        if any(found != count for found in counted):
            faults.append(f"{where} has the execution count {counted}; as code cell number {count} it has {count}")
        for output in cell.outputs:
            faults += [f"{where} {fault}" for fault in _picture_faults(output)]
            if WIDGET_VIEW in output.get("data", {}):
                faults.append(f"{where} stores a view of a widget that is no longer there")
    return faults + output_faults(notebook) + code_faults(notebook)


def _absolute_paths(cell: NotebookNode) -> Iterator[str]:
    for text in [cell.source, *(text for output in cell.get("outputs", []) for text in texts(output))]:
        for match in ABSOLUTE_PATH.finditer(text):
            yield match[0] + "..."


def _picture_faults(output: NotebookNode) -> Iterator[str]:
    png = output.get("data", {}).get("image/png")
    if png is None:
        return
    if (size := len(base64.b64decode(png))) > MOST_PICTURE_BYTES:
        yield f"has a picture of {size} bytes; at most {MOST_PICTURE_BYTES}"
    if not output.data.get("text/plain", "").startswith(PICTURE_WORDS):
        yield f"has a picture without a description: its text/plain must begin with '{PICTURE_WORDS}'"


def code_faults(notebook: NotebookNode) -> list[str]:
    """Imports outside the first code cell, star imports, names that a later cell binds again."""
    faults = []
    bound: dict[str, int] = {}
    first = True
    for number, cell in enumerate(notebook.cells, 1):
        if cell.cell_type != "code":
            continue
        where = f"cell {number} ({cell.id})"
        tree = ast.parse(TransformerManager().transform_cell(cell.source))
        for node in ast.walk(tree):
            if isinstance(node, ast.Import | ast.ImportFrom):
                if not first:
                    faults.append(f"{where} imports; all imports stand in the first code cell")
                if any(alias.name == "*" for alias in node.names):
                    faults.append(f"{where} has a star import; name what is used")
        for name in sorted(set(_bindings(tree)) - {"_"}):
            if name in bound:
                faults.append(f"{where} binds {name!r} again, which cell {bound[name]} has bound; choose another name")
            bound.setdefault(name, number)
        first = False
    return faults


def _bindings(node: ast.AST) -> Iterator[str]:
    """Names that running ``node`` at the top level of a cell binds, those inside functions left out."""
    for child in ast.iter_child_nodes(node):
        if isinstance(child, _SCOPES):
            yield child.name
        elif isinstance(child, ast.Name) and not isinstance(child.ctx, ast.Load):
            yield child.id
        elif isinstance(child, ast.alias):
            yield (child.asname or child.name).split(".")[0]
        elif isinstance(child, ast.ExceptHandler) and child.name:
            yield child.name
            yield from _bindings(child)
        elif not isinstance(child, _OWN_NAMES):
            yield from _bindings(child)
