"""Compiles what the README's commands install: exact versions of everything, for every system and Python named.

    python tests/lock.py             after a change of lib/pyproject.toml: keeps all versions that still fit
    python tests/lock.py --upgrade   takes the newest versions that fit

In the end it makes sure that every system and Python named has a ready-made package of each, nothing to compile.

Read from ``lib/pyproject.toml``; written are ``requirements.txt``, ``tests/requirements.txt`` and the list of the
build backend in ``lib/pyproject.toml`` itself. Needs the network; the test that tells whether they are out of date
(``tests/test_requirements.py``) does not.
"""

import argparse
import itertools
import re
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PROJECT = ROOT / "lib" / "pyproject.toml"
REQUIREMENTS = ROOT / "requirements.txt"
TEST_REQUIREMENTS = ROOT / "tests" / "requirements.txt"
#: The Pythons of lib/pyproject.toml and the systems that the README names, as the compiler calls them.
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
SYSTEMS = (
    *("x86_64-manylinux_2_28", "aarch64-manylinux_2_28", "x86_64-pc-windows-msvc"),
    *("x86_64-apple-darwin", "aarch64-apple-darwin"),
)
#: What a build needs by name: the backend, and what it asks for to install a folder in place.
BUILD = ("hatchling", "editables")

TOP = f"""\
# Exact versions of all that the README's first command installs, because the notebooks are committed with their
# outputs: executed again with these, nothing differs. Made by `python tests/lock.py` from lib/pyproject.toml, where
# each direct requirement stands with its reason; the pinned build backend stands there, too.
# For Python {PYTHONS[0]} to {PYTHONS[-1]}.

"""
TESTS = """\
# What the tests need beside the top-level requirements.txt, exact versions as well. Made by `python tests/lock.py`.

"""
LIBRARY = "\n# The library, editable: it reads data/ in place.\n-e ./lib\n"

_BUILD_LIST = re.compile(r"^requires = \[\n.*?^\]", re.MULTILINE | re.DOTALL)
_PIN = re.compile(r"^([A-Za-z0-9][\w.-]*)==", re.MULTILINE)


def compiled(arguments: Sequence[str], kept: str, *, upgrade: bool) -> str:
    """Resolve and return pinned requirements as text; versions in ``kept`` stay unless ``upgrade``.

    Raises ``SystemExit`` with the resolver's words where no versions fit.
    """
    with tempfile.TemporaryDirectory() as folder:
        output = Path(folder) / "requirements.txt"
        output.write_text(_pins(kept), encoding="utf-8")
        words = ["--universal", f"--python-version={PYTHONS[0]}", f"--output-file={output}", *arguments]
        fault = _compile(*words, *(["--upgrade"] if upgrade else []))
        if fault:
            raise SystemExit(f"No versions fit lib/pyproject.toml:\n{fault}")
        return output.read_text(encoding="utf-8")


def without_wheels(requirements: str) -> list[str]:
    """A line for each Python and system for which a pinned package is not ready-made."""
    with tempfile.TemporaryDirectory() as folder:
        pins = Path(folder) / "pins.txt"
        pins.write_text(_pins(requirements), encoding="utf-8")
        found = []
        for python, system in itertools.product(PYTHONS, SYSTEMS):
            words = ("--no-deps", "--only-binary=:all:", f"--python-version={python}", f"--python-platform={system}")
            if fault := _compile(*words, str(pins)):
                found.append(f"Python {python} on {system}: {fault}")
        return found


def _compile(*words: str) -> str:
    """Run the resolver beside lib/pyproject.toml; its complaint, empty when it found versions."""
    command = [sys.executable, "-m", "uv", "pip", "compile", "--quiet", "--no-header", *words]
    done = subprocess.run(command, cwd=PROJECT.parent, stdin=subprocess.DEVNULL, capture_output=True, text=True)
    return done.stderr.strip() or "the resolver says nothing" if done.returncode else ""


def _pins(text: str) -> str:
    return "".join(line for line in text.splitlines(keepends=True) if "==" in line)


def names(text: str) -> list[str]:
    """The packages that a requirements text pins."""
    return _PIN.findall(text)


def with_build_list(project: str, pins: Sequence[str]) -> str:
    """The text of pyproject.toml with ``pins`` as the list of what a build needs."""
    listed = "".join(f'    "{pin}",\n' for pin in pins)
    changed, count = _BUILD_LIST.subn(lambda _: f"requires = [\n{listed}]", project)
    if count != 1:
        raise SystemExit("lib/pyproject.toml has no list 'requires = [' of its own lines below [build-system].")
    return changed


def main() -> None:
    """Command line."""
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--upgrade", action="store_true", help="take the newest versions that fit")
    upgrade = reader.parse_args().upgrade

    project = PROJECT.read_text(encoding="utf-8")
    present = "\n".join(re.findall(r'^    "([\w.-]+==[^"]+)",$', project, flags=re.M))
    # In a folder, not as a temporary file of its own: on Windows nobody else reads one that is open.
    with tempfile.TemporaryDirectory() as folder:
        direct = Path(folder) / "build.in"
        direct.write_text("\n".join(BUILD), encoding="utf-8")
        build = compiled(["--no-annotate", str(direct)], present, upgrade=upgrade)
    PROJECT.write_text(with_build_list(project, build.split("\n")[:-1]), encoding="utf-8")

    source = [PROJECT.name, "--extra=handbook"]
    first = compiled(source, REQUIREMENTS.read_text(encoding="utf-8"), upgrade=upgrade)
    REQUIREMENTS.write_text(TOP + first + LIBRARY, encoding="utf-8")

    kept = first + TEST_REQUIREMENTS.read_text(encoding="utf-8")
    known = [f"--no-emit-package={name}" for name in names(first)]
    with tempfile.TemporaryDirectory() as folder:
        limits = Path(folder) / "limits.txt"
        limits.write_text(_pins(first), encoding="utf-8")
        rest = [*source, f"--group={source[0]}:tests", f"--constraint={limits}", "--no-annotate", *known]
        second = compiled(rest, kept, upgrade=upgrade)
    TEST_REQUIREMENTS.write_text(TESTS + second, encoding="utf-8")
    if faults := without_wheels(first):
        raise SystemExit("\n".join(["Written, but not ready-made everywhere:", *faults]))


if __name__ == "__main__":
    main()
