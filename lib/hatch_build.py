"""Puts the repository's data and licence into the package when it is built for somebody else's machine.

The tables and builds lie in ``data/`` at the top, where readers find them. An editable install reads
them there; a wheel or a source archive carries its own copy as ``augerbook/data``.
"""

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CarryData(BuildHookInterface[Any]):
    """Force-includes ``../data`` and ``../LICENSE``, unless the install is editable."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            return
        package = Path(self.root) / "augerbook"
        for name in ("data", "LICENSE"):
            original = Path(self.root).parent / name
            if original.exists():
                build_data["force_include"][str(original)] = f"augerbook/{name}"
            elif not (package / name).exists():  # a source archive already holds its copy in the package
                raise FileNotFoundError(f"cannot build augerbook: there is no {original} to put into it")
