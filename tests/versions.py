"""Runs notebooks and fast tests in a fresh environment: as the README's first command makes it, or with other versions.

    python tests/versions.py first      requirements.txt and nothing else; notebooks alone
    python tests/versions.py oldest     each package that lib/pyproject.toml names in its oldest allowed version
    python tests/versions.py newest     everything in the newest version that it allows

The notebooks run before anything is installed that only tests need, so that a missing package is noticed. Numbers and
texts must be the same as with the pinned versions. Pixels are not compared; lint and types are not checked, since they
belong to the pinned versions. Further words go to pytest, as in ``python tests/versions.py newest -k plate``.
"""

import argparse
import subprocess
import sys
import tempfile
import tomllib
import venv
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).resolve().parents[1]
PROJECT = ROOT / "lib" / "pyproject.toml"
REQUIREMENTS = ROOT / "requirements.txt"
TEST_REQUIREMENTS = ROOT / "tests" / "requirements.txt"
RESOLUTIONS = {"oldest": "lowest-direct", "newest": "highest"}
TESTS = "fast and not pinned"


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


def resolved(end: str, pins: Path) -> None:
    """Write to ``pins`` the versions of one end for library and notebooks.

    What the named packages bring along is as in requirements.txt at the oldest end, so that one run is like the next.
    """
    if end == "first":
        pins.write_text(without(REQUIREMENTS, set()), encoding="utf-8")
        return
    limits = pins.with_name("limits.txt")
    limits.write_text(without(REQUIREMENTS, direct()) if end == "oldest" else "", encoding="utf-8")
    python = f"--python-version={sys.version_info.major}.{sys.version_info.minor}"
    ends = (f"--resolution={RESOLUTIONS[end]}", f"--constraint={limits}", "--extra=handbook")
    uv("compile", python, *ends, f"--output-file={pins}", PROJECT.name)


def run_notebooks(python: Path) -> bool:
    """Execute every notebook with nbval as its users call it, two at a time; whether all came out as stored."""

    def run(path: Path) -> bool:
        command = [str(python), "-m", "pytest", "--nbval", "-q", "--no-header", "-p", "no:cacheprovider", str(path)]
        done = subprocess.run(command, cwd=ROOT, stdin=subprocess.DEVNULL, capture_output=True, text=True)
        last = done.stdout.strip().splitlines()[-1:] or [done.stderr.strip()]
        print(f"{path.name}: {last[0]}" if done.returncode == 0 else done.stdout + done.stderr, flush=True)
        return done.returncode == 0

    with ThreadPoolExecutor(max_workers=2) as pool:
        return all(list(pool.map(run, sorted((ROOT / "handbook").glob("*.ipynb")))))


def main() -> int:
    """Command line; returns 0 if all is well."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("end", choices=("first", *RESOLUTIONS))
    arguments, words = reader.parse_known_args()
    with tempfile.TemporaryDirectory(prefix="augerbook-") as folder:
        pins, tests = Path(folder) / "pins.txt", Path(folder) / "tests.txt"
        print(f"Setting up: {arguments.end} ...", flush=True)
        resolved(arguments.end, pins)
        environment = Path(folder) / "environment"
        venv.create(environment, with_pip=False)
        python = environment / ("Scripts/python.exe" if sys.platform == "win32" else "bin/python")
        uv("install", f"--python={python}", f"--requirement={pins}", "--editable=.")
        well = run_notebooks(python)
        if arguments.end == "first":
            return 0 if well else 1
        here = {line.partition("==")[0] for line in pins.read_text(encoding="utf-8").splitlines() if "==" in line}
        tests.write_text(without(TEST_REQUIREMENTS, here), encoding="utf-8")
        uv("install", f"--python={python}", f"--requirement={tests}")
        pytest = [str(python), "-m", "pytest", "-n", "2", "tests", "-m", TESTS, *words]
        return subprocess.run(pytest, cwd=ROOT).returncode or (0 if well else 1)


if __name__ == "__main__":
    sys.exit(main())
