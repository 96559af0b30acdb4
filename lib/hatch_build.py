"""Puts the repository's data, licence and README into the package when it is built for somebody else's machine.

The tables and builds lie in ``data/`` at the top, where readers find them. An editable install reads
them there; a wheel or a source archive carries its own copy as ``augerbook/data``.
"""

from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface
from hatchling.metadata.plugin.interface import MetadataHookInterface


def original(root: str, name: str) -> Path:
    """The file or folder beside ``lib/``, or the copy that a source archive holds.

    Raises:
        FileNotFoundError: there is neither: the folder ``lib/`` was copied without its repository.
    """
    places = (Path(root).parent / name, Path(root) / "augerbook" / name, Path(root) / name)
    found = next((place for place in places if place.exists()), None)
    if found is None:
        raise FileNotFoundError(f"cannot build augerbook: there is no {places[0]}; build it inside its repository")
    return found


class Readme(MetadataHookInterface):
    """Takes the description from the README at the top."""

    def update(self, metadata: dict[str, Any]) -> None:
        text = original(self.root, "README.md").read_text(encoding="utf-8")
        metadata["readme"] = {"content-type": "text/markdown", "text": text}


class CarryData(BuildHookInterface[Any]):
    """Force-includes data, licence and README, unless the install is editable."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if version == "editable":
            return
        if self.target_name == "sdist":
            licence, carried = "LICENSE", {"README.md": "README.md"}
        else:
            licence, carried = f"augerbook-{self.metadata.version}.dist-info/licenses/LICENSE", {}
        for name, place in {"data": "augerbook/data", "LICENSE": licence, **carried}.items():
            source = original(self.root, name)
            if not source.is_relative_to(self.root):  # what a source archive holds is taken without being named
                build_data["force_include"][str(source)] = place
