"""Finds a Chromium for the browser tests, and installs one where that is possible."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Playwright

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
ARGUMENTS = (
    "--no-sandbox",  # the sandbox refuses to start as root, which tests in a container are
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
SECONDS_TO_INSTALL = 600


class NoBrowserError(Exception):
    """There is no browser and none could be installed; the message says what to do."""


def find_or_install(playwright: Playwright) -> Path:
    """The browser to use: ``CHROMIUM`` from the environment, playwright's own, the system's, or a new one."""
    if browser := find(playwright):
        return browser
    tried = []
    # Debian's package first, where we may: it brings the system libraries that playwright's download lacks.
    for commands in (_by_apt(), [_by_playwright()]):
        tried += [_attempt(command) for command in commands]
        if browser := find(playwright):
            return browser
    raise NoBrowserError(
        "The browser tests need Chromium or Chrome and found none.\n"
        "Install one ('sudo apt-get install chromium', or 'python -m playwright install chromium'),\n"
        "or name one: CHROMIUM=/path/to/chrome. To run the other tests: pytest -m 'not browser'.\n"
        "Tried to install it myself:\n" + "\n".join(tried)
    )


def find(playwright: Playwright) -> Path | None:
    """A browser that is on this machine already, or None."""
    if named := os.environ.get("CHROMIUM"):
        found = shutil.which(named)
        if found is None:
            raise NoBrowserError(f"CHROMIUM={named} is no program that can be run; correct it or unset it.")
        return Path(found)
    own = Path(playwright.chromium.executable_path)
    if own.is_file():
        return own
    return next((Path(found) for name in NAMES if (found := shutil.which(name))), None)


def _by_playwright() -> list[str]:
    return [sys.executable, "-m", "playwright", "install", "chromium"]


def _by_apt() -> list[list[str]]:
    """The commands that install Debian's package, if we may run them without being asked for a password."""
    if shutil.which("apt-get") is None:
        return []
    if os.geteuid() == 0:
        before = []
    elif shutil.which("sudo") and subprocess.run(["sudo", "-n", "true"], capture_output=True).returncode == 0:
        before = ["sudo", "-n"]
    else:
        return []
    quietly = ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get"]
    return [[*before, *quietly, "update"], [*before, *quietly, "install", "-y", "chromium"]]


def _attempt(command: list[str]) -> str:
    """Run one installer; returns a line on how it went."""
    shown = " ".join(command)
    try:
        run = subprocess.run(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            timeout=SECONDS_TO_INSTALL,
        )
    except subprocess.TimeoutExpired:
        return f"  {shown}: stopped after {SECONDS_TO_INSTALL} s"
    last = next((line for line in reversed(run.stdout.splitlines()) if line and not line[0].isspace()), "")
    return f"  {shown}: ended with {run.returncode}. {last}"
