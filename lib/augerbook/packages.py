"""Says which package of the environment is too old for the handbook, before something breaks far from the cause."""

from __future__ import annotations

import sys
from importlib.metadata import PackageNotFoundError, requires, version
from types import ModuleType

from packaging.requirements import Requirement


class OldPackageError(ImportError):
    """The environment, or a kernel that was started before an upgrade, holds versions that do not fit."""


def check_packages(project: str = "augerbook") -> None:
    """Hold the installed versions, and those already imported, against what ``project`` asks for.

    Raises:
        OldPackageError: with a line for each package that does not fit, and what to type.
    """
    try:
        needed = [Requirement(text) for text in requires(project) or ()]
    except PackageNotFoundError:
        return  # run from its source folder: whoever does so has no list of what was asked for
    faults = [fault for requirement in needed if (fault := _fault(requirement, sys.modules))]
    if faults:
        raise OldPackageError("\n".join([f"{project} cannot run with the packages that are here:", *faults]))


def _fault(requirement: Requirement, imported: dict[str, ModuleType]) -> str:
    if requirement.marker is not None and not requirement.marker.evaluate({"extra": ""}):
        return ""
    name, wanted = requirement.name, requirement.specifier
    cure = f"run  pip install '{name}{wanted}'  and start the kernel again."
    try:
        present = version(name)
    except PackageNotFoundError:
        return f"  {name} is missing: {cure}"
    if not wanted.contains(present, prereleases=True):
        return f"  {name} is {present}, needed is {wanted}: {cure}"
    # Only what a package says of itself outright: some work it out when asked, and warn that they will stop to.
    running = vars(imported[name]).get("__version__", present) if name in imported else present
    if running != present and not wanted.contains(running, prereleases=True):
        return f"  {name} {present} is installed, but this kernel still runs {running}: start the kernel again."
    return ""
