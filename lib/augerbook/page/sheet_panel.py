"""The build to print or to keep as PDF: drawing, parts and cautions on the front, margins, limits and ids behind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import ipywidgets as widgets
from markupsafe import Markup

from augerbook import __version__
from augerbook.builds.build import Build
from augerbook.builds.estimates import estimated
from augerbook.core.example import fingerprint
from augerbook.core.margin import Margin, Verdict
from augerbook.deciding.ranking import margins_of_head
from augerbook.page.alarms import alarms_html, behind_html, contradictions_html
from augerbook.page.bench_drawing import bench_drawing
from augerbook.page.cells import table_html
from augerbook.page.cite import cite
from augerbook.page.estimated_view import NO_DATA_SHEET, counted
from augerbook.page.margins_view import valued
from augerbook.page.parts_list import parts_of
from augerbook.page.plain import Html
from augerbook.page.print_sheet import COMPACT, print_html
from augerbook.page.session import Session
from augerbook.page.worst_first import ORDER, worst_first

_WIDE = widgets.Layout(width="100%")
_CAUTIONS = (
    "A head of this kind is hot, holds molten plastic under pressure and turns a screw with force. Never leave it "
    "alone while it is hot; keep clear of screw and gears while the motor is live; heat only in a ventilated room. "
    "These figures follow from formulas and from what was typed or estimated: they are no certification. Local codes, "
    "the makers' data sheets and those licensed for mains wiring have the last word."
)
_DRAWN = "Each view is to its own scale. Heights of block and cooler and the outside of the nozzle are drawn freely."
_ESTIMATED = " ≈ stands before what is only estimated: measure it first."


class SheetPanel:
    """The sheet, made when it is asked for, with its button to print."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.view = Html(layout=_WIDE)
        self.widget = widgets.VBox([self.view], layout=_WIDE)

    def refresh(self) -> None:
        """Make the sheet of the present build."""
        build = self._session.build
        self.view.value = behind_html(self._session) + print_html(
            sheet_html(build), "Print these two sides, or keep them as PDF", f"Print head {build.name}", COMPACT
        )


def sheet_html(build: Build) -> Markup:
    """Return the sheet of a build as HTML: what is needed at the bench on the front, what it rests on behind."""
    known = [m for m in margins_of_head(build.network) if m.quantity in build.solution.values]
    told = valued(build, known)
    margins = worst_first(known, build.solution, {id_: verdict for id_, (_, verdict) in told.items()})
    numbers = {source: number for number, source in enumerate(dict.fromkeys(cite(m.source) for m in margins), 1)}
    printed = Markup("<small>augerbook {}, build {}</small>").format(__version__, fingerprint(build.toml()))
    front = [
        Markup("<h1>Print head <i>{}</i></h1><p>{} {}</p>").format(build.name, build.note, printed),
        _guesses(build),
        contradictions_html(build) + alarms_html(build.solution),
        Markup("<p>{}</p>").format(_summary(margins, told)),
        _drawing(build),
        _titled("Parts", table_html(("part", "called", "sizes"), parts_of(build), kind="parts", plain=True)),
        _titled("Cautions", Markup("<p>{}</p>").format(_CAUTIONS)),
    ]
    if not margins:
        return Markup().join(front)
    behind = [
        Markup("<h2>Margins of <i>{}</i>, the worst first</h2><p>{}</p>").format(build.name, printed),
        table_html(("margin", "value, with its spread", "good", "limit", "verdict", "from", "id"),
                   [_row(m, told, numbers) for m in margins], kind="fine lines", plain=True),
        _titled("Where the limits are from", _sources(list(numbers))),
    ]  # fmt: skip
    return Markup().join(front) + Markup("<div class='side'>{}</div>").format(Markup().join(behind))


def _guesses(build: Build) -> Markup:
    """Say on top how much of the sheet nobody measured; empty where all is known."""
    if not estimated(build):
        return Markup()
    words = Markup("<p><b>{} estimated: nobody measured them or read them on a data sheet.</b> {}</p>")
    return words.format(counted(build), NO_DATA_SHEET)


def _drawing(build: Build) -> Markup:
    try:
        scene, lacking = bench_drawing(build)
    except ValueError as error:
        return Markup("<p>The head cannot be drawn at these values: {}.</p>").format(error)
    told = Markup().join(Markup("<p>{}</p>").format(words) for words in lacking)
    if scene is None:
        return told
    words = _DRAWN + (_ESTIMATED if estimated(build) else "")
    return Markup(scene.svg()) + Markup("<p>{}</p>").format(words) + told


def _summary(margins: Sequence[Margin], told: Mapping[str, tuple[str, Verdict]]) -> str:
    """Say how the margins stand, and name those that are beyond their limit."""
    if not margins:
        return "No margin can be computed yet."
    groups = {verdict: [m.name_in_words for m in margins if told[m.id][1] is verdict] for verdict in ORDER}
    said = ", ".join(f"{len(names)} {verdict}" for verdict, names in groups.items() if names)
    named = "; ".join(groups[Verdict.FAILS])
    return f"Margins, see the other side: {said}.{f' Beyond the limit: {named}.' if named else ''}"


def _row(margin: Margin, told: Mapping[str, tuple[str, Verdict]], numbers: Mapping[str, int]) -> tuple[str, ...]:
    value, verdict = told[margin.id]
    shown = Markup("<b>{}</b>").format(verdict) if verdict is Verdict.FAILS else str(verdict)
    return margin.name_in_words, value, *margin.bounds(), shown, str(numbers[cite(margin.source)]), margin.id


def _sources(sources: Sequence[str]) -> Markup:
    items = Markup().join(Markup("<li>{}</li>").format(source) for source in sources)
    return Markup("<ol class='fine'>{}</ol>").format(items)


def _titled(words: str, body: Markup) -> Markup:
    return Markup("<h2>{}</h2>{}").format(words, body)
