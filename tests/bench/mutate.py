"""How many deliberate errors the tests notice, room by room.

    python tests/bench/mutate.py                  twenty in each room
    python tests/bench/mutate.py --count 5 core chapters/screw
    python tests/bench/mutate.py --seed 2 --list draw

Each error is one small change of one place: another number, plus for minus, times for divided by, less for greater, the
larger for the smaller. The library is copied, the error planted in the copy, and the room's tests are run on it until
one fails, the fast ones first; then the chapter's notebook is executed and compared, as the README's test command does;
then all fast tests.
Survivors are listed: each is a test to write, or a place where the change changes nothing.
"""

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "lib" / "augerbook"
SECONDS = 900
SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult,
    ast.Lt: ast.GtE, ast.LtE: ast.Gt, ast.Gt: ast.LtE, ast.GtE: ast.Lt, ast.And: ast.Or, ast.Or: ast.And,
}  # fmt: skip
EXCHANGED = {
    "smallest": "largest",
    "largest": "smallest",
    "min": "max",
    "max": "min",
    "sin": "cos",
    "cos": "sin",
    "minimum": "maximum",
}


@dataclass(frozen=True)
class Error:
    """One planted error: the file, the place in the tree, and what it says before and after."""

    path: Path
    place: int
    line: int
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.path.relative_to(PACKAGE)}:{self.line}: {self.before} -> {self.after}"


def rooms() -> dict[str, list[Path]]:
    """The modules of each room, a chapter each; the package's own modules are one room."""
    found: dict[str, list[Path]] = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).parts[:-1]
        found.setdefault(
            "/".join(parts[:2]) if parts[:1] == ("chapters",) else "/".join(parts[:1]) or "top", []
        ).append(path)
    return found


def tests_of(room: str) -> list[str]:
    """The test files that stand nearest to a room."""
    if room.startswith("chapters/"):
        name = room.partition("/")[2]
        own = sorted(str(path.relative_to(ROOT)) for path in (ROOT / "tests/chapters").glob(f"test_{name}*.py"))
        return [
            *own,
            *(f"tests/chapters/test_{word}.py" for word in ("limits", "measured", "published", "all_relations")),
        ]
    folder = {"top": "tests/test_checks.py", "chapters": "tests/chapters/test_all_relations.py"}.get(
        room, f"tests/{room}"
    )
    return [folder]


def stages(room: str) -> Iterator[list[str]]:
    """What pytest is asked to run for an error in a room, one after another until something fails."""
    for mark in ("fast", "slow"):
        yield ["-m", mark, *tests_of(room)]
    for notebook in sorted((ROOT / "handbook").glob(f"*_{room.partition('/')[2]}.ipynb")):
        yield [f"tests/handbook/test_notebooks.py::test_executed_again_nothing_differs[{notebook.stem}]"]
    yield ["-m", "fast", "tests"]


def changes(tree: ast.AST) -> Iterator[tuple[int, ast.AST, str, str]]:
    """Every change that can be made: number of the node in the tree, the changed node, before and after in words."""
    spoken = {
        id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    for place, node in enumerate(ast.walk(tree)):
        if id(node) in spoken:
            continue
        before = ast.unparse(node) if isinstance(node, ast.expr) else ""
        changed: ast.AST | None = None
        if isinstance(node, ast.Constant) and type(node.value) in (int, float) and node.value not in (0, 1):
            changed = ast.Constant(node.value * 1.25 if isinstance(node.value, float) else node.value + 1)
        elif isinstance(node, ast.BinOp) and type(node.op) in SWAPPED and "'" not in before and '"' not in before:
            changed = ast.BinOp(node.left, SWAPPED[type(node.op)](), node.right)  # type: ignore[arg-type]
        elif isinstance(node, ast.Compare) and len(node.ops) == 1 and type(node.ops[0]) in SWAPPED:
            changed = ast.Compare(node.left, [SWAPPED[type(node.ops[0])]()], node.comparators)  # type: ignore[list-item]
        elif isinstance(node, ast.BoolOp):
            changed = ast.BoolOp(SWAPPED[type(node.op)](), node.values)  # type: ignore[arg-type]
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in EXCHANGED:
            changed = ast.Call(ast.Name(EXCHANGED[node.func.id], ast.Load()), node.args, node.keywords)
        if changed is not None:
            yield place, changed, before, ast.unparse(ast.fix_missing_locations(changed))


class Replace(ast.NodeTransformer):
    """Puts another node in the place of one."""

    def __init__(self, target: ast.AST, changed: ast.AST) -> None:
        self.target, self.changed = target, changed

    def visit(self, node: ast.AST) -> ast.AST:
        """Exchange the target, go on below everything else."""
        return self.changed if node is self.target else super().visit(node)


def sites(path: Path) -> list[Error]:
    """The errors that can be planted in one module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = list(ast.walk(tree))
    return [
        Error(path, place, getattr(nodes[place], "lineno", 0), before[:70], after[:70])
        for place, _, before, after in changes(tree)
    ]


def planted(error: Error) -> str:
    """The module's source with the error in it. Names that the change needs are imported where the old ones were."""
    source = error.path.read_text(encoding="utf-8")
    tree = ast.parse(source)
    changed = next(node for place, node, *_ in changes(tree) if place == error.place)
    text = ast.unparse(ast.fix_missing_locations(Replace(list(ast.walk(tree))[error.place], changed).visit(tree)))
    text = text.replace("from sympy import ", "from sympy import sin, cos, ", 1)
    extremes = "from augerbook.core.extremes import "
    return text.replace(extremes, f"{extremes}largest, smallest, ", 1)


def noticed(error: Error, room: str) -> bool:
    """Whether any test fails with the error planted."""
    with tempfile.TemporaryDirectory() as scratch:
        shutil.copytree(
            PACKAGE.parent, Path(scratch) / "lib", ignore=shutil.ignore_patterns("__pycache__", "*.egg-info")
        )
        copy = Path(scratch) / "lib" / error.path.relative_to(PACKAGE.parent)
        copy.write_text(planted(error), encoding="utf-8")
        (Path(scratch) / "data").symlink_to(ROOT / "data")
        around = os.environ | {"PYTHONPATH": str(Path(scratch) / "lib")}
        around.pop("PYTHONDONTWRITEBYTECODE", None)  # pytest would read every test anew for each error
        command = [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
        for tests in stages(room):
            run = subprocess.run(
                [*command, *tests, "--deselect=tests/test_habits.py", "--ignore=tests/test_requirements.py"],
                cwd=ROOT, env=around, stdin=subprocess.DEVNULL, capture_output=True, timeout=SECONDS,
            )  # fmt: skip
            if run.returncode not in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED):
                return True
    return False


def main() -> int:
    """Plant errors and report the rate that was noticed in each room."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("rooms", nargs="*", help="rooms such as core or chapters/screw; all without")
    parser.add_argument("--count", type=int, default=20, help="errors in each room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--list", action="store_true", help="only list the errors")
    asked = parser.parse_args()
    known = rooms()
    if unknown := set(asked.rooms) - set(known):
        parser.error(f"there is no room {', '.join(sorted(unknown))}: there are {', '.join(known)}")
    draw = random.Random(asked.seed)
    for room in asked.rooms or known:
        found = [error for path in known[room] for error in sites(path)]
        errors = draw.sample(found, min(asked.count, len(found)))
        if asked.list or not errors:
            print(f"{room}: {len(found)} places", *errors, sep="\n    ", flush=True)
            continue
        count = 0
        with ThreadPoolExecutor(2) as pool:
            for error, by_a_test in zip(errors, pool.map(noticed, errors, [room] * len(errors)), strict=True):
                count += by_a_test
                print(f"    {'noticed' if by_a_test else 'NOT NOTICED'}: {error}", flush=True)
        print(f"{room}: {count} of {len(errors)} noticed ({len(found)} places)", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main())
