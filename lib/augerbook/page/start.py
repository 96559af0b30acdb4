"""The start page: one build, its pictures, sliders, margins and worked examples."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import Build
from augerbook.builds.reader import BuildError
from augerbook.builds.shipped import shipped_build, shipped_builds
from augerbook.chapters import all_subjects
from augerbook.chapters.pictures import all_pictures
from augerbook.core.margin import Verdict
from augerbook.core.markup import for_markdown
from augerbook.core.quantity import Choice, Lookup
from augerbook.head import part_titles
from augerbook.page.build_panel import BuildPanel
from augerbook.page.chapter import Markdown
from augerbook.page.choosing_panel import ChoosingPanel, troubled
from augerbook.page.choosing_view import margins_of_head
from augerbook.page.cite import worked
from augerbook.page.controls import Lists, MessageLine, Sliders
from augerbook.page.copy_box import CopyBox
from augerbook.page.deferred import SOON, Deferred
from augerbook.page.handle_names import handle_names
from augerbook.page.live_html import live_html
from augerbook.page.margins_view import (
    Sensitivities,
    all_margins,
    in_doubt,
    margins_html,
    sensitivities_in_steps,
    strip_html,
)
from augerbook.page.session import Session
from augerbook.page.settle_panel import SettlePanel
from augerbook.page.stand_in import display_with_still
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
_BUILD, _ALL_VALUES, _EXAMPLE, _NEXT, _TRIALS = range(5)
#: Margins that most need a look come first.
_WORST_FIRST = (Verdict.FAILS, Verdict.TIGHT, Verdict.GOOD, Verdict.UNKNOWN)


class PicturePanel:
    """The pictures of all chapters, one at a time, with their variants."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._pictures = {picture.title: picture for picture in all_pictures()}
        self.which = widgets.Dropdown(
            options=list(self._pictures), description="picture", style={"description_width": "56px"},
            layout=widgets.Layout(width="340px"),
        )  # fmt: skip
        self.variant = widgets.ToggleButtons(options=[""], style={"button_width": "auto"})
        self.view = live_html()
        self.beside = live_html()
        self.other: tuple[str, Build] | None = None
        self._last: dict[tuple[str, str, str], Markup] = {}
        self.which.observe(self._switched, names="value")
        self.variant.observe(lambda _: self.refresh(), names="value")
        above = widgets.HBox([self.which, self.variant], layout=widgets.Layout(flex_flow="row wrap", width="100%"))
        self.widget = widgets.VBox([above, self.view, self.beside], layout=_WIDE)
        self._switched(None)

    def _switched(self, _: Bunch | None) -> None:
        variants = self._pictures[self.which.value].variants
        self.variant.layout.display = "" if variants else "none"
        self.variant.options = variants or ("",)
        self.refresh()

    def refresh(self) -> None:
        """Draw the chosen picture anew, and under it that of the build to compare with."""
        self.view.value = self._draw(self._session.build, "")
        if self.other is None:
            self.beside.value = ""
        else:
            name, build = self.other
            words = Markup("<p style='margin:8px 0 2px'>To compare, <b>{}</b>:</p>").format(name)
            self.beside.value = words + self._draw(build, name)

    def _draw(self, build: Build, whose: str) -> Markup:
        picture = self._pictures[self.which.value]
        lacking = picture.missing(build.solution)
        if lacking:
            return Markup("<p>{}: {}.</p>").format(picture.title, lacking)
        shown = (whose, picture.title, self.variant.value or "")
        try:
            self._last[shown] = Markup(picture.scene(build.solution, self.variant.value or "").svg())
        except ValueError as error:
            told = Markup("<p>{} cannot be drawn at these values: {}.</p>").format(picture.title, error)
            if shown in self._last:
                told += Markup("<p>As it was last:</p>{}").format(self._last[shown])
            return told
        return self._last[shown]


class ExamplePanel:
    """The worked example of any computed quantity, to copy."""

    FORMS = ("Markdown", "BBCode", "plain text")

    def __init__(self, session: Session) -> None:
        self._session = session
        self.quantity = widgets.Dropdown(description="work out", style={"description_width": "80px"}, layout=_WIDE)
        self.form = widgets.ToggleButtons(options=self.FORMS, style={"button_width": "auto"})
        self.chain = widgets.Checkbox(description="all steps from the given values on", indent=False)
        self.box = CopyBox("Copy this worked example", rows=18)
        for widget in (self.quantity, self.form, self.chain):
            widget.observe(lambda _: self.refresh(), names="value")
        self.widget = widgets.VBox(
            [self.quantity, widgets.HBox([self.form, self.chain]), self.box.widget], layout=_WIDE
        )
        self._keys: tuple[str, ...] = ()

    def refresh(self) -> None:
        """Work the chosen quantity out again."""
        solution = self._session.solution
        computed = tuple(q for q in self._session.build.network.quantities.values() if q in solution.values
                         and q not in solution.given)  # fmt: skip
        keys = tuple(q.key for q in computed)
        if keys != self._keys:
            self._keys, chosen = keys, self.quantity.value
            self.quantity.options = [(f"{q.meaning} ({q.plain_notation})", q.key) for q in computed]
            self.quantity.value = chosen if chosen in keys else self._first(keys)
        if self.quantity.value is None:
            self.box.show("")
            return
        example = worked(
            self._session.build.network.quantities[self.quantity.value], self._session.build,
            whole_chain=self.chain.value,
        )  # fmt: skip
        forms: dict[str, Callable[[], str]] = dict(
            zip(self.FORMS, (example.markdown, example.bbcode, example.text), strict=True)
        )
        self.box.show(forms[self.form.value]())

    def _first(self, keys: tuple[str, ...]) -> str | None:
        """Return what to begin with: the margin that most needs a look, or the first that follows from a value."""
        network, solution = self._session.build.network, self._session.solution
        watched = (m for m in network.margins.values() if m.quantity.key in keys)
        known = [(m.verdict(solution.get(m.quantity)), m.quantity.key) for m in watched]
        known.sort(key=lambda pair: _WORST_FIRST.index(pair[0]))
        follow = (key for key in keys if network.producer[network.quantities[key]].inputs)
        return known[0][1] if known else next(follow, next(iter(keys), None))


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
        self.strip = widgets.HTML(layout=_WIDE)
        self.margins = widgets.HTML(layout=_WIDE)
        self.warnings = widgets.HTML(layout=_WIDE)
        self.compare = widgets.Dropdown(
            options=[_NOTHING, *shipped_builds(), _PIN],
            description="compare with",
            style={"description_width": "110px"},
        )
        self.compare.observe(self._compare, names="value")
        self.builds = BuildPanel(self.session)
        self.example = ExamplePanel(self.session)
        self.rest: dict[str, Sliders | Lists] = {}
        self.next = ChoosingPanel(self.session, show_beside=self.show_beside)
        self.trials = TrialsDesk(self.session)
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
        self.mend = widgets.HBox([self.trouble, self.find, self.narrow], layout=widgets.Layout(flex_flow="row wrap"))
        self.more = widgets.Accordion(
            children=[self.builds.widget, widgets.VBox(layout=_WIDE), self.example.widget, self.next.widget,
                      self.trials.widget],
            titles=(
                "Your build: load, upload, paste, save",
                "All values, part by part",
                "Worked example to copy",
                "Which build to try next",
                "Trials: plan, weigh, learn",
            ),
            layout=_WIDE,
        )  # fmt: skip
        self.more.observe(lambda _: self._opened(), names="selected_index")
        # The picture first: what else changes must not keep the browser from painting it.
        self._numbers = Deferred(self._show_strip, SOON)
        self._resting = Deferred(self._at_rest)
        self.session.on_change(self._changed)
        self.widget = self._arranged()
        self._changed()
        self.finish_waiting()

    def _arranged(self) -> widgets.Widget:
        controls = widgets.GridBox(_in_two(self._by_part()), layout=_COLUMNS)
        left = widgets.VBox(
            [self.strip, self.pictures.widget, controls],
            layout=widgets.Layout(flex="3 1 640px", min_width="0", width="auto"),
        )
        right = widgets.VBox(
            [self.compare, self.warnings, self.mend, self.margins],
            layout=widgets.Layout(flex="2 1 420px", min_width="0", width="auto"),
        )
        both = widgets.HBox([left, right], layout=widgets.Layout(width="100%", flex_flow="row wrap", grid_gap="0 20px"))
        return widgets.VBox([self.message.widget, both, self.more, handle_names()], layout=_WIDE)

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

    def finish_waiting(self) -> None:
        """Bring everything up to date at once, without waiting until the sliders rest."""
        self._numbers.finish()
        self._resting.finish()

    def _show_strip(self) -> None:
        self.strip.value = strip_html(self._margins, self.session.solution)

    def _at_rest(self) -> Iterator[None]:
        """Bring the rest up to date, step by step: sensitivities take longer than a slider may wait."""
        self._depends = Sensitivities()
        self._show_margins()
        self._show_trouble()
        self.warnings.value = warnings_html(self.session.solution)
        self.operating.refresh()
        yield
        for depends in sensitivities_in_steps(self.session.build, self._margins):
            self._depends = depends
            yield
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
        if self.more.selected_index == _BUILD:
            self.builds.refresh()
        elif self.more.selected_index == _ALL_VALUES and not self.rest:
            self._make_rest()
        elif self.more.selected_index == _EXAMPLE:
            self.example.refresh()
        elif self.more.selected_index == _TRIALS:
            self.trials.refresh()

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
        self.more.children[_ALL_VALUES].children = [widgets.Tab(children=pages, titles=tuple(tabs), layout=_WIDE)]

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
    still = all_pictures()[0].scene(page.session.solution)
    table = margins_markdown(all_margins(page.session.build.network), solutions)
    display_with_still(page.widget, still, f"{_TO_LIFE}\n\n{table}")
    return page


def chapter_list() -> Markdown:
    """Return the chapters with their questions, as links."""
    lines = [f"- [{s.number}. {s.title}]({s.number:02d}_{s.name}.ipynb): {s.question}" for s in all_subjects()]
    return Markdown("\n".join(lines))
