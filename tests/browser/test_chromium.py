"""Finding a browser: what is there is used, what is missing is installed once, and what fails is said, not skipped."""

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import psutil
import pytest
from filelock import FileLock

from tests.browser import chromium

ROOT = Path(__file__).parents[2]
NOWHERE: Any = SimpleNamespace(chromium=SimpleNamespace(executable_path="/nowhere/chrome"))
#: The call in another process.
IN_A_PROCESS = """
from types import SimpleNamespace
from tests.browser import chromium
nowhere = SimpleNamespace(chromium=SimpleNamespace(executable_path="/nowhere/chrome"))
print("found", chromium.find_or_install(nowhere))
"""


def program(path: Path, *lines: str) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_text("\n".join(["#!/bin/sh", *lines, ""]), encoding="utf-8")
    path.chmod(0o755)
    return path


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine without any browser, and nobody else on it; the folder that its PATH names."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.delenv("CHROMIUM", raising=False)
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    monkeypatch.setattr(tempfile, "tempdir", None)
    monkeypatch.setattr(chromium, "SECONDS_BETWEEN_TRIES", 0.05)
    return folder


class Apt:
    """A stand-in for the package manager: notes its calls, takes its time, and cannot bear another beside it."""

    def __init__(self, folder: Path, *before: str, seconds: float = 0.0) -> None:
        self._home = folder.parent
        (folder / "env").symlink_to(str(shutil.which("env", path="/usr/bin:/bin")))
        program(folder / "sudo", "PATH=$PATH:/usr/bin:/bin", "shift", 'exec "$@"')
        program(
            folder / "apt-get",
            "PATH=/usr/bin:/bin",
            f"cd {self._home}",
            'echo "$*" >> calls',
            "mkdir busy || { touch overlap; echo 'E: two at once'; exit 100; }",
            "trap 'rmdir busy' EXIT",
            *before,
            f"sleep {seconds}",
            f"""case "$*" in *"install -y chromium") cp /bin/true {folder / "chromium"};; esac""",
        )

    @property
    def calls(self) -> list[str]:
        """What was asked of it, the last word of each call."""
        return [line.split()[-1] for line in self.lines]

    @property
    def lines(self) -> list[str]:
        return (self._home / "calls").read_text(encoding="utf-8").splitlines()

    @property
    def met_another(self) -> bool:
        return (self._home / "overlap").exists()


@pytest.mark.parametrize("name", chromium.NAMES)
def test_a_browser_on_the_path_is_used(bare: Path, name: str) -> None:
    browser = program(bare / name)
    assert chromium.find_or_install(NOWHERE) == browser


def test_a_named_browser_is_preferred(bare: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    program(bare / "chromium")
    named = program(tmp_path / "mine")
    monkeypatch.setenv("CHROMIUM", str(named))
    assert chromium.find_or_install(NOWHERE) == named


def test_a_wrong_name_is_not_passed_over(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    program(bare / "chromium")
    monkeypatch.setenv("CHROMIUM", "/nowhere/mine")
    with pytest.raises(chromium.NoBrowserError, match="CHROMIUM=/nowhere/mine is no program"):
        chromium.find_or_install(NOWHERE)


@pytest.mark.parametrize(("user", "before"), [(0, ""), (1000, "sudo -n ")])
def test_a_missing_browser_is_installed_and_told_about(
    bare: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], user: int, before: str
) -> None:
    monkeypatch.setattr(os, "geteuid", lambda: user)
    apt = Apt(bare)
    assert chromium.find_or_install(NOWHERE) == bare / "chromium"
    assert apt.calls == ["update", "chromium"]
    assert all("-o DPkg::Lock::Timeout=120 " in line for line in apt.lines)
    assert re.search(rf"\d+ s  {before}env .*apt-get .*update\n +\d+ s +done\n", capsys.readouterr().out)


def test_processes_that_want_a_browser_at_once_install_it_once(bare: Path) -> None:
    apt = Apt(bare, seconds=1.5)
    command = [sys.executable, "-c", IN_A_PROCESS]
    running = [subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) for _ in range(3)]
    said = [process.communicate(timeout=60)[0] for process in running]
    assert [process.returncode for process in running] == [0, 0, 0], said
    assert all(f"found {bare / 'chromium'}" in text for text in said), said
    assert apt.calls == ["update", "chromium"] and not apt.met_another
    assert sum("apt-get" in text for text in said) == 1


def test_another_package_manager_is_waited_for(bare: Path, capsys: pytest.CaptureFixture[str]) -> None:
    locked = "E: Could not get lock /var/lib/apt/lists/lock. It is held by process 7 (apt-get)"
    apt = Apt(bare, f"[ $(wc -l < calls) -gt 4 ] || {{ echo '{locked}'; exit 100; }}")
    assert chromium.find_or_install(NOWHERE) == bare / "chromium"
    assert apt.calls == ["update"] * 5 + ["chromium"]
    assert capsys.readouterr().out.count("waits for another package manager. E: Could not get lock") == 1


def test_a_failure_that_passes_is_overcome(bare: Path) -> None:
    apt = Apt(bare, "[ $(wc -l < calls) -ne 1 ] || { echo 'E: Temporary failure resolving'; exit 100; }")
    assert chromium.find_or_install(NOWHERE) == bare / "chromium"
    assert apt.calls == ["update", "update", "chromium"]


def test_a_failure_that_stays_is_tried_twice_and_said(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chromium, "_by_playwright", lambda: ["/bin/sh", "-c", "echo no network; exit 3"])
    apt = Apt(bare, "echo 'E: no package'; exit 100")
    with pytest.raises(chromium.NoBrowserError, match="apt-get install chromium") as caught:
        chromium.find_or_install(NOWHERE)
    assert apt.calls == ["update", "update", "chromium", "chromium"]
    assert str(caught.value).count("ended with 100. E: no package") == 4
    assert str(caught.value).count("ended with 3. no network") == 2


def test_an_installer_that_hangs_is_stopped_with_all_it_started(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chromium, "_by_playwright", lambda: ["/bin/sh", "-c", "/bin/sleep 300"])
    Apt(bare, "sleep 300 & echo $! > child; echo fetching; wait")
    start = time.monotonic()
    with pytest.raises(chromium.NoBrowserError, match=r"did not end in time and was stopped\. fetching"):
        chromium.find_or_install(NOWHERE, seconds=2.0)
    assert time.monotonic() - start < 15
    assert not psutil.pid_exists(int((bare.parent / "child").read_text(encoding="utf-8")))


def test_whoever_waits_in_vain_for_another_process_says_so(bare: Path) -> None:
    apt = Apt(bare)
    with (
        FileLock(chromium.lock_file()),
        pytest.raises(chromium.NoBrowserError, match="another process is installing a browser: it still holds"),
    ):
        chromium.find_or_install(NOWHERE, seconds=0.3)
    assert not (bare.parent / "calls").exists() and not apt.met_another


# --- what pytest makes of it


def pytest_run(*arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "pytest", "-p", "no:cacheprovider", *arguments]
    return subprocess.run(command, cwd=ROOT, stdin=subprocess.DEVNULL, capture_output=True, text=True, timeout=120)


def test_all_browser_tests_run_on_one_worker() -> None:
    run = pytest_run("-n", "2", "-v", "tests/browser/test_chromium.py", "-k", "on_the_path")
    workers = re.findall(r"\[(gw\d)\] .*PASSED", run.stdout)
    assert run.returncode == 0 and len(workers) == len(chromium.NAMES), run.stdout
    assert len(set(workers)) == 1, run.stdout


def test_without_a_browser_its_tests_fail_and_the_others_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CHROMIUM", "/nowhere/mine")
    failing = pytest_run("-n", "0", "tests/browser/test_lab.py", "-k", "clipboard")
    assert failing.returncode == 1 and "1 error" in failing.stdout, failing.stdout
    assert "CHROMIUM=/nowhere/mine is no program" in failing.stdout
    others = pytest_run("-n", "0", "tests/browser", "tests/core/test_margin.py", "-m", "not browser")
    assert others.returncode == 0 and "passed" in others.stdout, others.stdout
