"""What docstrings say, held against the code they stand in: names, attributes, errors, units."""

import ast
import builtins
import inspect
import keyword
import re
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import augerbook
import pytest
from augerbook.chapters import whole_head
from augerbook.core.relation import Model
from augerbook.core.units import ureg
from augerbook.tables import references

PACKAGE = Path(augerbook.__file__).parent
MODULES = sorted(
    ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")
    for path in PACKAGE.rglob("*.py")
)
Documented = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef

QUOTED = re.compile(r"``?([A-Za-z_]\w*(?:\.\w+)*)(?:\(\))?``?")
SECTION = re.compile(r"^\s*(\w+):\n((?:\s+.*\n?)+)", re.MULTILINE)
#: How a docstring says in which unit a function computes.
UNITS = re.compile(r"\bSI\b|\bin (?:K|m|s|Pa|W|N|J|rad|kg/mol)\b|\((?:K|m|s|Pa|W|N|J|rad)\)|\bplain numbers?\b")


def documented(module: str) -> Iterator[tuple[Documented, str]]:
    """The module and all in it that has a docstring."""
    tree = ast.parse(inspect.getsource(import_module(module)))
    for node in ast.walk(tree):
        if isinstance(node, Documented) and (text := ast.get_docstring(node)):
            yield node, text


def names_in(node: ast.AST) -> set[str]:
    """All names that occur in a piece of code: arguments, attributes, variables, keywords, short texts."""
    found: set[str] = set()
    for inner in ast.walk(node):
        for field in ("id", "attr", "arg", "name"):
            if isinstance(name := getattr(inner, field, None), str):
                found.add(name)
        if isinstance(inner, ast.Constant) and isinstance(inner.value, str) and len(inner.value) < 60:
            found.add(inner.value)
    return found


def everything() -> set[str]:
    """The names that any docstring may use: what the package defines, keys of builds and of references."""
    found = {*dir(builtins), *keyword.kwlist, *references(), "interact", "math", "numpy", "pint", "scipy"}
    for module in MODULES:
        loaded = import_module(module)
        found |= {*module.split("."), *(name for name in vars(loaded) if not name.startswith("__"))}
        for value in vars(loaded).values():
            if inspect.isclass(value) and value.__module__.startswith("augerbook"):
                found |= set(dir(value)) | set(getattr(value, "__annotations__", {}))
    files = {"py", "toml", "csv"}
    return found | files | set(dir(ureg)) | {"degC", "delta_degC"} | set(whole_head().declared)


def errors() -> set[str]:
    """The errors that Python, pint and the package know."""
    spaces = {"": builtins, "pint.": import_module("pint"), **{f"{m}.": import_module(m) for m in MODULES}}
    return {
        name if space.startswith("augerbook") else space + name
        for space, loaded in spaces.items()
        for name, value in vars(loaded).items()
        if inspect.isclass(value) and issubclass(value, Exception)
    }


KNOWN, ERRORS = everything(), errors()


def where(module: str, node: Documented) -> str:
    return f"{module}, {getattr(node, 'name', 'the module itself')}"


@pytest.mark.slow
@pytest.mark.parametrize("module", MODULES)
def test_names_that_a_docstring_quotes_exist(module: str) -> None:
    for node, text in documented(module):
        inside = names_in(node) | KNOWN
        strange = [name for name in QUOTED.findall(text) if not set(name.split(".")) <= inside]
        assert not strange, f"{where(module, node)}: no such name: {strange}"


def attributes_of(node: ast.ClassDef) -> set[str]:
    """What the body of a class declares or assigns to itself."""
    return {name for statement in node.body for name in names_in(statement)}


@pytest.mark.parametrize("module", MODULES)
def test_sections_of_a_docstring_fit_the_code(module: str) -> None:
    for node, text in documented(module):
        for title, body in SECTION.findall(inspect.cleandoc(text) + "\n"):
            entries = re.findall(r"^ {4}([\w.]+(?:, [\w.]+)*):", body, re.MULTILINE)
            listed = [name for entry in entries for name in entry.split(", ")]
            if title == "Attributes":
                assert isinstance(node, ast.ClassDef), f"{where(module, node)} is no class, but lists attributes"
                absent = set(listed) - attributes_of(node)
                assert listed and not absent, f"{where(module, node)} has no attributes {sorted(absent)}"
            elif title == "Raises":
                assert isinstance(node, ast.FunctionDef | ast.ClassDef), f"{where(module, node)} raises nothing"
                strange = set(listed) - ERRORS
                assert listed and not strange, f"{where(module, node)}: no such error: {sorted(strange)}"


def models() -> list[tuple[str, Callable[..., Any], Model]]:
    """The models with a function of a public name, which a reader may call."""
    nodes = [node for node in whole_head().nodes.values() if isinstance(node, Model)]
    return [(node.id, node.function, node) for node in nodes if node.function.__name__[0] not in "_<"]


@pytest.mark.parametrize(("name", "function", "node"), models(), ids=lambda item: item if isinstance(item, str) else "")
def test_a_models_function_says_its_units_and_takes_what_it_declares(
    name: str, function: Callable[..., Any], node: Model
) -> None:
    text = inspect.getdoc(function) or ""
    assert UNITS.search(text), f"{name}: the docstring of {function.__name__} does not say in which units it computes"
    # Binding fails when the declared inputs are too many or too few for the function.
    inspect.signature(function).bind(*node.inputs)
