"""The start page: one build, its pictures, sliders, margins and worked examples."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import Build
from augerbook.builds.reader import BuildError
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import all_subjects
from augerbook.chapters.pictures import all_pictures
from augerbook.core.markup import for_markdown
from augerbook.core.quantity import Choice, Lookup
from augerbook.head import part_titles
from augerbook.page.alarms import contradictions_html
from augerbook.page.build_panel import BuildPanel
from augerbook.page.chapter import Markdown
from augerbook.page.choosing_panel import ChoosingPanel, troubled
from augerbook.page.choosing_view import margins_of_head
from augerbook.page.controls import Lists, MessageLine, Sliders
from augerbook.page.deferred import SOON, Deferred
from augerbook.page.estimated_view import guards_html, lacking_notes
from augerbook.page.example_panel import ExamplePanel
from augerbook.page.few_panel import EstimateLine, FewPanel
from augerbook.page.handle_names import handle_names
from augerbook.page.margins_view import (
    Sensitivities,
    all_margins,
    in_doubt,
    margins_html,
    sensitivities_in_steps,
    strip_html,
)
from augerbook.page.picture_panel import PicturePanel
from augerbook.page.session import Session
from augerbook.page.settle_panel import SettlePanel
from augerbook.page.sheet_panel import SheetPanel
from augerbook.page.stand_in import STAYING, display_with_still
from augerbook.page.tables_html import margins_markdown, warnings_html
from augerbook.page.trials_desk import TrialsDesk
from augerbook.tables import TableError

_WIDE = widgets.Layout(width="100%")
_COLUMNS = widgets.Layout(width="100%", grid_template_columns="repeat(auto-fit, minmax(370px, 1fr))", grid_gap="0 16px")
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
    _SHEET: "One page to print",
}


class StartPage:
    """All of the page, bound to one session. ``widget`` is what is shown."""

    def __init__(self, build: Build) -> None:
        self.session = Session(build)
        network = build.network
        self._margins = all_margins(network)
        self._depends = Sensitivities()
        self.message = MessageLine(self.session)
        self.pictures = PicturePanel(self.session)
        self.sliders = Sliders(self.session, [q for q in network.inputs if q.primary])
        self.lists = Lists(self.session, list(network.lookups.values()))
        self.operating = SettlePanel(self.session)
        self.strip = widgets.HTML(layout=_WIDE, tabbable=True)  # many words scroll, by the arrow keys too
        self.strip.add_class(STAYING)
        self.margins = widgets.HTML(layout=_WIDE)
        self.warnings = widgets.HTML(layout=_WIDE)
        self.compare = widgets.Dropdown(
            options=[_NOTHING, *shipped_builds(), _PIN],
            description="compare with",
            style={"description_width": "110px"},
        )
        self.compare.observe(self._compare, names="value")
        self.rest: dict[str, Sliders | Lists] = {}
        self._tried: dict[str, Build] = {}
        self.trouble = widgets.Dropdown(options=[], description="mend", style={"description_width": "110px"})
        self.find = widgets.Button(
            description="Find candidates",
            tooltip="Open the panel below with screws and values that may better this margin",
            layout=widgets.Layout(width="auto"),
        )
        self.find.on_click(lambda _: self._find())
        self.narrow = widgets.Button(
            description="Find the trial that narrows it",
            tooltip="Open the panel below with what each trial would leave of the spread of this margin",
            layout=widgets.Layout(width="auto"),
        )
        self.narrow.on_click(lambda _: self._narrow())
        self.estimates = EstimateLine(self.session)
        self.guards = widgets.HTML(layout=_WIDE)
        self.mend = widgets.HBox([self.trouble, self.find, self.narrow], layout=widgets.Layout(flex_flow="row wrap"))
        # What is closed is not made before it is opened, so that the page is there sooner.
        self.more = widgets.Accordion(
            children=[widgets.VBox(layout=_WIDE) for _ in _TITLES], titles=tuple(_TITLES.values()), layout=_WIDE
        )
        self.more.observe(lambda _: self._opened(), names="selected_index")
        # The picture first: what else changes must not keep the browser from painting it.
        self._numbers = Deferred(self._show_strip, SOON)
        self._resting = Deferred(self._at_rest)
        self.session.on_change(self._changed)
        self.widget = self._arranged()
        self._changed()
        self.finish_waiting()

    @cached_property
    def few(self) -> FewPanel:
        """What a maker knows, and estimates for the rest."""
        panel = FewPanel(self.session)
        self._put(_FEW, panel.widget)
        return panel

    @cached_property
    def builds(self) -> BuildPanel:
        """Where the build comes from and goes to."""
        panel = BuildPanel(self.session)
        self._put(_BUILD, panel.widget)
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
        self.more.children[place].children = [widget]

    def _arranged(self) -> widgets.Widget:
        controls = widgets.GridBox(_in_two(self._by_part()), layout=_COLUMNS)
        left = widgets.VBox(
            [self.pictures.widget, controls],
            layout=widgets.Layout(flex="3 1 640px", min_width="0", width="auto"),
        )
        right = widgets.VBox(
            [self.compare, self.guards, self.warnings, self.mend, self.estimates.widget, self.margins],
            layout=widgets.Layout(flex="2 1 420px", min_width="0", width="auto"),
        )
        both = widgets.HBox([left, right], layout=widgets.Layout(width="100%", flex_flow="row wrap", grid_gap="0 20px"))
        return widgets.VBox([self.message.widget, self.strip, both, self.more, handle_names()], layout=_WIDE)

    def _by_part(self) -> list[widgets.VBox]:
        """Return one box for each part of the head that has something to change first."""
        boxes = []
        for part, words in part_titles().items():
            inside = [row.widget for item, row in self.lists.rows.items() if item.part == part]
            inside += [row.noted.widget for q, row in self.sliders.rows.items() if q.part == part]
            if part == self.operating.part:
                inside.append(self.operating.widget)
            if inside:
                heading = widgets.HTML(Markup("<b style='line-height:1.6'>{}</b>").format(words))
                boxes.append(widgets.VBox([heading, *inside], layout=_WIDE))
        return boxes

    def _changed(self) -> None:
        self.pictures.refresh()
        self._numbers.request()
        self._resting.request()

    def retire(self) -> None:
        """Say in every view of this page that is still open that a newer one took its place."""
        self.message.retire("This view is out of date: the page was run again. Go on in the newer one, and close this.")

    def finish_waiting(self) -> None:
        """Bring everything up to date at once, without waiting until the sliders rest."""
        self._numbers.finish()
        self._resting.finish()

    def _show_strip(self) -> None:
        against = contradictions_html(self.session.build)
        self.strip.value = against + strip_html(self._margins, self.session.solution)

    def _at_rest(self) -> Iterator[None]:
        """Bring the rest up to date, step by step: sensitivities take longer than a slider may wait."""
        judged = [margin.quantity for margin in self._margins]
        self._depends = Sensitivities(notes=lacking_notes(self.session.build, judged))
        self._show_margins()
        self._show_trouble()
        self.warnings.value = warnings_html(self.session.solution)
        self.guards.value = guards_html(self.session.build)
        self.estimates.refresh()
        self.operating.refresh()
        yield
        for depends in sensitivities_in_steps(self.session.build, self._margins):
            self._depends = depends
            yield
        self.estimates.rank(self._depends.spreads)
        self._show_margins()
        self._show_trouble()
        yield
        self._opened()

    def _show_margins(self) -> None:
        other = self.pictures.other
        beside = (other[0], other[1].solution) if other else None
        self.margins.value = margins_html(self._margins, self.session.solution, self._depends, beside)

    def _show_trouble(self) -> None:
        """Offer the margins for which another build may be looked for; nothing where all are good."""
        doubtful = [
            margin
            for margin in margins_of_head(self.session.build.network)
            if in_doubt(margin, self.session.solution.get(margin.quantity), self._depends.spreads.get(margin.quantity))
        ]
        found = {m.quantity.name_in_words: m.id for m in (*troubled(self.session.build), *doubtful)}
        if tuple(self.trouble.options) != tuple(found.items()):
            chosen = self.trouble.value
            self.trouble.options = tuple(found.items())
            self.trouble.value = chosen if chosen in found.values() else next(iter(found.values()), None)
        self.mend.layout.display = "" if found else "none"

    def _find(self) -> None:
        if self.trouble.value is not None:
            self.next.ask_for(self.session.build.network.margins[self.trouble.value])
            self.more.selected_index = _NEXT

    def _narrow(self) -> None:
        if self.trouble.value is not None:
            self.trials.ask_for(self.session.build.network.margins[self.trouble.value])
            self.more.selected_index = _TRIALS

    def show_beside(self, name: str, build: Build) -> None:
        """Show a candidate beside the build on the page, and keep it among those to compare with."""
        self._tried[name] = build
        self.compare.options = [_NOTHING, *shipped_builds(), _PIN, *self._tried]
        self.compare.value = name  # other options have set it to nothing: this is always a change, and is heard

    def _opened(self) -> None:
        """Bring the open panel up to date; what is closed costs nothing."""
        if self.more.selected_index == _FEW:
            self.few.refresh()
        elif self.more.selected_index == _BUILD:
            self.builds.refresh()
        elif self.more.selected_index == _ALL_VALUES and not self.rest:
            self._make_rest()
        elif self.more.selected_index == _EXAMPLE:
            self.example.refresh()
        elif self.more.selected_index == _NEXT:
            _ = self.next  # nothing in it follows the build before it is run
        elif self.more.selected_index == _TRIALS:
            self.trials.refresh()
        elif self.more.selected_index == _SHEET:
            self.sheet.refresh()

    def _make_rest(self) -> None:
        network = self.session.build.network
        tabs: dict[str, list[widgets.Widget]] = {}
        for part, words in part_titles().items():
            items: list[Choice | Lookup] = [*network.lookups.values(), *network.choices.values()]
            lists = [item for item in items if item.part == part]
            sliders = [q for q in network.inputs if q.part == part]
            if lists:
                self.rest[f"{part} lists"] = Lists(self.session, lists)
                tabs.setdefault(words, []).append(self.rest[f"{part} lists"].box)
            if sliders:
                self.rest[part] = Sliders(self.session, sliders)
                tabs.setdefault(words, []).append(self.rest[part].box)
        pages = [widgets.VBox(boxes, layout=_WIDE) for boxes in tabs.values()]
        self._put(_ALL_VALUES, widgets.Tab(children=pages, titles=tuple(tabs), layout=_WIDE))

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


def _in_two(boxes: list[widgets.VBox]) -> list[widgets.VBox]:
    """Return the boxes in two columns, as equal in rows as their order allows; where there is no room they follow."""
    rows = [len(box.children) for box in boxes]
    split = min(range(1, len(boxes)), key=lambda place: abs(sum(rows[:place]) - sum(rows[place:])))
    narrow = widgets.Layout(overflow="hidden")
    return [widgets.VBox(column, layout=narrow) for column in (boxes[:split], boxes[split:])]


#: The page that was made last in this kernel: one that is run again leaves views behind that nobody should go on with.
_newest: list[StartPage] = []


def start_page(name: str = "otter") -> StartPage | Markdown:
    """Show the start page with a shipped build; returns it for those who want to look inside.

    When the data that comes with the handbook cannot be read, the page says which and why, in place of itself.
    """
    try:
        page = StartPage(shipped_build(name))
        solutions = {other: shipped_build(other).solution for other in shipped_builds()}
    except (BuildError, TableError, OSError) as error:
        faults = "\n".join(f"- {for_markdown(line)}" for line in str(error).splitlines())
        return Markdown(f"**The page cannot start, since data of the handbook cannot be read:**\n\n{faults}")
    if _newest:
        _newest.pop().retire()
    _newest.append(page)
    still = all_pictures()[0].scene(page.session.solution)
    table = margins_markdown(all_margins(page.session.build.network), solutions)
    display_with_still(page.widget, still, f"{_TO_LIFE}\n\n{table}")
    return page


def chapter_list() -> Markdown:
    """Return the chapters with their questions, as links."""
    lines = [f"- [{s.number}. {s.title}]({s.number:02d}_{s.name}.ipynb): {s.question}" for s in all_subjects()]
    return Markdown("\n".join(lines))
