"""Finding a browser: what is there is used, what is missing is installed or named, nothing is skipped in silence."""

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from tests.browser import chromium

NOWHERE: Any = SimpleNamespace(chromium=SimpleNamespace(executable_path="/nowhere/chrome"))


def program(path: Path) -> Path:
    path.parent.mkdir(exist_ok=True)
    path.write_text("#!/bin/sh\n", encoding="utf-8")
    path.chmod(0o755)
    return path


@pytest.fixture
def bare(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A machine without any browser; the folder that its PATH names."""
    folder = tmp_path / "bin"
    folder.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.delenv("CHROMIUM", raising=False)
    return folder


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


def test_a_missing_browser_is_installed(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chromium, "_by_apt", lambda: [["/bin/cp", "/bin/true", str(bare / "chromium")]])
    assert chromium.find_or_install(NOWHERE) == bare / "chromium"


def test_without_a_browser_the_message_says_what_to_do(bare: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(chromium, "_by_playwright", lambda: ["/bin/sh", "-c", "echo no network; exit 3"])
    with pytest.raises(chromium.NoBrowserError, match=r"apt-get install chromium(?s:.*)ended with 3\. no network"):
        chromium.find_or_install(NOWHERE)
