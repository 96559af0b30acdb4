"""The browser and the JupyterLab that all browser tests share, and a fresh page for each test."""

from collections.abc import Callable, Generator, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from tests.browser import chromium
from tests.browser.lab import SIZE, Lab, LabServer

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
def new_lab(browser: Browser, lab_server: LabServer) -> Callable[[], Lab]:
    """Makes pages without memory of earlier ones; whoever makes one closes it."""

    def make() -> Lab:
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
