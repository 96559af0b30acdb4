"""Matplotlib's SVG made light: the same picture in a fraction of the elements.

Matplotlib puts every tick, grid line and word into groups of its own, marks as copies of a definition, and clips each
grid line by itself. A live picture is replaced at every move, and the browser pays for each element every time. Here
lines of one look become one path and words of one look one group.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from itertools import cycle

from augerbook.draw.style import FONT_FAMILY, FONT_STACK
from augerbook.draw.svg_text import escape

#: The family is that of the whole picture.
_UNSAID = {("font-family", FONT_STACK), ("stroke-dashoffset", "0")}
_SLOT = "slot-"
_HREF = "{http://www.w3.org/1999/xlink}href"
_TOKEN = re.compile(r"[A-Za-z]|-?[\d.]+(?:e-?\d+)?")


def still_parts(stored: str) -> tuple[list[str], list[str]]:
    """Take apart an SVG by matplotlib in which groups with the ids ``slot-<name>`` keep places free.

    Returns:
        The strings before, between and after these groups, and their names, both in the order of drawing.
    """
    parts = _Parts(ET.fromstring(stored))
    return parts.still, parts.names


class _Parts:
    """Walks through the picture; what may be gathered is held back until something must be drawn over it."""

    def __init__(self, root: ET.Element) -> None:
        self.still = [""]
        self.names: list[str] = []
        # Definitions may follow their use.
        self._marks = {path.get("id", ""): path for path in root.iter() if _tag(path) == "path" and path.get("id")}
        self._lines: dict[str, list[str]] = {}
        self._words: dict[str, list[str]] = {}
        self._defined: list[ET.Element] = []
        for child in root:
            self._walk(child)
        self._draw_gathered()
        drawn = "".join(self.still)
        used = [element for element in self._defined if f"url(#{element.get('id')})" in drawn]
        self.still[-1] += f"<defs>{''.join(map(self._as_it_is, used))}</defs>" if used else ""

    def _walk(self, element: ET.Element) -> None:
        tag = _tag(element)
        if tag == "g" and element.get("id", "").startswith(_SLOT):
            self._draw_gathered()
            self.names.append(element.get("id", "").removeprefix(_SLOT))
            self.still.append("")
        elif tag == "g" and set(element.keys()) <= {"id"}:
            for child in element:
                self._walk(child)
        elif tag == "defs":
            # Marks stand where they are used, the style sheet speaks to the whole page.
            self._defined += [child for child in element if _tag(child) not in ("style", "path")]
        elif tag in ("path", "use") and (line := self._line(element)):
            look, data = line
            self._lines.setdefault(look, []).append(data)
        elif tag == "text" and len(element) == 0:
            words = f"<text{_attributes(element, 'x', 'y', 'transform')}>{escape(element.text or '')}</text>"
            self._words.setdefault(_written(_look(element)), []).append(words)
        elif tag != "metadata":
            self._draw(self._as_it_is(element))

    def _line(self, element: ET.Element) -> tuple[str, str] | None:
        """Return look and data of a stroke that may be drawn together with others like it; None for anything else.

        A straight line between two points needs no clipping: grid lines and ticks end where they should.
        """
        look, data = self._look_and_data(element)
        straight = len(_TOKEN.findall(data)) == 6
        if "opacity" in look or (not straight and (look.get("fill") != "none" or element.get("clip-path"))):
            return None
        return _written(look | {"fill": "none"}), data

    def _look_and_data(self, element: ET.Element) -> tuple[dict[str, str], str]:
        """Return the look and the path of a `path`, or of a copy of a mark at its place."""
        if _tag(element) == "path":
            return _look(element), _moved(element.get("d", ""), 0.0, 0.0)
        mark = self._marks[element.get(_HREF, "#")[1:]]
        place = float(element.get("x", 0)), float(element.get("y", 0))
        # What the mark itself says goes before what the copy says.
        return _look(element) | _look(mark), _moved(mark.get("d", ""), *place)

    def _as_it_is(self, element: ET.Element) -> str:
        tag = _tag(element)
        if tag in ("path", "use"):
            look, data = self._look_and_data(element)
            return f'<path d="{data}" style="{_written(look)}"{_attributes(element, "clip-path")}/>'
        own = f' style="{_written(_look(element))}"' if element.get("style") else ""
        others = _attributes(element, *(key for key in element.attrib if key not in ("style", _HREF)))
        inside = escape((element.text or "").strip()) + "".join(self._as_it_is(child) for child in element)
        return f"<{tag}{others}{own}>{inside}</{tag}>"

    def _draw(self, element: str) -> None:
        self._draw_gathered()
        self.still[-1] += element

    def _draw_gathered(self) -> None:
        """Draw the lines and words held back, words on top."""
        self.still[-1] += "".join(f'<path d="{"".join(data)}" style="{look}"/>' for look, data in self._lines.items())
        self.still[-1] += "".join(f'<g style="{look}">{"".join(words)}</g>' for look, words in self._words.items())
        self._lines, self._words = {}, {}


def _tag(element: ET.Element) -> str:
    return element.tag.rpartition("}")[2]


def _look(element: ET.Element) -> dict[str, str]:
    """Return the declarations of an element's style, with substitutes for its font."""
    pairs = (part.strip().split(": ", 1) for part in element.get("style", "").split(";") if part.strip())
    look = {key: value.replace(f"'{FONT_FAMILY}'", FONT_STACK) for key, value in pairs}
    return {key: value for key, value in look.items() if (key, value) not in _UNSAID}


def _written(look: dict[str, str]) -> str:
    return "; ".join(f"{key}: {value}" for key, value in look.items())


def _attributes(element: ET.Element, *keys: str) -> str:
    """Return those of the attributes that are there, coordinates to a hundredth; a turn by nothing is left out."""
    pairs = {key: element.get(key, "") for key in keys}
    return "".join(
        f' {key}="{_short(float(value)) if key in ("x", "y") and " " not in value else escape(value)}"'
        for key, value in pairs.items()
        if value and not re.match(r"rotate\(-?0 ", value)
    )


def _moved(data: str, x: float, y: float) -> str:
    """Return path data (absolute, coordinates in pairs) moved by (x, y), without blanks that nobody needs."""
    written: list[str] = []
    shifts = cycle((x, y))
    for token in _TOKEN.findall(data):
        if token.isalpha():
            written.append(token)
        else:
            blank = " " if written and not written[-1].isalpha() else ""
            written.append(f"{blank}{_short(float(token) + next(shifts))}")
    return "".join(written)


def _short(number: float) -> str:
    return f"{number:.2f}".rstrip("0").rstrip(".")
