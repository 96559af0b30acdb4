"""Start from few values: fields for what a maker knows, and buttons that estimate the rest or take it out again."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import Build, exact_number
from augerbook.builds.estimates import (
    Guessable,
    estimated,
    lacking,
    outdated,
    to_be_asked,
    with_confirmed,
    without_estimates,
)
from augerbook.core.quantity import Lookup, Quantity
from augerbook.core.spread import Spread
from augerbook.head.bearing import bearing
from augerbook.head.drive import gear_ratio, motor
from augerbook.head.feedstock import plastic, sieve_mesh
from augerbook.head.nozzle import nozzle_diameter
from augerbook.head.plate import plate_material, plate_thickness
from augerbook.head.printing import wanted_flow
from augerbook.head.screw import core_diameter, major_diameter, pitch, standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.page.controls import Lists, note_html
from augerbook.page.estimated_view import asked_html, counted, estimates_html, first_html, mark_html
from augerbook.page.in_sight import InSight
from augerbook.page.noted import Noted
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session
from augerbook.page.value_row import label_of
from augerbook.settle import estimated_at_rest
from augerbook.tables import read_table

_WIDE = widgets.Layout(width="100%")
_COLUMNS = widgets.Layout(width="100%", grid_template_columns="repeat(auto-fit, minmax(330px, 1fr))", grid_gap="0 16px")
_ROW = widgets.Layout(width="100%", flex_flow="row wrap", align_items="center")
_LABEL = {"description_width": "190px"}
#: What a maker knows: names of tables, and values. The screw's diameters are for one that is in no table.
NAMES: tuple[Lookup, ...] = (standard_screw, plastic, motor, bearing, plate_material)
VALUES: tuple[Quantity, ...] = (
    bore_diameter, major_diameter, core_diameter, pitch, nozzle_diameter, plate_thickness, gear_ratio, sieve_mesh,
    wanted_flow,
)  # fmt: skip
_OPENING = (
    "Say what you know: take names from the lists, type values. Screws go by standard and diameter in millimetres "
    "({screws}). Motors go by frame and length in millimetres (a frame of 42 is NEMA 17, one of 57 NEMA 23). Then let "
    "the rest be estimated, with wide ranges and marked as such. Each margin then says which estimates decide it, and "
    "how to find them out. Whatever you move or type afterwards is an estimate no longer."
)
#: What stands behind the standard in the name of a screw.
_SIZE = re.compile(r" ?[\d.]+$")
#: So many outdated estimates are named.
_NAMED = 4


def can_be_estimated(build: Build) -> int:
    """Return how many values, choices and names that margins wait for can be estimated."""
    items = lacking(build)
    return len(items - set(to_be_asked(build, items)))


class TypedField:
    """One value to type, in step with the session; its note says what is wrong with it, or that it is an estimate."""

    def __init__(self, session: Session, quantity: Quantity) -> None:
        self._session, self.quantity = session, quantity
        self._quiet = False
        self.field = widgets.Text(
            description=label_of(quantity), placeholder="not given", continuous_update=False, style=_LABEL,
            tooltip=quantity.meaning, layout=widgets.Layout(width="calc(100% - 4px)"),
        )  # fmt: skip
        self.noted = Noted([self.field])
        self.field.observe(self._typed, names="value")
        session.on_change(self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Show the value of the session."""
        si = self._session.wanted.values.get(self.quantity)
        self._quiet = True
        try:
            self.field.value = "" if si is None else exact_number(self.quantity, si)
        finally:
            self._quiet = False
        self.noted.say(note_html(self._session, self.quantity) + mark_html(self._session.wanted, self.quantity))

    def _typed(self, change: Bunch) -> None:
        if not self._quiet:
            self._session.type_value(self.quantity, change.new)
            self.refresh()  # as it is stored, or as it was when nothing was taken


class FewPanel:
    """What a maker knows, what only a maker can say, and all estimates of the build."""

    def __init__(self, session: Session) -> None:
        self._session = session
        network = session.build.network
        self.lists = Lists(session, [name for name in NAMES if name.key in network.lookups])
        self.fields = {q: TypedField(session, q) for q in VALUES if q.key in network.quantities}
        self.anew = Button(
            description="Begin with nothing given",
            tooltip="Take everything out of the build on the page, to start from your own values",
            layout=widgets.Layout(width="auto"),
        )
        self.anew.on_click(lambda _: self._begin())
        self._sight = InSight()
        self.line = EstimateLine(session)
        for button in (self.line.fill, self.line.renew, self.line.clear):
            button.on_click(lambda _: self._sight.keep())
        self.known = widgets.Dropdown(
            options=[], description="estimate", style=_LABEL, layout=widgets.Layout(width="460px")
        )
        self.confirm = Button(
            description="I know this: it is right as it stands",
            tooltip="Take the mark from this estimate, and leave its range out",
            layout=widgets.Layout(width="auto"),
        )
        self.confirm.on_click(lambda _: self._confirm())
        self.confirming = widgets.HBox([self.known, self.confirm], layout=widgets.Layout(width="100%"))
        self.asked, self.table = Html(layout=_WIDE), Html(layout=_WIDE)
        inputs = [row.widget for row in self.lists.rows.values()]
        inputs += [field.noted.widget for field in self.fields.values()]
        self.widget = widgets.VBox(
            [
                Html(Markup("<p style='margin:0 0 6px;line-height:1.4'>{}</p>").format(_opening())),
                widgets.HBox([self.anew], layout=_ROW),
                widgets.GridBox(inputs, layout=_COLUMNS),
                self.line.widget,
                self.asked,
                self.confirming,
                self.table,
                self._sight.widget,
            ],
            layout=_WIDE,
        )

    def refresh(self) -> None:
        """Say what only the maker can say, and show all estimates."""
        build = self._session.build
        self.asked.value = asked_html(build)
        self.table.value = estimates_html(build)
        self.line.refresh()
        items = estimated(build)
        options = tuple((item.name_in_words, item.key) for item in items)
        if tuple(self.known.options) != options:
            chosen = self.known.value
            self.known.options = options
            self.known.value = chosen if chosen in {item.key for item in items} else (items[0].key if items else None)
        self.confirming.layout.display = "" if items else "none"

    def _confirm(self) -> None:
        wanted = self._session.wanted
        item = next((item for item in estimated(wanted) if item.key == self.known.value), None)
        if item is not None:
            self._session.load(with_confirmed(wanted, item))

    def _begin(self) -> None:
        self._session.load(emptied(self._session.build))
        self._sight.keep()


def _opening() -> str:
    """Say how names and values go in; of screws also what their standards are of, since shops sell them by kind."""
    kinds: dict[str, dict[str, None]] = {}
    for row in read_table(standard_screw.table).rows.values():
        kinds.setdefault(_SIZE.sub("", row.name), {})[row.text("kind")] = None
    return _OPENING.format(screws="; ".join(f"{standard}: {', '.join(of)}" for standard, of in kinds.items()))


class EstimateLine:
    """Buttons that estimate what is lacking, or take all estimates out, and a line that says how many there are.

    Nothing of it is shown for a build that lacks nothing and holds no estimate.
    """

    def __init__(self, session: Session) -> None:
        self._session = session
        self.said, self.first = Html(layout=_WIDE), Html(layout=_WIDE)
        self.fill = Button(
            tooltip="Estimate what is lacking from the kind of build, with wide ranges, each marked as estimated",
            layout=widgets.Layout(width="auto"),
        )
        self.fill.on_click(lambda _: self._fill())
        self.clear = Button(
            description="Take all estimates out",
            tooltip="Leave only what was given or measured",
            layout=widgets.Layout(width="auto"),
        )
        self.clear.on_click(lambda _: self._session.load(without_estimates(self._session.wanted)))
        self.renew = Button(
            description="Estimate anew",
            tooltip="Make all estimates again from what is given now; what is given or measured stays as it is",
            layout=widgets.Layout(width="auto"),
        )
        self.renew.on_click(lambda _: self._estimate(without_estimates(self._session.wanted)))
        buttons = widgets.HBox([self.fill, self.renew, self.clear], layout=_ROW)
        # A layout of its own: what it hides is this alone.
        self.widget = widgets.VBox([self.said, buttons, self.first], layout=widgets.Layout(width="100%"))
        self.refresh()

    def refresh(self) -> None:
        """Say how much is lacking and how much is estimated."""
        build = self._session.build
        count, marked = can_be_estimated(build), bool(estimated(build))
        self.fill.description = f"{count} values are lacking: fill them in by estimates"
        if count == 1:
            self.fill.description = "1 value is lacking: fill it in by an estimate"
        self.fill.layout.display = "" if count else "none"
        self.clear.layout.display = "" if marked else "none"
        self.widget.layout.display = "" if count or marked else "none"
        old = outdated(self._session.wanted)
        self.renew.layout.display = "" if old else "none"
        self.said.value = _said(build) + _outdated_html(old) if marked else ""
        if not marked:
            self.first.value = ""

    def rank(self, spreads: Mapping[Quantity, Spread]) -> None:
        """Say which estimates decide most of the margins, from the spreads of these."""
        self.first.value = first_html(self._session.build, spreads)

    def _fill(self) -> None:
        self._estimate(self._session.wanted)

    def _estimate(self, build: Build) -> None:
        """Fill in what a build lacks, or say which of its values cannot go together."""
        if clashes := build.clashes():
            self._session.tell("\n".join(["First mend the values that cannot go together:", *clashes]))
            return
        self._session.load(estimated_at_rest(build))


def _outdated_html(old: Sequence[Guessable]) -> Markup:
    """Say which estimates would come out otherwise now; nothing for none."""
    if not old:
        return Markup()
    named = ", ".join(item.name_in_words for item in old[:_NAMED])
    more = f" and {len(old) - _NAMED} more" if len(old) > _NAMED else ""
    told = f"{named}{more} would be estimated otherwise from what is given now: estimate anew, or type what you know."
    return Markup("<div role='status' class='estimates-outdated' style='line-height:1.4'>⚠ {}</div>").format(told)


def _said(build: Build) -> Markup:
    """Say how many values are estimated, and how many margins have a number with them."""
    margins = build.network.margins.values()
    known = sum(margin.quantity in build.solution.values for margin in margins)
    words = f"{counted(build)} estimated. {known} of {len(margins)} margins can be computed."
    return Markup("<div role='status' class='estimated-count' style='line-height:1.4'>{}</div>").format(words)


def emptied(build: Build) -> Build:
    """Return a build of the same network in which nothing is given."""
    return replace(build, name="my head", note="", entries={}, chosen={}, names={}, rows={}, guessed=frozenset())
