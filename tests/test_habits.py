"""The habits of the repository: lint, types, one version, one set-up line, arrows that point one way."""

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import augerbook
import pytest
import yaml
from augerbook.build import shipped_build
from augerbook.show.cite import worked
from augerbook.subjects.screw import net_volume

ROOT = Path(__file__).resolve().parents[1]
LIBRARY = ROOT / "lib"
PACKAGE = LIBRARY / "augerbook"
MODULES = sorted(PACKAGE.rglob("*.py"))

AT_THE_TOP = {
    *("README.md", "DEVELOPERS.md", "requirements.txt", "LICENSE", "CITATION.cff"),
    *("handbook", "lib", "tests", "data"),
}
MOST_LINES = 400

# core <- subjects <- build, tables and the other modules of the package <- show
LAYERS = {"core": 0, "subjects": 1, "show": 3}
LAYER_OF_OTHERS = 2

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
@pytest.mark.slow
def test_types() -> None:
    run("mypy", "--no-error-summary")


# --- files


def test_nothing_else_stands_at_the_top() -> None:
    names = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert names == AT_THE_TOP


def test_no_module_is_long() -> None:
    lengths = {path: len(path.read_text(encoding="utf-8").splitlines()) for path in MODULES}
    complain(
        [
            f"{path.relative_to(ROOT)} has {lines} lines; split it, at most {MOST_LINES}"
            for path, lines in lengths.items()
            if lines > MOST_LINES
        ]
    )


def texts() -> Iterator[Path]:
    for folder in ("lib", "tests", "handbook", "data", ".ci"):
        for path in sorted((ROOT / folder).rglob("*")):
            parts = path.relative_to(ROOT / folder).parts
            hidden = any(part.startswith((".", "__")) or part.endswith(".egg-info") for part in parts[:-1])
            if path.is_file() and path.suffix in TEXTS and not hidden:
                yield path
    yield from (path for path in sorted(ROOT.iterdir()) if path.is_file() and path.suffix in TEXTS)


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


def test_the_citation_file_is_valid() -> None:
    run("check_jsonschema", "--builtin-schema", "vendor.citation-file-format", "CITATION.cff")


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


def layer(parts: tuple[str, ...]) -> int:
    """The layer of a module given by its path below the package, without suffix."""
    return LAYERS.get(parts[0], LAYER_OF_OTHERS)


def wrong_arrows(path: Path) -> list[str]:
    own = path.relative_to(PACKAGE).with_suffix("").parts
    faults = []
    for line, name in imports(path):
        first, _, rest = name.partition(".")
        inner = tuple(rest.split("."))
        known = (PACKAGE / inner[0]).is_dir() or (PACKAGE / f"{inner[0]}.py").is_file()
        if first == "augerbook" and known and layer(inner) > layer(own):
            faults.append(f"{path.relative_to(ROOT)}:{line} imports {name}, which stands above it")
    return faults


def test_arrows_point_one_way() -> None:
    complain([fault for path in MODULES for fault in wrong_arrows(path)])


@pytest.mark.parametrize(
    ("place", "code", "wrong"),
    [
        ("core/a.py", "from augerbook.subjects import screw", True),
        ("core/a.py", "from augerbook import tables", True),
        ("core/a.py", "from ..show import style", True),
        ("core/a.py", "from .units import ureg\nfrom augerbook import __version__\nimport sympy", False),
        ("subjects/a.py", "import augerbook.tables", True),
        ("subjects/a.py", "from augerbook.core.units import ureg\nfrom . import b", False),
        ("tables.py", "def f():\n    from augerbook.show import style", True),
        ("build.py", "from augerbook import subjects, tables", False),
        ("show/pictures/a.py", "from augerbook import build\nfrom ...core import units", False),
    ],
)
def test_a_wrong_arrow_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, place: str, code: str, wrong: bool
) -> None:
    package = tmp_path / "lib" / "augerbook"
    for folder in ("core", "subjects", "show/pictures"):
        (package / folder).mkdir(parents=True)
    for module in ("tables.py", "build.py"):
        (package / module).touch()
    monkeypatch.setattr(sys.modules[__name__], "ROOT", tmp_path)
    monkeypatch.setattr(sys.modules[__name__], "LIBRARY", tmp_path / "lib")
    monkeypatch.setattr(sys.modules[__name__], "PACKAGE", package)
    (package / place).write_text(code, encoding="utf-8")
    assert bool(wrong_arrows(package / place)) == wrong
