"""What gets installed: pins that are up to date, one list of Pythons, and nothing imported that is not asked for."""

import ast
import json
import os
import re
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from importlib import metadata
from pathlib import Path
from types import ModuleType

import pytest
from augerbook import packages
from IPython.core.inputtransformer2 import TransformerManager
from packaging.requirements import Requirement
from packaging.specifiers import SpecifierSet
from packaging.utils import canonicalize_name

from tests import lock

ROOT = lock.ROOT
PROJECT = tomllib.loads(lock.PROJECT.read_text(encoding="utf-8"))
LIBRARY = [Requirement(text) for text in PROJECT["project"]["dependencies"]]
HANDBOOK = [Requirement(text) for text in PROJECT["project"]["optional-dependencies"]["handbook"]]
TESTS = [Requirement(text) for text in PROJECT["dependency-groups"]["tests"]]

#: The systems that the README names, as conditions in requirements see them.
SYSTEMS = (
    {"sys_platform": "linux", "platform_system": "Linux", "os_name": "posix", "platform_machine": "x86_64"},
    {"sys_platform": "linux", "platform_system": "Linux", "os_name": "posix", "platform_machine": "aarch64"},
    {"sys_platform": "darwin", "platform_system": "Darwin", "os_name": "posix", "platform_machine": "arm64"},
    {"sys_platform": "win32", "platform_system": "Windows", "os_name": "nt", "platform_machine": "AMD64"},
)
ENVIRONMENTS = [
    system | {"python_version": version, "python_full_version": f"{version}.0", "implementation_name": "cpython"}
    for system in SYSTEMS
    for version in lock.PYTHONS
]

pytestmark = pytest.mark.pinned


def pins(*paths: Path) -> dict[str, list[Requirement]]:
    """The pinned packages of requirements files, by name."""
    found: dict[str, list[Requirement]] = {}
    for path in paths:
        for line in path.read_text(encoding="utf-8").splitlines():
            if line and not line.startswith(("#", " ", "-e ")):
                requirement = Requirement(line)
                assert str(requirement.specifier).startswith("=="), f"{path.name}: {line!r} is not pinned with =="
                found.setdefault(canonicalize_name(requirement.name), []).append(requirement)
    return found


def applies(requirement: Requirement, environment: dict[str, str], extras: set[str]) -> bool:
    """Whether a requirement counts in an environment, for a package asked for with ``extras``."""
    marker = requirement.marker
    return marker is None or any(marker.evaluate(environment | {"extra": extra}) for extra in extras or {""})


def unmet(direct: list[Requirement], pinned: dict[str, list[Requirement]], environment: dict[str, str]) -> set[str]:
    """What an environment lacks: requirements, direct or brought along, without a pin that satisfies them."""
    faults, seen = set(), set()
    waiting = [(requirement, set(requirement.extras)) for requirement in direct]
    while waiting:
        requirement, extras = waiting.pop()
        name = canonicalize_name(requirement.name)
        here = [pin for pin in pinned.get(name, ()) if applies(pin, environment, set())]
        if len(here) != 1:
            faults.add(f"{requirement} has {len(here)} pins on {environment['sys_platform']}")
            continue
        version = str(here[0].specifier).removeprefix("==")
        if not requirement.specifier.contains(version, prereleases=True):
            faults.add(f"{requirement} is pinned to {version}")
        if (name, frozenset(extras)) in seen:
            continue
        seen.add((name, frozenset(extras)))
        try:
            brought = metadata.requires(name) or []
        except metadata.PackageNotFoundError:  # a package of another system: only its own pin can be seen here
            continue
        along = [Requirement(text) for text in brought]
        waiting += [(r, set(r.extras)) for r in along if applies(r, environment, extras)]
    return faults


@pytest.mark.parametrize("environment", ENVIRONMENTS, ids=lambda e: f"{e['sys_platform']}-{e['python_version']}")
def test_the_pins_are_up_to_date(environment: dict[str, str]) -> None:
    first, rest = pins(lock.REQUIREMENTS), pins(lock.TEST_REQUIREMENTS)
    assert not set(first) & set(rest), "a package is pinned in both files"
    faults = unmet([*LIBRARY, *HANDBOOK], first, environment) | unmet(TESTS, first | rest, environment)
    assert not faults, "run 'python tests/lock.py': " + "; ".join(sorted(faults))


def test_a_requirement_without_its_pin_is_found() -> None:
    first = pins(lock.REQUIREMENTS)
    without = {name: pin for name, pin in first.items() if name != "contourpy"}
    assert any("contourpy" in fault for fault in unmet(LIBRARY, without, ENVIRONMENTS[0]))
    assert "sympy>=99 is pinned to 1.14.0" in unmet([Requirement("sympy>=99")], first, ENVIRONMENTS[0])


def test_nothing_is_pinned_that_nobody_asks_for() -> None:
    """Packages of other systems bring some along that cannot be seen here: only those seen here are judged."""
    asked = {canonicalize_name(r.name) for r in (*LIBRARY, *HANDBOOK, *TESTS)}
    for distribution in metadata.distributions():
        asked |= {canonicalize_name(Requirement(text).name) for text in distribution.requires or ()}
    assert set(pins(lock.REQUIREMENTS, lock.TEST_REQUIREMENTS)) <= asked


def test_the_build_is_pinned_with_all_that_it_needs() -> None:
    needed = {Requirement(text).name: Requirement(text) for text in PROJECT["build-system"]["requires"]}
    assert {"hatchling", "editables", "packaging", "pathspec", "pluggy", "trove-classifiers"} <= set(needed)
    assert all(str(requirement.specifier).startswith("==") for requirement in needed.values())


# --- what is imported is asked for


def top_names(code: str) -> Iterator[str]:
    for node in ast.walk(ast.parse(code)):
        if isinstance(node, ast.Import):
            yield from (alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            yield node.module.partition(".")[0]


def notebook_code(path: Path) -> str:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    sources = ("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    return "\n".join(TransformerManager().transform_cell(source) for source in sources)


@pytest.mark.slow
def test_what_library_and_notebooks_import_comes_with_the_library() -> None:
    imported = {
        name for path in (ROOT / "lib" / "augerbook").rglob("*.py") for name in top_names(path.read_text("utf-8"))
    }
    imported |= {name for path in (ROOT / "handbook").glob("*.ipynb") for name in top_names(notebook_code(path))}
    outside = imported - set(sys.stdlib_module_names) - {"augerbook"}
    packages_of = metadata.packages_distributions()
    brought = {canonicalize_name(name) for module in outside for name in packages_of[module]}
    assert brought == {canonicalize_name(requirement.name) for requirement in LIBRARY}


# --- one list of Pythons


def test_the_pythons_are_the_same_everywhere() -> None:
    asked = SpecifierSet(PROJECT["project"]["requires-python"])
    around = [f"3.{minor}" for minor in range(9, 20)]
    assert tuple(version for version in around if version in asked) == lock.PYTHONS
    named = [c.rpartition(" ")[2] for c in PROJECT["project"]["classifiers"] if re.search(r":: 3\.\d+$", c)]
    assert tuple(named) == lock.PYTHONS
    oldest, newest = lock.PYTHONS[0], lock.PYTHONS[-1]
    assert f"Python {oldest} to {newest}" in (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"Python {oldest} to {newest}" in lock.REQUIREMENTS.read_text(encoding="utf-8")
    runtime = (ROOT / ".binder" / "runtime.txt").read_text(encoding="utf-8").strip()
    assert runtime.removeprefix("python-") in lock.PYTHONS
    assert f'target-version = "py{oldest.replace(".", "")}"' in (ROOT / ".ruff.toml").read_text(encoding="utf-8")
    assert f"python_version = {oldest}" in (ROOT / ".mypy.ini").read_text(encoding="utf-8")


def test_hosted_services_get_the_requirements_of_the_first_command() -> None:
    lines = (ROOT / ".binder" / "requirements.txt").read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if not line.startswith("#")] == ["-r ../requirements.txt"]


# --- an environment that does not fit says so


def test_this_environment_fits() -> None:
    packages.check_packages()


@pytest.mark.parametrize(
    ("asked", "imported", "words"),
    [
        (
            "sympy>=99",
            None,
            "sympy is 1.14.0, needed is >=99: run  pip install 'sympy>=99'  and start the kernel again.",
        ),
        ("no-such-package>=1", None, "no-such-package is missing: run  pip install 'no-such-package>=1'"),
        ("sympy>=1.14", "1.13.3", "this kernel still runs 1.13.3: start the kernel again."),
        ("sympy>=1.14", "1.14.0", ""),
        ("no-such-package>=1; sys_platform == 'nowhere'", None, ""),
    ],
)
def test_a_package_that_does_not_fit_is_named(
    monkeypatch: pytest.MonkeyPatch, asked: str, imported: str | None, words: str
) -> None:
    monkeypatch.setattr(packages, "requires", lambda project: [asked])
    if imported:
        stale = ModuleType("sympy")
        stale.__version__ = imported  # type: ignore[attr-defined]
        monkeypatch.setitem(sys.modules, "sympy", stale)
    if not words:
        packages.check_packages()
        return
    with pytest.raises(packages.OldPackageError) as caught:
        packages.check_packages()
    assert words in str(caught.value)


# --- what a wheel carries


@pytest.mark.slow
def test_a_wheel_works_without_the_repository(tmp_path: Path) -> None:
    """Built as a service builds it; unpacked elsewhere it reads its own data and says who made it."""
    built = subprocess.run(
        [sys.executable, "-m", "uv", "build", "--quiet", "--wheel", "--out-dir", str(tmp_path), str(ROOT / "lib")],
        capture_output=True,
        text=True,
    )
    assert built.returncode == 0, built.stderr
    (wheel,) = tmp_path.glob("*.whl")
    unpacked = tmp_path / "unpacked"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(unpacked)
    (about,) = unpacked.glob("*.dist-info/METADATA")
    assert "Name: augerbook\n" in about.read_text(encoding="utf-8")
    assert (ROOT / "README.md").read_text(encoding="utf-8").strip() in about.read_text(encoding="utf-8")
    licence = (about.parent / "licenses" / "LICENSE").read_text(encoding="utf-8")
    assert licence == (ROOT / "LICENSE").read_text(encoding="utf-8")
    run = subprocess.run(
        [
            sys.executable,
            "-c",
            "from augerbook.builds import shipped; print(shipped.__file__, shipped.shipped_build('otter').name)",
        ],
        env=os.environ | {"PYTHONPATH": str(unpacked)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )
    assert run.returncode == 0, run.stderr
    assert str(tmp_path) in run.stdout and "otter" in run.stdout
