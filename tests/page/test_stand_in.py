"""What a live panel leaves behind: outputs of its own for rules, panel, picture and table."""

import re
from typing import Any

import ipywidgets as widgets
import pytest
from augerbook.draw.scene import Scene
from augerbook.page import stand_in

from tests.handbook import refresh


@pytest.fixture
def shown(monkeypatch: pytest.MonkeyPatch) -> list[tuple[dict[str, Any], dict[str, Any]]]:
    """Data and metadata of each output, in order."""
    outputs: list[tuple[dict[str, Any], dict[str, Any]]] = []

    def take(data: dict[str, Any], metadata: dict[str, Any] | None = None, *, raw: bool) -> None:
        assert raw
        outputs.append((data, metadata or {}))

    monkeypatch.setattr(stand_in, "display", take)
    panel = widgets.HTML("alive")
    stand_in.display_with_still(panel, Scene(width=10, height=5, alt="a sheet of paper"), "| what |\n|---|\n| it |")
    assert "augerbook-live" in panel._dom_classes
    return outputs


def test_each_viewer_finds_one_output_that_it_can_show(shown: list[tuple[dict[str, Any], dict[str, Any]]]) -> None:
    assert [sorted(data) for data, _ in shown] == [
        ["text/html"],
        [refresh.WIDGET_VIEW],
        ["image/png", "text/plain"],
        ["text/markdown", "text/plain"],
    ]
    picture, metadata = shown[2]
    assert picture["text/plain"] == "Picture: a sheet of paper"
    assert metadata["image/png"] == {"alt": "a sheet of paper", "width": 800}
    assert shown[3][0]["text/markdown"].startswith("| what |")
    assert "Run All Cells" in shown[3][0]["text/markdown"]


def test_the_style_sheet_shows_nothing_and_nests_no_has(shown: list[tuple[dict[str, Any], dict[str, Any]]]) -> None:
    html = shown[0][0]["text/html"]
    assert re.sub(r"<style>.*</style>", "", html, flags=re.S) == '<div class="augerbook-rules"></div>'
    # A selector with one inside another is invalid, and with it the whole rule.
    assert not re.search(r":has\([^()]*:has\(", html)
