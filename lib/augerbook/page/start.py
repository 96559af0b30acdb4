"""The start page: one build, its pictures, sliders, margins and worked examples."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from pathlib import Path

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import Build
from augerbook.builds.own_rows import OwnTables
from augerbook.builds.reader import MOST_TOLD, BuildError
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import all_subjects
from augerbook.chapters.pictures import all_pictures
from augerbook.core.margin import Margin
from augerbook.core.markup import for_markdown
from augerbook.head import part_titles
from augerbook.page.alarms import behind_html, contradictions_html
from augerbook.page.all_values import AllValues
from augerbook.page.build_panel import BuildPanel
from augerbook.page.changed_panel import ChangedPanel
from augerbook.page.chapter import Markdown
from augerbook.page.choosing_panel import ChoosingPanel
from augerbook.page.controls import Lists, MessageLine, Sliders, message_html
from augerbook.page.deferred import SOON, Deferred
from augerbook.page.estimated_view import guards_html, lacking_notes
from augerbook.page.example_panel import ExamplePanel
from augerbook.page.few_panel import EstimateLine, FewPanel
from augerbook.page.going_on import GoingOn
from augerbook.page.in_sight import InSight
from augerbook.page.jumps import MARGINS, jumps
from augerbook.page.keyboard import for_the_keyboard
from augerbook.page.margins_view import (
    Sensitivities,
    all_margins,
    margins_html,
    sensitivities_in_steps,
    strip_html,
)
from augerbook.page.meanwhile import Meanwhile
from augerbook.page.mending_panel import MendingPanel
from augerbook.page.page_rules import STAYING, page_rules
from augerbook.page.picture_panel import PicturePanel
from augerbook.page.plain import Html
from augerbook.page.scrolling import scrolling
from augerbook.page.session import Session
from augerbook.page.settle_panel import SettlePanel
from augerbook.page.sheet_panel import SheetPanel
from augerbook.page.shelf import Shelf
from augerbook.page.stand_in import display_with_still
from augerbook.page.steady import steady
from augerbook.page.tables_html import margins_markdown, warnings_html
from augerbook.page.trials_desk import TrialsDesk
from augerbook.tables import TableError

_WIDE = widgets.Layout(width="100%")
_COLUMNS = widgets.Layout(width="100%", grid_template_columns="repeat(auto-fit, minmax(392px, 1fr))", grid_gap="0 16px")
_NOTHING, _PIN = "nothing", "this build as it is now"
#: Stands with the still picture, and goes when the live page takes its place: one served without menus has none.
_TO_LIFE = (
    "**To bring the sliders to life: menu Run, then Run All Cells.** Above and below is the page as it looks before "
    "anything runs."
)
#: Places of the panels that open below the page.
_FEW, _BUILD, _ALL_VALUES, _EXAMPLE, _NEXT, _TRIALS, _SHEET = range(7)
_TITLES = {
    _FEW: "Start from few values",
    _BUILD: "Your build: load, upload, paste, save",
    _ALL_VALUES: "All values, part by part",
    _EXAMPLE: "Worked example to copy",
    _NEXT: "Which build to try next",
    _TRIALS: "Trials: plan, weigh, learn",
    _SHEET: "Sheet to print",
}


class StartPage:
    """All of the page, bound to one session. ``widget`` is what is shown."""

    def __init__(self, build: Build, shelf: Shelf | None = None) -> None:
        self.session = Session(build)
        self.shelf = shelf or Shelf()
        own = self.shelf.own_tables(build) if self.shelf.keeps else OwnTables()
        self.session.own = own.rows
        network = build.network
        self._margins = all_margins(network)
        self._depends = self._last_depends = Sensitivities()
        self.message = MessageLine(self.session)
        self.going_on = GoingOn(self.session, self.shelf)
        self.pictures = PicturePanel(self.session)
        self.sliders = Sliders(self.session, [q for q in network.inputs if q.primary])
        self.lists = Lists(self.session, list(network.lookups.values()))
        self.operating = SettlePanel(self.session)
        self.strip = Html(layout=_WIDE, tabbable=True)  # many words scroll, by the arrow keys too
        self.strip.add_class(STAYING)
        self.margins = Html(layout=_WIDE).add_class(MARGINS)
        self.warnings = Html(layout=_WIDE)
        self.compare = widgets.Dropdown(
            options=[_NOTHING, *shipped_builds(), _PIN],
            description="compare with",
            style={"description_width": "110px"},
        )
        self.compare.observe(self._compare, names="value")
        self._tried: dict[str, Build] = {}
        self.mending = MendingPanel(self.session, find=self._find, narrow=self._narrow)
        self.changed = ChangedPanel(self.session)
        self.estimates = EstimateLine(self.session)
        self.guards = Html(layout=_WIDE)
        # What is closed is not made before it is opened, so that the page is there sooner.
        self.more = widgets.Accordion(
            children=[widgets.VBox(layout=_WIDE) for _ in _TITLES], titles=tuple(_TITLES.values()), layout=_WIDE
        )
        self._sights = {place: InSight() for place in _TITLES}
        self.more.observe(lambda _: self._opened(), names="selected_index")
        # The picture first: what else changes must not keep the browser from painting it.
        self._numbers = Deferred(self._show_strip, SOON)
        self.fault = Html(layout=_WIDE)
        self._resting = Deferred(self._at_rest, failed=self._tell_fault)
        self.session.on_change(self._changed)
        self.widget = self._arranged()
        # All of it is there before any is shown: what comes while a browser still sets up the page may be lost on it.
        self._changed()
        self.finish_waiting()
        if own.faults:
            self.session.tell("\n".join(["In your own tables, beside this page:", *own.faults[:MOST_TOLD]]))

    @cached_property
    def few(self) -> FewPanel:
        """What a maker knows, and estimates for the rest."""
        panel = FewPanel(self.session)
        self._put(_FEW, panel.widget)
        return panel

    @cached_property
    def builds(self) -> BuildPanel:
        """Where the build comes from and goes to."""
        panel = BuildPanel(self.session, self.shelf)
        self._put(_BUILD, panel.widget)
        return panel

    @cached_property
    def values(self) -> AllValues:
        """Everything that a build may contain."""
        panel = AllValues(self.session)
        self._put(_ALL_VALUES, panel.widget)
        return panel

    @cached_property
    def example(self) -> ExamplePanel:
        """The worked example to copy."""
        panel = ExamplePanel(self.session)
        self._put(_EXAMPLE, panel.widget)
        return panel

    @cached_property
    def next(self) -> ChoosingPanel:
        """Candidates for the next build."""
        panel = ChoosingPanel(self.session, show_beside=self.show_beside)
        self._put(_NEXT, panel.widget)
        return panel

    @cached_property
    def trials(self) -> TrialsDesk:
        """Trials, from the question to what the build learns."""
        desk = TrialsDesk(self.session)
        self._put(_TRIALS, desk.widget)
        return desk

    @cached_property
    def sheet(self) -> SheetPanel:
        """The build on one page."""
        panel = SheetPanel(self.session)
        self._put(_SHEET, panel.widget)
        return panel

    def _put(self, place: int, widget: widgets.Widget) -> None:
        self.more.children[place].children = [widget, self._sights[place].widget]

    def _arranged(self) -> widgets.Widget:
        controls = widgets.GridBox(_in_two(self._by_part()), layout=_COLUMNS)
        left = widgets.VBox(
            [self.pictures.widget, controls],
            layout=widgets.Layout(flex="3 1 640px", min_width="0", width="auto"),
        )
        row = widgets.Layout(flex_flow="row wrap", align_items="center", grid_gap="0 12px")
        comparing = widgets.HBox([self.compare, self.changed.steps, _ways_in()], layout=row)
        right = widgets.VBox(
            [
                comparing,
                self.changed.widget,
                self.guards,
                self.warnings,
                self.mending.widget,
                self.estimates.widget,
                self.margins,
            ],
            layout=widgets.Layout(flex="2 1 420px", min_width="0", width="auto"),
        )
        both = widgets.HBox([left, right], layout=widgets.Layout(width="100%", flex_flow="row wrap", grid_gap="0 20px"))
        above = [self.message.widget, self.fault, self.going_on.widget, self.strip]
        return widgets.VBox(
            [*above, both, self.more, for_the_keyboard(), jumps(), steady(), scrolling(), page_rules()], layout=_WIDE
        )

    def _by_part(self) -> list[widgets.VBox]:
        """Return one box for each part of the head that has something to change first."""
        boxes = []
        for part, words in part_titles().items():
            inside = [row.widget for item, row in self.lists.rows.items() if item.part == part]
            inside += [row.noted.widget for q, row in self.sliders.rows.items() if q.part == part]
            if part == self.operating.part:
                inside.append(self.operating.widget)
            if inside:
                heading = Html(Markup("<b style='line-height:1.6'>{}</b>").format(words))
                boxes.append(widgets.VBox([heading, *inside], layout=_WIDE))
        return boxes

    def _changed(self) -> None:
        self.pictures.refresh()
        self._numbers.request()
        self._resting.request()

    def retire(self) -> None:
        """Leave in every view of this page that is still open only that a newer one took its place.

        Whatever was done here is written first; after that nothing here does anything, so that the copy that is kept of
        a build is the newer page's.
        """
        self.going_on.finish()
        self.session.forget_listeners()
        self._numbers.drop()
        self._resting.drop()
        for made in ("mending", "values", "example", "next", "trials"):
            if panel := vars(self).get(made):
                panel.retire()
        self.message.retire("This view is out of date: the page was run again. Go on in the newer one, and close this.")
        self.widget.children = [self.message.widget]

    def finish_waiting(self) -> None:
        """Bring everything up to date at once, without waiting until the sliders rest."""
        self._numbers.finish()
        self._resting.finish()

    def _show_strip(self) -> None:
        against = behind_html(self.session) + contradictions_html(self.session.build)
        self.strip.value = against + strip_html(self._margins, self.session.solution, self._last_depends)

    def _at_rest(self) -> Iterator[None]:
        """Bring the rest up to date, step by step: sensitivities take longer than a slider may wait."""
        self.session.seal()
        self.changed.refresh()
        judged = [margin.quantity for margin in self._margins]
        self._depends = Sensitivities(notes=lacking_notes(self.session.build, judged))
        self.mending.refresh(self._last_depends)  # as the strip: what was in doubt stays listed until known anew
        self._show_margins()
        self.warnings.value = warnings_html(self.session.solution)
        self.guards.value = guards_html(self.session.build)
        self.estimates.refresh()
        self.operating.refresh()
        if self.more.selected_index == _BUILD:
            self.builds.refresh()  # what may be copied any moment does not wait for what takes seconds
        yield
        for depends in sensitivities_in_steps(self.session.build, self._margins):
            self._depends = depends
            yield
        self._last_depends = self._depends
        self.mending.refresh(self._depends)
        self.estimates.rank(self._depends.spreads)
        self._show_margins()
        self._show_strip()
        self.mending.request()
        yield
        if self.more.selected_index != _BUILD:  # which has been brought up to date already
            self._opened()
        self.fault.value = ""

    def _tell_fault(self, error: Exception) -> None:
        """Say that a fault kept the page from being up to date: its margins would look sound."""
        self.fault.value = message_html(
            f"A fault in the handbook kept this page from being brought up to date ({type(error).__name__}).\n"
            "Margins and panels may still show an earlier build: take your last change back.\n"
            "Please report it, with your build from the panel below."
        )

    def _show_margins(self) -> None:
        other = self.pictures.other
        beside = (other[0], other[1].solution) if other else None
        mended = tuple(dict(self.mending.trouble.options).values())
        self.margins.value = margins_html(self._margins, self.session.solution, self._depends, beside, mended)

    def _find(self, margin: Margin) -> None:
        self.next.ask_for(margin)
        self._go_to(_NEXT)

    def _narrow(self, margin: Margin) -> None:
        self.trials.ask_for(margin)
        self._go_to(_TRIALS)

    def _go_to(self, place: int) -> None:
        """Open a panel that lies far below what asked for it, and bring it into view."""
        self.more.selected_index = place
        self._sights[place].keep()

    def show_beside(self, name: str, build: Build) -> None:
        """Show a candidate beside the build on the page, and keep it among those to compare with."""
        self._tried[name] = build
        self.compare.options = [_NOTHING, *shipped_builds(), _PIN, *self._tried]
        self.compare.value = _NOTHING  # so that what follows is a change, and is heard, even where the name is known
        self.compare.value = name

    def _opened(self) -> None:
        """Bring the open panel up to date; what is closed costs nothing."""
        if self.more.selected_index == _FEW:
            self.few.refresh()
        elif self.more.selected_index == _BUILD:
            self.builds.refresh()
        elif self.more.selected_index == _ALL_VALUES:
            _ = self.values  # it follows the build by itself
        elif self.more.selected_index == _EXAMPLE:
            self.example.refresh()
        elif self.more.selected_index == _NEXT:
            _ = self.next  # nothing in it follows the build before it is run
        elif self.more.selected_index == _TRIALS:
            self.trials.refresh()
        elif self.more.selected_index == _SHEET:
            self.sheet.refresh()

    def _compare(self, change: Bunch) -> None:
        if change.new == _NOTHING:
            self.pictures.other = None
        elif change.new == _PIN:
            self.pictures.other = ("as it was", self.session.build)
        elif change.new in self._tried:
            self.pictures.other = (change.new, self._tried[change.new])
        else:
            self.pictures.other = (change.new, shipped_build(change.new))
        self.pictures.refresh()
        self._show_margins()


def _ways_in() -> widgets.HTML:
    """Return buttons that open the panels to begin with, which lie below the sliders."""
    button = Markup("<button type='button' data-panel='{}' style='margin-right:6px'>{}</button>")
    return Html(button.format(_TITLES[_FEW], _TITLES[_FEW]) + button.format(_TITLES[_BUILD], "Load or save a build"))


def _in_two(boxes: list[widgets.VBox]) -> list[widgets.VBox]:
    """Return the boxes in two columns, as equal in rows as their order allows; where there is no room they follow."""
    rows = [len(box.children) for box in boxes]
    split = min(range(1, len(boxes)), key=lambda place: abs(sum(rows[:place]) - sum(rows[place:])))
    narrow = widgets.Layout(overflow="hidden")
    return [widgets.VBox(column, layout=narrow) for column in (boxes[:split], boxes[split:])]


#: The page that was made last in this kernel: one that is run again leaves views behind that nobody should go on with.
_newest: list[StartPage] = []


def start_page(name: str = "otter", meanwhile: Meanwhile | None = None) -> StartPage | Markdown:
    """Show the start page with a shipped build; returns it for those who want to look inside.

    When the data that comes with the handbook cannot be read, the page says which and why, in place of itself.

    Args:
        name: of a shipped build.
        meanwhile: what is shown already in the same cell, until the page is there (`meanwhile.show_stored`).
    """
    try:
        build, first = shipped_build(name), all_pictures()[0]
        drawn = first.scene(build.solution)
        (meanwhile or Meanwhile()).show(drawn)
        page = StartPage(build, Shelf(Path.cwd(), keeps=True))
        solutions = {other: shipped_build(other).solution for other in shipped_builds()}
    except (BuildError, TableError, OSError) as error:
        faults = "\n".join(f"- {for_markdown(line)}" for line in str(error).splitlines())
        return Markdown(f"**The page cannot start, since data of the handbook cannot be read:**\n\n{faults}")
    if _newest:
        _newest.pop().retire()
    _newest.append(page)
    table = margins_markdown(all_margins(page.session.build.network), solutions)
    display_with_still(page.widget, drawn, f"{_TO_LIFE}\n\n{table}", begun=True)
    return page


def chapter_list() -> Markdown:
    """Return the chapters with their questions, as links."""
    lines = [f"- [{s.number}. {s.title}]({s.number:02d}_{s.name}.ipynb): {s.question}" for s in all_subjects()]
    return Markdown("\n".join(lines))
