"""The browser and the JupyterLab that all browser tests share, and a fresh page for each test."""

from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import pytest
from augerbook.page.shelf import KEPT
from playwright.sync_api import Browser, expect, sync_playwright

from tests.browser import chromium
from tests.browser.lab import SIZE, Lab, LabServer
from tests.browser.start_page import Page

FAILED = pytest.StashKey[bool]()
"""Whether a test failed: a page that its fixture shares with others is not used again then."""

# Time enough for a machine that is busy with other things as well: what appears is not waited for any longer.
expect.set_options(timeout=30_000)


@pytest.hookimpl(tryfirst=True)  # before tests/conftest.py, which calls fast what has no such mark
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.path.is_relative_to(Path(__file__).parent):
            item.add_marker(pytest.mark.browser)


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    item.stash[FAILED] = item.stash.get(FAILED, False) or report.failed
    return report


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        try:
            program = chromium.find_or_install(playwright)
        except chromium.NoBrowserError as error:
            pytest.fail(str(error), pytrace=False)
        running = playwright.chromium.launch(executable_path=program, args=list(chromium.ARGUMENTS))
        yield running
        running.close()


@pytest.fixture(scope="session")
def lab_server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[LabServer]:
    with LabServer(tmp_path_factory.mktemp("lab")) as server:
        yield server


@pytest.fixture(scope="session")
def kept(browser: Browser, lab_server: LabServer) -> Iterator[list[Page]]:
    """The start page that tests use one after another, gone before browser and server are.

    Empty before the first of these tests, and after one that failed.
    """
    kept: list[Page] = []
    yield kept
    _close(kept)


@pytest.fixture(scope="session")
def new_lab(browser: Browser, lab_server: LabServer, kept: list[Page]) -> Callable[[], Lab]:
    """Makes pages without memory of earlier ones; whoever makes one closes it."""

    def make() -> Lab:
        _close(kept)  # the server's kernels end with the new one
        context = browser.new_context(viewport=SIZE)
        context.set_default_timeout(30_000)
        return Lab(lab_server, context)

    return make


@pytest.fixture
def lab(new_lab: Callable[[], Lab]) -> Iterator[Lab]:
    """A fresh page of its own; its kernels end with it."""
    lab = new_lab()
    yield lab
    lab.close()


@pytest.fixture
def folder(lab_server: LabServer) -> Iterator[Path]:
    """The folder beside the start page, without builds and tables of a maker's own, before the test and after."""
    folder = lab_server.root / "handbook"

    def clear() -> None:
        for path in [*folder.glob("*.toml"), *folder.glob("my_*.csv")]:
            path.unlink()

    clear()
    yield folder
    clear()


@pytest.fixture
def page(kept: list[Page], new_lab: Callable[[], Lab], folder: Path, request: pytest.FixtureRequest) -> Iterator[Page]:
    """The start page, run anew in the kernel that runs already: starting one takes four times as long."""
    if not kept:
        kept.append(Page(new_lab()))
    else:
        try:
            kept[0].start_over()
        except BaseException:
            _close(kept)
            raise
        # The page of the test before wrote its copy when this one took its place: to this test it is nobody's.
        for name in KEPT:
            (folder / name).unlink(missing_ok=True)
        # Had it rested for a second it had written its copy before, and this page offers to go on with that.
        if kept[0].lab.notebook.get_by_role("button", name="Not now").count():
            kept[0].start_over()
    yield kept[0]
    errors = kept[0].lab.errors()
    if errors or request.node.stash.get(FAILED, False):
        _close(kept)
    assert errors == []


def _close(kept: list[Page]) -> None:
    while kept:
        kept.pop().lab.close()
