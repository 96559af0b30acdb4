"""nbval over one notebook, in a process of its own; what came out is kept."""

import json
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.handbook import refresh

Outputs = list[Mapping[str, Any]]


@dataclass(frozen=True)
class Run:
    """What nbval found in a notebook.

    Attributes:
        passed: whether all cells ran, came out as stored, and all sliders could be moved.
        said: nbval's report.
        outputs: of each code cell, as far as nbval came.
    """

    passed: bool
    said: str
    outputs: list[Outputs | None]

    @property
    def complete(self) -> list[Outputs] | None:
        """The outputs of all cells; None if some did not run to their end."""
        found = [cell for cell in self.outputs if cell is not None]
        failed = any(output["output_type"] == "error" for cell in found for output in cell)
        return found if found and len(found) == len(self.outputs) and not failed else None


def nbval(path: Path) -> Run:
    """Execute and compare the notebook with nbval, then move its sliders in the same kernel."""
    with tempfile.TemporaryDirectory() as scratch:
        outputs = Path(scratch) / "outputs.json"
        command = [sys.executable, "-m", "pytest", "-c", str(refresh.ROOT / ".pytest.ini")]
        command += ["-p", "no:cacheprovider", "-q", "--no-header", "--color=no"]
        command += ["-p", "nbval.plugin", "-p", "tests.handbook.collector", f"--outputs-to={outputs}"]
        command += ["--nbval", f"--nbval-cell-timeout={refresh.SECONDS_PER_CELL}", str(path)]
        # Neither a worker of the run that calls it, nor loading plugins that take longer than the comparison.
        around = {key: value for key, value in refresh.kernel_environment(scratch).items() if key[:7] != "PYTEST_"}
        run = subprocess.run(
            command,
            cwd=refresh.ROOT,
            env=around | {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1"},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )
        found = json.loads(outputs.read_text(encoding="utf-8")) if outputs.exists() else []
    return Run(run.returncode == 0, run.stdout, found)


def differences(path: Path) -> list[str]:
    """Execute a stored notebook once; what nbval finds wrong, and how text, pictures and order differ from the stored.

    nbval leaves out pictures, their metadata and the order of outputs of different kinds.
    """
    run = nbval(path)
    found = [] if run.passed else [run.said]
    if run.complete is not None:
        committed = path.read_text(encoding="utf-8")
        try:
            fresh = refresh.with_outputs(path, run.complete)
        except refresh.NotebookError as fault:
            return [*found, str(fault)]
        found += [refresh.difference(committed, fresh, path.name)] if fresh != committed else []
    return found
