"""Which test holds which relation against something outside the project: read from the marks, run or not.

A test says so with ``@pytest.mark.outside("thrust.raise_arm", by="what it is held against")``.
"""

import ast
import importlib
import inspect
import textwrap
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
#: A test with one of these may not run: it does not count.
SILENCED = {"skip", "skipif", "xfail"}


@dataclass(frozen=True)
class OutsideTest:
    """A test that names the relations and models it checks, and by what."""

    name: str
    ids: tuple[str, ...]
    by: str
    faults: tuple[str, ...]


@cache
def outside_tests() -> tuple[OutsideTest, ...]:
    """All marked tests of the subjects, whichever of them are run. A module that cannot be imported has none."""
    found = []
    for path in sorted(HERE.glob("test_*.py")):
        if path.name in ("test_all_relations.py", "test_published.py"):
            continue
        try:
            module = importlib.import_module(f"tests.chapters.{path.stem}")
        except Exception as error:  # its own collection tells more
            found.append(OutsideTest(path.name, (), "", (f"cannot be imported: {error}",)))
            continue
        for name, function in vars(module).items():
            if callable(function) and getattr(function, "pytestmark", None):
                found += _read(f"{path.name}::{name}", function)
    return tuple(found)


def _read(name: str, function: Callable[..., Any]) -> list[OutsideTest]:
    marks = list(function.pytestmark)
    silenced = SILENCED & {mark.name for mark in marks}
    tests = []
    for mark in (mark for mark in marks if mark.name == "outside"):
        faults = [f"is marked {word}" for word in sorted(silenced)]
        if not name.partition("::")[2].startswith("test_"):
            faults.append("is no test: its name does not begin with test_")
        if not mark.args or not all(isinstance(arg, str) for arg in mark.args):
            faults.append("names no relation or model")
        if set(mark.kwargs) != {"by"} or not str(mark.kwargs["by"]).strip():
            faults.append("does not say what it is held against: by=...")
        if not _asserts(function):
            faults.append("asserts nothing")
        tests.append(OutsideTest(name, tuple(mark.args), str(mark.kwargs.get("by", "")), tuple(faults)))
    return tests


def _asserts(function: Callable[..., Any]) -> bool:
    """Whether something in the test, or in a function of its module that it calls, can fail."""
    function = inspect.unwrap(function)
    function = getattr(getattr(function, "hypothesis", None), "inner_test", function)
    seen: set[str] = set()
    todo = [function]
    while todo:
        tree = ast.parse(textwrap.dedent(inspect.getsource(todo.pop())))
        for node in ast.walk(tree):
            if isinstance(node, ast.Assert):
                return True
            if isinstance(node, ast.Call):
                called = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
                if called.startswith("assert_") or called == "raises":
                    return True
                helper = function.__globals__.get(called)
                if inspect.isfunction(helper) and helper.__module__ == function.__module__ and called not in seen:
                    seen.add(called)
                    todo.append(helper)
    return False
