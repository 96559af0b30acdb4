"""What is seen while the start page is made: the picture that it was stored with, as soon as its cell runs.

Most of the time until the page is there goes into imports, and a cell that runs loses its stored outputs at once. So
this module imports nothing that takes long, and puts the stored picture back before anything else is imported.
"""

from __future__ import annotations

import base64
import html
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from IPython.display import DisplayHandle
from markupsafe import Markup

from augerbook.draw.style import VIEW_WIDTH
from augerbook.page.output_rules import SOON, rules

if TYPE_CHECKING:
    from augerbook.draw.picture import Drawn

_SOON_THERE = "Setting up the page: sliders and margins follow in a few seconds."

# As images they keep their hatches to themselves: those of a hidden drawing would be taken for the live one's.
_IMAGE = "<img src='data:image/svg+xml;base64,{}' alt='{}' style='width:100%;max-width:{}px'>"
_STORED = re.compile(r"<img src='data:image/svg\+xml;base64,(?P<drawing>[A-Za-z0-9+/=]+)' alt='(?P<alt>[^'<>]*)'")


class Meanwhile:
    """The output in which a picture is seen until another output follows it in the same cell."""

    def __init__(self, drawing: str = "", alt: str = "") -> None:
        """Show a stored drawing, an SVG as base64, with what it says in words; words alone without one."""
        self._output = _output(drawing, alt)
        self._place = DisplayHandle()
        self._place.display(self._output, raw=True)

    def show(self, drawn: Drawn) -> None:
        """Show a picture in place of what is shown."""
        drawing = base64.b64encode(drawn.svg().encode()).decode("ascii")
        if (output := _output(drawing, drawn.alt)) != self._output:
            self._output = output
            self._place.update(output, raw=True)


def _output(drawing: str, alt: str) -> dict[str, str]:
    words = Markup("<p role='status'>{} <progress aria-label='at work'></progress></p>").format(_SOON_THERE)
    picture = Markup(_IMAGE).format(drawing, alt, round(VIEW_WIDTH)) if drawing else Markup()
    return rules(Markup("<div class='{}' style='display:none'>{}{}</div>").format(SOON, words, picture))


def show_stored(notebook: Path = Path("start.ipynb")) -> Meanwhile:
    """Show the picture that a notebook was stored with, or words alone where there is none; hand it to the page."""
    try:
        found = next(_pictures(json.loads(notebook.read_bytes())), None)
    except (OSError, ValueError, LookupError, TypeError, AttributeError):
        found = None  # moved, renamed, or being written: the page itself does without
    return Meanwhile(found["drawing"], html.unescape(found["alt"])) if found else Meanwhile()


def _pictures(notebook: Any) -> Iterator[re.Match[str]]:
    """Yield the pictures of this kind among the outputs of a notebook."""
    for cell in notebook["cells"]:
        for output in cell.get("outputs", ()):
            if found := _STORED.search("".join(output.get("data", {}).get("text/html", ""))):
                yield found
