"""One page of the build to print or to keep as PDF: drawing, margins, parts, sources, cautions and ids."""

from __future__ import annotations

from collections.abc import Sequence

import ipywidgets as widgets
from markupsafe import Markup

from augerbook import __version__
from augerbook.builds.build import Build
from augerbook.builds.estimates import estimated
from augerbook.chapters.pictures import all_pictures
from augerbook.core.example import fingerprint
from augerbook.core.margin import Margin
from augerbook.deciding.ranking import margins_of_head
from augerbook.page.alarms import alarms_html, behind_html, contradictions_html
from augerbook.page.cells import table_html
from augerbook.page.cite import cite
from augerbook.page.estimated_view import NO_DATA_SHEET, counted
from augerbook.page.margins_view import valued
from augerbook.page.parts_list import parts_of
from augerbook.page.print_sheet import print_html
from augerbook.page.session import Session

_WIDE = widgets.Layout(width="100%")
_CAUTIONS = (
    "A head of this kind is hot, holds molten plastic under pressure and turns a screw with force. Never leave it "
    "alone while it is hot; keep clear of screw and gears while the motor is live; heat only in a ventilated room. "
    "These figures follow from formulas and from what was typed or estimated: they are no certification. Local codes, "
    "the makers' data sheets and those licensed for mains wiring have the last word."
)


class SheetPanel:
    """The sheet, made when it is asked for, with its button to print."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.view = widgets.HTML(layout=_WIDE)
        self.widget = widgets.VBox([self.view], layout=_WIDE)

    def refresh(self) -> None:
        """Make the sheet of the present build."""
        build = self._session.build
        self.view.value = behind_html(self._session) + print_html(
            sheet_html(build), "Print this page, or keep it as PDF", f"Print head {build.name}"
        )


def sheet_html(build: Build) -> Markup:
    """Return the sheet of a build as HTML that stands alone."""
    margins = [m for m in margins_of_head(build.network) if m.quantity in build.solution.values]
    named = Markup("<h1>Print head <i>{}</i></h1><p>{}</p>").format(build.name, build.note)
    rows = _rows(build, margins)
    pieces = [
        named,
        _guesses(build),
        contradictions_html(build) + alarms_html(build.solution),
        _drawing(build),
        _titled("Parts", table_html(("part", "called", "sizes"), parts_of(build), plain=True)),
        _titled(
            "Margins", table_html(("margin", "value, with its spread", "limits", "verdict", "id"), rows, plain=True)
        ),
        _titled("Where the limits are from", _sources(margins)),
        _titled("Cautions", Markup("<p>{}</p>").format(_CAUTIONS)),
        Markup("<p>augerbook {}, build {}</p>").format(__version__, fingerprint(build.toml())),
    ]
    return Markup().join(pieces)


def _guesses(build: Build) -> Markup:
    """Say on top how much of the sheet nobody measured; empty where all is known."""
    if not estimated(build):
        return Markup()
    words = Markup("<p><b>{} estimated: nobody measured them or read them on a data sheet.</b> {}</p>")
    return words.format(counted(build), NO_DATA_SHEET)


def _drawing(build: Build) -> Markup:
    picture = all_pictures()[0]
    if lacking := picture.missing(build.solution):
        return Markup("<p>{}: {}.</p>").format(picture.title, lacking)
    try:
        return Markup(picture.scene(build.solution, next(iter(picture.variants), "")).svg())
    except ValueError as error:
        return Markup("<p>{} cannot be drawn at these values: {}.</p>").format(picture.title, error)


def _rows(build: Build, margins: Sequence[Margin]) -> list[tuple[str, ...]]:
    told = valued(build, margins)
    return [(m.name_in_words, told[m.id][0], m.rule(), str(told[m.id][1]), m.id) for m in margins]


def _sources(margins: Sequence[Margin]) -> Markup:
    told: dict[str, list[str]] = {}
    for margin in margins:
        told.setdefault(cite(margin.source), []).append(margin.id)
    items = (Markup("<li>{}: {}</li>").format(source, ", ".join(ids)) for source, ids in told.items())
    return Markup("<ul>{}</ul>").format(Markup().join(items))


def _titled(words: str, body: Markup) -> Markup:
    return Markup("<h2>{}</h2>{}").format(words, body)
