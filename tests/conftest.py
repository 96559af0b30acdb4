"""Settings shared by all tests."""

import asyncio.events
import gc
import os
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import pytest

from tests.handbook import quick_start  # noqa: F401
from tests.soak import register_profiles

if TYPE_CHECKING:
    from xdist.scheduler import LoadScopeScheduling

# Figures are drawn in memory. Kernels do not inherit this: refresh.kernel_environment takes it away.
os.environ.setdefault("MPLBACKEND", "Agg")

register_profiles()

SECONDS_PER_TEST = 600
#: What takes longer than this has the mark ``slow``; a busy machine takes twice as long.
SECONDS_FOR_FAST = 1.0
TAKES_TIME = {"notebook", "browser", "bench", "slow"}
#: The order in which workers begin, all others after these.
FIRST = ("browser", "notebook", "slow")


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("timeout", default=None) is None:
        config.option.timeout = SECONDS_PER_TEST


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        if TAKES_TIME.isdisjoint(mark.name for mark in item.iter_markers()):
            item.add_marker(pytest.mark.fast)
    if hasattr(config, "workerinput"):
        # What takes long begins first, so that no worker is left with it alone at the end.
        items.sort(key=lambda item: next((n for n, mark in enumerate(FIRST) if item.get_closest_marker(mark)), 9))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> "LoadScopeScheduling":
    """Deal tests out: those of the browser, which share a server and a browser, to one worker; notebooks one by one.

    The cases of any other check stay together, since they share what was computed.

    By folder, not by ``xdist_group`` and ``--dist=loadgroup``: xdist 3.8 hands groups over in a field of pytest's that
    pytest 9.2 no longer reads, and then deals them out like all others without a word.
    """
    from xdist.scheduler import LoadScopeScheduling

    class Together(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            if nodeid.startswith("tests/browser/"):
                return "browser"
            return nodeid if nodeid.startswith("tests/handbook/") else nodeid.partition("[")[0]

    config.option.loadscopereorder = False  # as they are collected
    return Together(config, log)


@pytest.fixture(autouse=True)
def _hide_the_browsers_loop(request: pytest.FixtureRequest) -> Iterator[None]:
    """Hide the event loop that playwright leaves running in its thread from the tests that are not of the browser.

    Which of them follow on that worker is chance; what waits for a loop to go on would wait for ever.
    """
    left_running = asyncio.events._get_running_loop()
    if left_running is None or request.node.get_closest_marker("browser"):
        yield
        return
    asyncio.events._set_running_loop(None)
    yield
    asyncio.events._set_running_loop(left_running)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Name what is called fast and was not, so that the fast tests stay a matter of a minute or two."""
    if config.option.markexpr != "fast":
        return
    reports = terminalreporter.stats.get("passed", ())
    if late := [r for r in reports if r.when == "call" and r.duration > SECONDS_FOR_FAST]:
        terminalreporter.section("fast by name, to be marked slow if they always take so long")
        for report in sorted(late, key=lambda r: -r.duration):
            terminalreporter.write_line(f"{report.duration:5.1f} s  {report.nodeid}")


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """Spare the search for garbage all that was imported and collected: it stays to the end of the run."""
    gc.collect()
    gc.freeze()
