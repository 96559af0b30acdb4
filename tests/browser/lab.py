"""A JupyterLab of our own and a page in it, for tests that do what a reader does."""

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any, Self

import psutil
from playwright.sync_api import BrowserContext, ConsoleMessage, Locator, Page, ViewportSize, expect

from tests.browser.traffic import KernelTraffic

HANDBOOK = Path(__file__).resolve().parents[2] / "handbook"
SECONDS_TO_START = 90
SECONDS_TO_RUN = 180
SIZE = ViewportSize(width=1280, height=900)
#: Waits until the page has dealt with what was done to it and has painted it: on a busy machine longer than on a quiet.
_PAINTED = "() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(done, 20))))"


class LabServer:
    """``jupyter lab`` on a free loopback port, serving copies of the notebooks from a folder of its own.

    Use as a context manager. Nothing is written outside ``folder``: settings, data and runtime files go there
    too, while kernels and lab extensions are found where the running Python has them.
    """

    def __init__(self, folder: Path, *, theme: str = "JupyterLab Light") -> None:
        self.root = folder / "served"
        self._theme = theme
        self.token = secrets.token_hex(16)
        self.port = 0
        self._folder = folder
        self._log = folder / "jupyterlab.log"
        self._process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Address of the server, without a slash at the end."""
        return f"http://127.0.0.1:{self.port}"

    def __enter__(self) -> Self:
        ignored = shutil.ignore_patterns(".*", "__pycache__")
        shutil.copytree(HANDBOOK, self.root / "handbook", ignore=ignored)
        self._settle_settings()
        self.port = _free_port()
        try:
            with self._log.open("wb") as log:
                self._process = subprocess.Popen(
                    self._command(),
                    cwd=self.root,
                    env=self._environment(),
                    stdin=subprocess.DEVNULL,
                    stdout=log,
                    stderr=subprocess.STDOUT,
                )
            self._wait_until_it_answers()
        except BaseException:
            self.stop()
            raise
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.stop()

    def _command(self) -> list[str]:
        return [
            *(sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root"),
            *("--ip=127.0.0.1", f"--port={self.port}", "--ServerApp.port_retries=0"),
            f"--ServerApp.root_dir={self.root}",
            f"--IdentityProvider.token={self.token}",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
            "--LabApp.extension_manager=readonly",  # the other one asks a package index what there is
        ]

    def _environment(self) -> dict[str, str]:
        kept = {key: value for key, value in os.environ.items() if key not in ("MPLBACKEND", "PYTHONWARNINGS")}
        own = {
            "JUPYTER_CONFIG_DIR": "config",
            "JUPYTER_DATA_DIR": "data",
            "JUPYTER_RUNTIME_DIR": "runtime",
            "IPYTHONDIR": "ipython",
        }
        return kept | {key: str(self._folder / name) for key, name in own.items()}

    def _settle_settings(self) -> None:
        """No news, the theme asked for, and no saving by itself: a page stored alive is not the one handed out."""
        chosen: dict[str, dict[str, object]] = {
            "apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
            "apputils-extension/themes": {"theme": self._theme},
            "docmanager-extension/plugin": {"autosave": False},
        }
        for name, values in chosen.items():
            path = self._folder / f"config/lab/user-settings/@jupyterlab/{name}.jupyterlab-settings"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(json.dumps(values), encoding="utf-8")

    def _wait_until_it_answers(self) -> None:
        assert self._process is not None
        end = time.monotonic() + SECONDS_TO_START
        while time.monotonic() < end and self._process.poll() is None:
            try:
                self.ask("GET", "api/status")
            except (urllib.error.URLError, ConnectionError, TimeoutError):
                time.sleep(0.2)
            else:
                return
        said = self._log.read_text(encoding="utf-8", errors="replace")[-3000:]
        raise RuntimeError(f"JupyterLab did not start within {SECONDS_TO_START} s. It said:\n{said}")

    def ask(self, method: str, path: str) -> Any:
        """One request to the server's interface; the decoded answer, None if it is empty."""
        request = urllib.request.Request(
            f"{self.url}/{path}", method=method, headers={"Authorization": f"token {self.token}"}
        )
        with urllib.request.urlopen(request, timeout=10) as answer:
            body = answer.read()
        return json.loads(body) if body else None

    def stop_kernels(self) -> None:
        """End all sessions and their kernels."""
        for session in self.ask("GET", "api/sessions"):
            self.ask("DELETE", f"api/sessions/{session['id']}")

    def stop(self) -> None:
        """End the server and whatever it started, politely first."""
        if self._process is None:
            return
        try:
            family = psutil.Process(self._process.pid).children(recursive=True)
        except psutil.NoSuchProcess:
            family = []
        self._process.terminate()
        try:
            self._process.wait(timeout=15)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        _, left = psutil.wait_procs(family, timeout=5)
        for process in left:
            process.kill()
        psutil.wait_procs(left, timeout=5)
        self._process = None


class Lab:
    """A browser page on a ``LabServer``: opens a notebook, runs it, reads it."""

    def __init__(self, server: LabServer, context: BrowserContext) -> None:
        self.server = server
        context.grant_permissions(["clipboard-read", "clipboard-write"], origin=server.url)
        self.page: Page = context.new_page()
        self._traffic = KernelTraffic(self.page)
        self._console: list[str] = []
        self.page.on("console", self._listen)
        self.page.on("pageerror", lambda error: self._console.append(f"page error: {error}"))

    def _listen(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self._console.append(f"console: {message.text}")

    @property
    def notebook(self) -> Locator:
        """The open notebook's panel."""
        return self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)")

    def open(self, notebook: str | Path) -> None:
        """Open a notebook of the handbook by its name (``"start"``) or any other by its path, and await its kernel.

        A path is copied to where the server can see it. Waiting matters: 'run all' issued the moment the page
        appears does nothing, or leaves widgets without a picture.
        """
        if isinstance(notebook, Path):
            (self.server.root / "other").mkdir(exist_ok=True)
            shutil.copy(notebook, self.server.root / "other")
            served = f"other/{notebook.name}"
        else:
            served = f"handbook/{notebook.removesuffix('.ipynb')}.ipynb"
        if not (self.server.root / served).is_file():
            raise FileNotFoundError(f"there is no notebook {served}")
        workspace = secrets.token_hex(4)  # a workspace of its own: nothing is restored from the last page
        self.page.goto(f"{self.server.url}/lab/workspaces/{workspace}/tree/{served}?token={self.server.token}")
        self._wait_for_kernel()

    def close(self) -> None:
        """Close the page and end the server's kernels."""
        self.page.context.close()
        self.server.stop_kernels()

    def save(self) -> None:
        """Save by the button, then wait until nothing is left to save."""
        self.notebook.locator("[data-command='docmanager:save']").click()
        expect(self.page.locator(".lm-DockPanel-tabBar .lm-TabBar-tab.lm-mod-current.jp-mod-dirty")).to_have_count(0)

    def reopen(self) -> None:
        """Open the page anew, as on the next morning: its kernel has ended, a fresh one is awaited."""
        self.server.stop_kernels()
        self._traffic = KernelTraffic(self.page)
        self.page.reload()
        self._wait_for_kernel()

    def _wait_for_kernel(self) -> None:
        kernel = self.notebook.locator(".jp-KernelName")
        expect(kernel).to_contain_text("Python 3", timeout=SECONDS_TO_START * 1000)
        expect(self.page.locator(".jp-Spinner")).to_have_count(0)
        self.wait_idle()

    def start_all(self) -> None:
        """Run > Run All Cells, without waiting for anything."""
        self.page.locator(".lm-MenuBar-item", has_text="Run").first.click()
        self.page.locator("[data-command='runmenu:run-all']").click()

    def run_all(self) -> None:
        """Run > Run All Cells, then wait until all have run."""
        before = self._traffic.cells_sent
        self.start_all()
        self._wait_for(lambda: self._traffic.cells_sent > before, 10, "no cell was sent to the kernel")
        self.wait_idle()

    def wait_idle(self, seconds: float = SECONDS_TO_RUN) -> None:
        """Wait until the kernel has dealt with every cell and every move of a control that was sent to it."""
        indicator = self.notebook.locator(".jp-Notebook-ExecutionIndicator[data-status='idle']")
        for _ in range(2):  # twice: widgets ask the kernel for their state after the cells have run
            self.page.evaluate(_PAINTED)
            self._wait_for(lambda: self._traffic.waiting == 0, seconds, f"the kernel is busy after {seconds} s")
            expect(indicator).to_be_attached(timeout=seconds * 1000)

    def _wait_for(self, condition: Callable[[], bool], seconds: float, complaint: str) -> None:
        end = time.monotonic() + seconds
        while not condition():
            if time.monotonic() > end:
                raise TimeoutError("; ".join([complaint, *self.errors()]))
            self.page.wait_for_timeout(50)

    def errors(self) -> list[str]:
        """What went wrong on this page so far.

        Tracebacks and warnings from the kernel, also those of a slider's callback, which JupyterLab shows only
        in its log; widgets that failed to appear; errors on the browser's console.
        """
        failed = self.notebook.locator(".jp-OutputArea-output", has_text="Error displaying widget")
        return [*self._traffic.errors, *failed.all_inner_texts(), *self._console]

    def clipboard(self) -> str:
        """What has been copied to the clipboard."""
        text: str = self.page.evaluate("navigator.clipboard.readText()")
        return text

    def screenshot(self, path: Path) -> None:
        """Save what the window shows, as PNG."""
        self.page.screenshot(path=path)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port
