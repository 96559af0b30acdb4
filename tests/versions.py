"""Runs notebooks and fast tests at the ends of what lib/pyproject.toml allows, in a fresh environment.

    python tests/versions.py oldest     each package that it names in its oldest allowed version
    python tests/versions.py newest     everything in the newest version there is

Numbers and texts of the notebooks must be the same as with the pinned versions; pixels are not compared, and neither
are lint and types, which belong to the pinned versions. What runs the tests comes from ``tests/requirements.txt``.
Further words go to pytest: ``python tests/versions.py newest -k plate``.
"""

import argparse
import os
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[1]
PROJECT = ROOT / "lib" / "pyproject.toml"
REQUIREMENTS = ROOT / "requirements.txt"
TEST_REQUIREMENTS = ROOT / "tests" / "requirements.txt"
RESOLUTIONS = {"oldest": "lowest-direct", "newest": "highest"}
TESTS = "(fast or notebook) and not pinned"


def uv(*arguments: str | Path) -> None:
    """Run uv beside lib/pyproject.toml; its own words stand above a failure."""
    command = [sys.executable, "-m", "uv", "--quiet", "pip", *map(str, arguments)]
    if subprocess.run(command, cwd=PROJECT.parent, stdin=subprocess.DEVNULL).returncode != 0:
        raise SystemExit(f"{' '.join(command)} failed: the words above say why.")


def direct() -> set[str]:
    """The packages that lib/pyproject.toml names for library and notebooks."""
    project = tomllib.loads(PROJECT.read_text(encoding="utf-8"))["project"]
    named = [*project["dependencies"], *project["optional-dependencies"]["handbook"]]
    return {Requirement(text).name for text in named}


def without(path: Path, names: set[str]) -> str:
    """The pins of a requirements file, those of ``names`` left out."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return "\n".join(line for line in lines if "==" in line and line.partition("==")[0] not in names)


def install(end: str, python: Path) -> None:
    """Install the library and what the tests need into the environment of ``python``.

    What the named packages bring along is pinned at the oldest end, so that one run is like the next.
    """
    version = f"--python-version={sys.version_info.major}.{sys.version_info.minor}"
    with tempfile.TemporaryDirectory() as folder:
        pins, limits, tests = (Path(folder) / f"{name}.txt" for name in ("pins", "limits", "tests"))
        limits.write_text(without(REQUIREMENTS, direct()) if end == "oldest" else "", encoding="utf-8")
        ends = (f"--resolution={RESOLUTIONS[end]}", f"--constraint={limits}", "--extra=handbook")
        uv("compile", version, *ends, f"--output-file={pins}", PROJECT.name)
        resolved = {line.partition("==")[0] for line in pins.read_text(encoding="utf-8").splitlines() if "==" in line}
        tests.write_text(without(TEST_REQUIREMENTS, resolved), encoding="utf-8")
        uv("install", f"--python={python}", f"--requirement={pins}", f"--requirement={tests}", "--editable=.")


def main() -> int:
    """Command line; returns what pytest returns."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("end", choices=RESOLUTIONS)
    arguments, words = reader.parse_known_args()
    with tempfile.TemporaryDirectory(prefix="augerbook-") as folder:
        print(f"Setting up the {arguments.end} allowed versions ...", flush=True)
        venv.create(folder, with_pip=False)
        python = Path(folder) / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
        install(arguments.end, python)
        pytest = [str(python), "-m", "pytest", "-n", "2", "tests", "-m", TESTS, *words]
        return subprocess.run(pytest, cwd=ROOT, env=os.environ | {"AUGERBOOK_COMPARE": "values"}).returncode


if __name__ == "__main__":
    sys.exit(main())
