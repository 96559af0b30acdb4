"""The habits of the repository: lint, types, one version, one set-up line, arrows that point one way."""

import ast
import json
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, datetime
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import augerbook
import pytest
import yaml
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.screw import net_volume
from augerbook.core.units import plain_unit
from augerbook.page.cite import worked

ROOT = Path(__file__).resolve().parents[1]
LIBRARY = ROOT / "lib"
PACKAGE = LIBRARY / "augerbook"
MODULES = sorted(PACKAGE.rglob("*.py"))

AT_THE_TOP = {
    *("README.md", "DEVELOPERS.md", "requirements.txt", "LICENSE", "CITATION.cff"),
    *("handbook", "lib", "tests", "data"),
}

# What each room and each module beside them may use: what stands before it, and itself.
ROOMS = (
    "packages",
    "core",
    "tables",
    "draw",
    "head",
    "chapters",
    "builds",
    "checks",
    "settle",
    "deciding",
    "page",
    "book",
)

# A text must make sense to whoever reads it elsewhere, and say nothing that was left for later.
UNWANTED = {
    r"(?<![\w.:/])/(?:home|root|Users|work)/\w": "a path on one person's machine",
    r"\b(?:TO" + r"DO|FIX" + r"ME|XX" + r"X)\b": "a mark of unfinished work",
    r"(?i)lorem " + "ipsum": "filler",
}
TEXTS = {".py", ".md", ".ipynb", ".toml", ".csv", ".txt", ".cff", ".ini", ".yaml", ""}


def run(*command: str) -> None:
    """Run a tool of this Python's environment at the top; fail with what it says."""
    done = subprocess.run(
        [sys.executable, "-m", *command],
        cwd=ROOT,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
    )
    if done.returncode != 0:
        pytest.fail(done.stdout, pytrace=False)


def complain(faults: list[str]) -> None:
    if faults:
        pytest.fail("\n".join(faults), pytrace=False)


# --- lint, format, types


@pytest.mark.pinned
def test_lint() -> None:
    run("ruff", "check", "--quiet", "lib", "tests", "handbook")


@pytest.mark.pinned
def test_format() -> None:
    run("ruff", "format", "--check", "lib", "tests", "handbook")


@pytest.mark.pinned
@pytest.mark.slow
def test_types() -> None:
    run("mypy", "--no-error-summary")


# --- files


def test_nothing_else_stands_at_the_top() -> None:
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert names == AT_THE_TOP


def texts() -> Iterator[Path]:
    for folder in ("lib", "tests", "handbook", "data", ".ci"):
        for path in sorted((ROOT / folder).rglob("*")):
            parts = path.relative_to(ROOT / folder).parts
            hidden = any(part.startswith((".", "__")) or part.endswith(".egg-info") for part in parts[:-1])
            if path.is_file() and path.suffix in TEXTS and not hidden:
                yield path
    yield from (path for path in sorted(ROOT.iterdir()) if path.is_file() and path.suffix in TEXTS)


@pytest.mark.slow
def test_texts_hold_nothing_unwanted() -> None:
    faults = []
    for path in texts():
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
            if path.suffix == ".ipynb" and '"image/png"' in line:
                continue
            faults += [
                f"{path.relative_to(ROOT)}:{number} holds {match[0]!r}, {reason}"
                for pattern, reason in UNWANTED.items()
                if (match := re.search(pattern, line))
            ]
    complain(faults)


# --- said once


def test_the_readme_cites_an_example_that_there_is() -> None:
    cited = re.search(r"`(screw\.net_volume:[0-9a-f]{8})`", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert cited and cited[1] == worked(net_volume, shipped_build("otter")).id


def test_the_citation_gives_the_version_of_the_package() -> None:
    citation = yaml.safe_load((ROOT / "CITATION.cff").read_text(encoding="utf-8"))
    assert citation["version"] == augerbook.__version__
    assert citation["date-released"] <= datetime.now(UTC).date()


def test_the_build_reads_the_version_from_the_package() -> None:
    project = tomllib.loads((LIBRARY / "pyproject.toml").read_text(encoding="utf-8"))
    assert "version" in project["project"]["dynamic"]
    assert project["tool"]["hatch"]["version"]["path"] == "augerbook/__init__.py"


def test_ci_runs_the_line_of_the_readme_and_the_oldest_versions_and_nothing_else() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    commands = [line for line in script.splitlines() if line and not line.startswith("#")]
    assert commands[:-2] == ["set -euo pipefail", 'cd "$(dirname "${BASH_SOURCE[0]}")/.."']
    assert commands[-2] in (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    assert commands[-1] == ".venv/bin/python tests/versions.py oldest"


@pytest.mark.slow
def test_the_citation_file_is_valid() -> None:
    run("check_jsonschema", "--builtin-schema", "vendor.citation-file-format", "CITATION.cff")


# --- units of axes

# An axis takes its unit from the quantity that it draws (`Quantity.axis`). These draw none, or not as it is shown.
UNITS_TYPED = {
    "block hotter by (K)": "a difference, where the temperature itself is in °C",
    "change (%)": "of whichever of three lengths",
    "diameter of the mean grain (mm)": "computed on the spot from a volume",
    "difference found (%)": "found by invented trials",
    "flow (% of that at work)": "a share of another flow",
    "flow over drag flow (%)": "a share of another flow",
    "mass a turn (mg)": "weighings over their turns",
    "mass below it (%)": "read off a distribution",
    "mass over the mean (%)": "a share of the mean",
    "part that has come through (%)": "a share of a step",
    "place along the line, 0 where it begins to be slow (mm)": "follows from a course in time, invented for the figure",
    "share below it (%)": "read off a distribution",
    "share of the draws below (%)": "counted on the spot",
    "share of voids (%)": "a plain number in the library",
    "share, chance (%)": "the chance is a plain number in the library",
    "time since the flow stopped (s)": "steps of a model",
    "water (% of the mass)": "the brackets say of what it is a share",
    "water left in the granules (% of the mass)": "the brackets say of what it is a share",
}
SHOWN_UNITS = {plain_unit(quantity.unit) for quantity in whole_head().quantities.values()} - {""}
LABELLED_BY = {"frame", "set_xlabel", "set_ylabel"}


def typed_units(code: str) -> Iterator[tuple[int, str]]:
    """Line and words of each text with a unit of some quantity in brackets, in a module that labels axes."""
    tree = ast.parse(code)
    called = [node.func for node in ast.walk(tree) if isinstance(node, ast.Call)]
    if LABELLED_BY.isdisjoint(getattr(f, "id", getattr(f, "attr", "")) for f in called):
        return
    docstrings = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docstrings:
            firsts = re.findall(r"\(([^() ,;]+)[^()]*\)", node.value)
            if not SHOWN_UNITS.isdisjoint(firsts):
                yield node.lineno, node.value


def python_texts() -> Iterator[tuple[str, str]]:
    """Each module and each code cell of the handbook: where it stands, and its text."""
    for path in MODULES:
        yield str(path.relative_to(ROOT)), path.read_text(encoding="utf-8")
    for path in sorted((ROOT / "handbook").glob("*.ipynb")):
        for place, cell in enumerate(json.loads(path.read_text(encoding="utf-8"))["cells"]):
            if cell["cell_type"] == "code":
                yield f"{path.relative_to(ROOT)}, cell {place}", "".join(cell["source"])


@pytest.mark.slow
def test_axes_take_their_unit_from_the_quantity() -> None:
    found = [(place, *fault) for place, text in python_texts() for fault in typed_units(text)]
    complain(
        [
            f"{place}:{line} types the unit of '{words}': let the quantity that is drawn give it, "
            "quantity.axis(words), or say in UNITS_TYPED why none does"
            for place, line, words in found
            if words not in UNITS_TYPED
        ]
        + [f"nothing types '{words}' any more" for words in UNITS_TYPED.keys() - {words for *_, words in found}]
    )


@pytest.mark.parametrize(
    ("code", "typed"),
    [
        ("frame(axes, x='bore (mm)', y='speed')", ["bore (mm)"]),
        ("over = 'speed (1/min), full line'\nframe(axes, x=over)", ["speed (1/min), full line"]),
        ("book.frame(axes, y=f'{name}: torque (N·m)')", [": torque (N·m)"]),
        ("axes.set_ylabel('water (% of the mass)')", ["water (% of the mass)"]),
        ("frame(axes, x=bore_diameter.axis('bore'), y='place (0: middle, 1: wall)')", []),
        ("def draw():\n    'Draw the torque (N·m).'\n    frame(axes, y='(1 - e) / e²')", []),
        ("scene.label(at, 'bore (mm)')", []),
    ],
)
def test_a_typed_unit_is_found(code: str, typed: list[str]) -> None:
    assert [words for _, words in typed_units(code)] == typed


# --- arrows


def imports(path: Path) -> Iterator[tuple[int, str]]:
    """Line and full name of each augerbook module that the module at ``path`` imports."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = node.module or ""
            if node.level:
                package = path.relative_to(LIBRARY).with_suffix("").parts[: -node.level]
                base = ".".join([*package, *([node.module] if node.module else [])])
            # Of 'from augerbook import tables' the module is augerbook.tables.
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def modules_in(path: Path) -> Iterator[tuple[int, tuple[str, ...]]]:
    """Line and place below the package of each module of augerbook that the module at ``path`` imports."""
    for line, name in imports(path):
        first, *inner = name.split(".")
        while first == "augerbook" and inner:
            if (place := PACKAGE.joinpath(*inner)).is_dir() or place.with_suffix(".py").is_file():
                yield line, tuple(inner)
                break
            inner.pop()  # the last word was a name in a module


def wrong_arrows(path: Path) -> list[str]:
    own = path.relative_to(PACKAGE).with_suffix("").parts[0]
    return [
        f"{path.relative_to(ROOT)}:{line} imports {'.'.join(place)}, which stands above it"
        for line, place in modules_in(path)
        if own != "__init__" and ROOMS.index(place[0]) > ROOMS.index(own)
    ]


def circle(arrows: Mapping[tuple[str, ...], Iterable[tuple[str, ...]]]) -> str:
    """Return a circle of arrows in words; empty if there is none."""
    try:
        TopologicalSorter(arrows).prepare()
    except CycleError as error:
        return " -> ".join(".".join(place) for place in error.args[1])
    return ""


def test_every_room_has_its_place() -> None:
    rooms = {path.relative_to(PACKAGE).with_suffix("").parts[0] for path in MODULES} - {"__init__"}
    assert rooms == set(ROOMS)


@pytest.mark.slow
def test_no_modules_use_each_other() -> None:
    arrows = {}
    for path in MODULES:
        own = path.relative_to(PACKAGE).with_suffix("").parts
        own = own[:-1] if own[-1] == "__init__" else own
        arrows[own] = {place for _, place in modules_in(path)} - {own}
    assert circle(arrows) == ""


def test_no_chapters_use_each_other() -> None:
    arrows: dict[tuple[str, ...], set[tuple[str, ...]]] = {}
    for path in MODULES:
        own = path.relative_to(PACKAGE).parts[:-1][:2]
        if len(own) == 2 and own[0] == "chapters":
            arrows.setdefault(own, set()).update(place[:2] for _, place in modules_in(path) if place[:2] != own)
    assert len(arrows) >= 14
    assert circle(arrows) == ""


def test_a_circle_is_found() -> None:
    assert circle({("a",): [("b",)], ("b",): [("c",)], ("c",): []}) == ""
    assert circle({("a",): [("b",)], ("b",): [("c",)], ("c",): [("a",)]}).count("->") == 3


@pytest.mark.slow
def test_arrows_point_one_way() -> None:
    complain([fault for path in MODULES for fault in wrong_arrows(path)])


@pytest.mark.parametrize(
    ("place", "code", "wrong"),
    [
        ("core/a.py", "from augerbook.chapters import screw", True),
        ("core/a.py", "from augerbook import tables", True),
        ("core/a.py", "from ..page import start", True),
        ("core/a.py", "from .units import ureg\nfrom augerbook import __version__\nimport sympy", False),
        ("head/a.py", "import augerbook.chapters", True),
        ("chapters/a/b.py", "from augerbook.builds import build", True),
        ("chapters/a/b.py", "from augerbook.core.units import ureg\nfrom .. import c", False),
        ("tables.py", "def f():\n    from augerbook.page import start", True),
        ("builds/a.py", "from augerbook import chapters, tables", False),
        ("page/a.py", "from augerbook import builds\nfrom ..core import units", False),
    ],
)
def test_a_wrong_arrow_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str, code: str, wrong: bool
) -> None:
    package = tmp_path / "lib" / "augerbook"
    for folder in ("core", "head", "chapters/a", "builds", "page"):
        (package / folder).mkdir(parents=True)
    (package / "tables.py").touch()
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    monkeypatch.setattr(sys.modules[__name__], "LIBRARY", tmp_path / "lib")
    monkeypatch.setattr(sys.modules[__name__], "PACKAGE", package)
    (package / place).write_text(code, encoding="utf-8")
    assert bool(wrong_arrows(package / place)) == wrong
