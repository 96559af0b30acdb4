"""Finds a Chromium for the browser tests, and installs one where that is possible."""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import psutil
from filelock import FileLock, Timeout
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
#: For all of it together, waiting for others included: less than a test may take (tests/conftest.py).
SECONDS_TO_INSTALL = 480.0
#: What of this the package manager may take: a download must still be possible after it.
_SHARE_OF_APT = 0.7
SECONDS_TO_WAIT_FOR_DPKG = 120
#: What apt-get says when another holds one of its locks. Told to wait, it waits for dpkg's, not for that of the lists.
_LOCKED = "Could not get lock"
SECONDS_BETWEEN_TRIES = 3.0
#: Most failures are the network's and pass.
TRIES = 2


class NoBrowserError(Exception):
    """There is no browser and none could be installed; the message says what to do."""


def find_or_install(playwright: Playwright, seconds: float = SECONDS_TO_INSTALL) -> Path:
    """The browser to use: ``CHROMIUM`` from the environment, playwright's own, the system's, or a new one.

    Only one process of a user installs at a time; the others wait for it and take what it has installed. What is tried
    is printed as it goes, and is part of the `NoBrowserError` that says so when there is no browser after ``seconds``.
    """
    if browser := find(playwright):
        return browser
    tried: list[str] = []
    start = time.monotonic()

    def note(line: str) -> None:
        tried.append(f"  {time.monotonic() - start:3.0f} s  {line}")
        print(tried[-1], flush=True)

    lock = lock_file()
    try:
        with FileLock(lock, timeout=seconds):
            if browser := find(playwright):  # another process installed it while this one waited
                return browser
            # Debian's package first, where we may: it brings the system libraries that playwright's download lacks.
            for commands, share in ((_by_apt(), _SHARE_OF_APT), ([_by_playwright()], 1.0)):
                for command in commands:
                    _attempt(command, start + share * seconds, note)
                if browser := find(playwright):
                    return browser
    except Timeout:
        note(f"another process is installing a browser: it still holds {lock}")
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


def lock_file() -> Path:
    """What the process that installs holds: one for each user, since a user cannot open another's."""
    user = os.getuid() if hasattr(os, "getuid") else "user"
    return Path(tempfile.gettempdir()) / f"augerbook-chromium-{user}.lock"


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
    apt = [*before, "env", "LC_ALL=C", "DEBIAN_FRONTEND=noninteractive", "apt-get"]
    apt += ["-o", f"DPkg::Lock::Timeout={SECONDS_TO_WAIT_FOR_DPKG}"]
    # Lists that could not be fetched are a failure, else nobody would ask for them again.
    return [[*apt, "-o", "APT::Update::Error-Mode=any", "update"], [*apt, "install", "-y", "chromium"]]


def _attempt(command: list[str], end: float, note: Callable[[str], None]) -> None:
    """Run one installer, again where it failed, until ``end``; notes how it went."""
    shown = " ".join(command)
    failures = waits = 0
    while failures < TRIES:
        if time.monotonic() >= end:
            note(f"{shown}: no time is left for it")
            return
        if waits == 0:
            note(shown)
        code, said = _run(command, end)
        if code is None:
            note(f"  did not end in time and was stopped. {_last_line(said)}")
            return
        if code == 0:
            note("  done")
            return
        if _LOCKED in said:
            if waits == 0:
                note(f"  waits for another package manager. {_last_line(said)}")
            waits += 1
        else:
            failures, waits = failures + 1, 0
            note(f"  ended with {code}. {_last_line(said)}")
        time.sleep(max(0.0, min(SECONDS_BETWEEN_TRIES, end - time.monotonic())))


def _run(command: list[str], end: float) -> tuple[int | None, str]:
    """The exit code of a command, None if it was stopped at ``end``, and what it said."""
    # A file takes what is said, not a pipe, which a process that is left over would hold open.
    with tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as output:
        process = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=output, stderr=subprocess.STDOUT)
        code: int | None = None
        try:
            with suppress(subprocess.TimeoutExpired):
                code = process.wait(timeout=max(0.0, end - time.monotonic()))
        finally:
            if code is None:
                _stop(process)
        output.seek(0)
        return code, output.read()


def _stop(process: subprocess.Popen[bytes]) -> None:
    """End a command and whatever it started, politely first. What runs as another user cannot be ended."""
    with suppress(psutil.Error):
        parent = psutil.Process(process.pid)
        family = [*parent.children(recursive=True), parent]
        for ending in (psutil.Process.terminate, psutil.Process.kill):
            for one in family:
                with suppress(psutil.Error):
                    ending(one)
            _, family = psutil.wait_procs(family, timeout=5)
    process.poll()


def _last_line(said: str) -> str:
    return next((line for line in reversed(said.splitlines()) if line and not line[0].isspace()), "")
