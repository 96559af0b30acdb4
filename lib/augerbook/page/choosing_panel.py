"""Which build to try next: pick candidates, aims and draws, and let them go through the whole head."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Generator, Iterator, Mapping, Sequence

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.build import Build, exact_number
from augerbook.builds.own_rows import columns_wanted, rows_offered
from augerbook.builds.shipped import shipped_build
from augerbook.builds.typed import typed_si
from augerbook.core.margin import Margin, Verdict
from augerbook.core.quantity import Lookup, Quantity
from augerbook.core.spread import elasticities, strength
from augerbook.core.units import UnitError, with_unit
from augerbook.deciding.candidates import Item, unanswered
from augerbook.deciding.changes import creeps
from augerbook.deciding.ranking import margins_of_head
from augerbook.deciding.study import Progress, Study, in_steps
from augerbook.head.drive import motor
from augerbook.head.plate import plate_material
from augerbook.head.screw import major_diameter, screw_material, standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.page.choosing_view import Asked, Told, aims_offered, asked
from augerbook.page.controls import message_html
from augerbook.page.limits import TABLE_LIMITS, browser_limits
from augerbook.page.live_html import live_html
from augerbook.page.plain import Button, Html
from augerbook.page.session import Session
from augerbook.page.stand_in import display_with_still
from augerbook.page.stoppable import Stoppable
from augerbook.page.uploads import on_upload, uploaded_table
from augerbook.page.worst_first import worst_first
from augerbook.tables import Row, rows_typed

_WIDE = widgets.Layout(width="100%")
_WIDE_FIELD = widgets.Layout(width="calc(100% - 4px)")
_LABEL = {"description_width": "150px"}
#: What may be typed for candidates, where the head knows it: keys of inputs.
VARIED = (
    "bore_diameter", "tube_outside_diameter", "plate_thickness", "gear_ratio", "set_current", "stall_torque",
    "sieve_mesh", "nozzle_diameter",
)  # fmt: skip
#: What is picked from tables, as many rows as one likes, with what the list is called. A bearing is none of them: its
#: seat would have to follow.
PICKED: dict[Lookup, str] = {
    standard_screw: "screws of the table",
    screw_material: "materials of the screw",
    plate_material: "materials of the plate",
    motor: "motors",
}
_OPENING = Markup(
    "<p style='margin:0 0 6px;line-height:1.4'>Mark what you could buy or make, and type several values: each "
    "combination goes through the whole head, and a table says which of them hold all margins, and how surely. To mark "
    "several rows of a list, hold Ctrl (on a Mac Cmd) and click them. A draw is one way in which all that is uncertain "
    "may turn out, at random within its spread: more draws tell the chances more exactly, and take longer.</p>"
)
#: Exponents of two that are offered as numbers of draws.
_POWERS = (5, 6, 7, 8, 9, 10)
#: Heads between two looks at what was clicked: a third of a second of work.
_HEADS = 64
#: Seconds between two drawings of what there is so far, and at least so many times as long as the last one took: a
#: table of thousands of rows would keep the kernel from all else.
_REDRAW, _TIMES = 1.0, 5.0
#: Steps towards the better that are proposed for a value, as a share of it, and screws about as large as that at hand.
_STEPS, _ABOUT = (0.1, 0.2), 0.2
#: So many screws are proposed at most: those nearest in size.
_MOST_SCREWS = 6
#: A value moves a margin when a per cent of it moves that by so many per cent.
_MOVES = 0.1


def typed_values(text: str) -> list[str]:
    """Return the values that a line holds, parted by semicolons or by commas with a space behind."""
    return [part for part in (piece.strip() for piece in re.split(r";|,\s", text)) if part]


class ChoosingPanel(Stoppable):
    """Controls for candidates, a run that can be stopped, and what came of it. ``widget`` is what is shown."""

    def __init__(self, session: Session, *, show_beside: Callable[[str, Build], None] | None = None) -> None:
        super().__init__()
        self._session, self._show_beside = session, show_beside
        network = session.build.network
        self.picked = {
            lookup: widgets.SelectMultiple(
                options=self._rows(lookup), description=words, style=_LABEL, rows=7 if lookup is standard_screw else 4,
                layout=_WIDE_FIELD, tooltip="Hold Ctrl to take several, or Shift and the arrow keys",
            )
            for lookup, words in PICKED.items()
            if lookup.key in network.lookups
        }  # fmt: skip
        self.screws = self.picked[standard_screw]
        self.values = {
            network.quantities[key]: widgets.Text(
                description=network.quantities[key].name_in_words, style=_LABEL, layout=_WIDE_FIELD,
                placeholder=f"such as {self._example(network.quantities[key])}", continuous_update=False,
            )
            for key in VARIED
            if key in network.quantities and network.quantities[key].low is not None
        }  # fmt: skip
        self.own = widgets.Textarea(
            description="screws of your own", style=_LABEL, rows=4, layout=_WIDE_FIELD, continuous_update=False,
            placeholder=f"name, {', '.join(f'{column} [{q.unit}]' for q, column in standard_screw.fills.items())}",
        )  # fmt: skip
        self.upload = widgets.FileUpload(accept=".csv,.txt", multiple=False, description="Upload a table of screws",
                                         layout=widgets.Layout(width="auto"))  # fmt: skip
        offered = aims_offered(network)
        self.aims = widgets.SelectMultiple(
            options=offered, value=tuple(offered[:2]), description="aims, less is better", style=_LABEL,
            rows=len(offered), layout=_WIDE_FIELD,
        )  # fmt: skip
        self.count = widgets.Dropdown(
            options=[(f"{2**power}", power) for power in _POWERS], value=6, description="draws", style=_LABEL,
            layout=_WIDE_FIELD,
        )  # fmt: skip
        self.run = Button(description="Run", button_style="primary", layout=widgets.Layout(width="90px"))
        self.message = Html(layout=_WIDE)
        self.table = Html(layout=_WIDE)
        self.view = live_html()
        self.which = widgets.Dropdown(options=[], description="candidate", style=_LABEL, layout=_WIDE_FIELD)
        self._offered: str | None = None
        self.beside = Button(description="Show beside", disabled=True, layout=widgets.Layout(width="auto"))
        self.told: Told | None = None
        self.run.on_click(lambda _: self.start())
        on_upload(self.upload, self._load)
        self.beside.on_click(lambda _: self._put_beside())
        session.on_change(self._follow)
        self.widget = self._arranged()

    def _rows(self, lookup: Lookup) -> list[tuple[str, str]]:
        """Return what is shown and the name of each row that may be picked: those of the table, then the maker's own.

        No plastic among the materials: what creeps under the thrust, or softens, no margin of screw and plate tells.
        """
        own = self._session.own.get(lookup, {})
        rows = rows_offered(lookup, self._session.own)
        if lookup.table == plate_material.table:
            rows = {name: row for name, row in rows.items() if name in own or not creeps(row)}
        return [(f"{name}, own" if name in own else name, name) for name in rows]

    def _follow(self) -> None:
        """Offer the rows that there are now; what was picked stays."""
        for lookup, field in self.picked.items():
            if tuple(field.options) != tuple(offered := self._rows(lookup)):
                picked = field.value
                field.options = offered
                field.value = tuple(name for _, name in offered if name in picked)

    @staticmethod
    def _example(quantity: Quantity) -> str:
        low, high = quantity.limits
        middle = (low * high) ** 0.5 if low > 0 else high / 2
        unit = with_unit("", quantity.unit)
        return f"{middle:.2g}{unit}; {1.2 * middle:.2g}{unit}"

    def _arranged(self) -> widgets.Widget:
        left = widgets.VBox(
            [*self.picked.values(), self.own, self.upload, browser_limits(TABLE_LIMITS)],
            layout=widgets.Layout(flex="1 1 380px", min_width="0"),
        )
        right = widgets.VBox(
            [*self.values.values(), self.count], layout=widgets.Layout(flex="1 1 380px", min_width="0")
        )
        above = widgets.HBox(
            [left, right], layout=widgets.Layout(width="100%", flex_flow="row wrap", grid_gap="0 16px")
        )
        row = widgets.HBox([self.run, self.stop, self.bar, self.progress], layout=widgets.Layout(flex_flow="row wrap"))
        # Aims are whole sentences: beside another column they would be cut.
        boxes = [Html(_OPENING), above, self.aims, row, self.message, self.view, self.table]
        if self._show_beside is not None:
            boxes.append(widgets.HBox([self.which, self.beside], layout=widgets.Layout(flex_flow="row wrap")))
        return widgets.VBox(boxes, layout=_WIDE)

    # -- what is asked

    def options(self) -> tuple[dict[Item, list[str]], dict[str, Row], list[str]]:
        """Return what was picked and typed, the screws of the reader's own, and a sentence for each fault in them."""
        typed, faults = rows_typed(self.own.value, columns_wanted([standard_screw]), "your table of screws")
        own = {**self._session.own.get(standard_screw, {}), **typed}
        options: dict[Item, list[str]] = {}
        for lookup, field in self.picked.items():
            if names := [*field.value, *(typed if lookup is standard_screw else ())]:
                options[lookup] = list(dict.fromkeys(names))
        for quantity, line in self.values.items():
            if values := typed_values(line.value):
                options[quantity] = list(dict.fromkeys(_as_shown(quantity, value) for value in values))
        return options, own, list(faults)

    def ask_for(self, margin: Margin) -> None:
        """Fill in what may better a margin, and say what was filled in."""
        name = margin.name_in_words
        if filled := self.propose(margin):
            said = f"To better the {name}, filled in above: {', '.join(filled)}. Change them as you like, then Run."
        else:
            said = f"Nothing that can be varied here moves the {name}. What may help: {margin.advice}."
        self.progress.value = Markup("<span role='status'>{}</span>").format(said)

    def propose(self, margin: Margin) -> list[str]:
        """Fill in what may better a margin: screws about as large, and the values that move it most, a step or two on.

        Returns the names of what was filled in.
        """
        build = self._session.build
        candidates = [q for q in self.values if q in build.values and not unanswered(build, {q: []})]
        moved = elasticities(
            build.network, [margin.quantity], build.values, build.choices, [*candidates, *standard_screw.fills]
        )
        slopes = dict(moved.get(margin.quantity, []))
        for field in self.values.values():
            field.value = ""
        filled = []
        strongest = sorted(
            (q for q in candidates if abs(slopes.get(q, 0.0)) >= _MOVES), key=lambda q: -strength(slopes[q])
        )
        for quantity in strongest[:2]:
            better = (slopes[quantity] > 0) == margin.more_is_better
            at = float(quantity.shown(build.values[quantity]))
            steps = [at, *(at * (1 + step if better else 1 - step) for step in _STEPS)]
            low, high = quantity.limits
            kept = [step for step in steps if low <= step <= high]
            unit = "" if quantity.unit == "1" else f" {quantity.unit}"
            self.values[quantity].value = "; ".join(f"{step:.3g}{unit}" for step in kept)
            filled.append(quantity.name_in_words)
        size, bore = build.values.get(major_diameter), build.values.get(bore_diameter)
        near: list[str] = []
        if size and any(abs(slopes.get(q, 0.0)) >= _MOVES for q in standard_screw.fills):
            rows = rows_offered(standard_screw, self._session.own)
            sizes = {
                name: found for name, row in rows.items() if (found := row.si(standard_screw.fills[major_diameter]))
            }
            fits = [name for name in sizes if bore is None or sizes[name] < bore]
            fits = [name for name in fits if abs(sizes[name] / size - 1) <= _ABOUT]
            near = sorted(fits, key=lambda name: abs(sizes[name] / size - 1))[:_MOST_SCREWS]
        self.screws.value = tuple(name for _, name in self._rows(standard_screw) if name in near)
        if near:
            filled.insert(0, f"{len(near)} screws about as large")
        return filled

    # -- the run

    def _steps(self) -> Iterator[None]:
        options, own, faults = self.options()
        aims = tuple(self.aims.value) or tuple(self.aims.options[:1])
        self._tell(faults)
        self._busy(True)
        try:
            own_rows = {**self._session.own, standard_screw: own}
            wanted = yield from self._made(
                asked(self._session.build, options, aims, own=own_rows, power=self.count.value)
            )
            if wanted is not None:
                going = in_steps(wanted.candidates, wanted.drawn, wanted.kept, heads=_HEADS)
                yield from self._followed(going, wanted.told)
        except ValueError as error:
            self._tell([*str(error).splitlines(), *faults])
        finally:
            self._busy(False)

    def _made(self, going: Generator[tuple[int, int], None, Asked]) -> Generator[None, None, Asked | None]:
        """Return what was asked, None where it was stopped before it was there."""
        while not self.halted:
            try:
                done, of = next(going)
            except StopIteration as end:
                wanted: Asked = end.value
                return wanted
            self.bar.max, self.bar.value = of, done
            self.progress.value = f"{done:,} of {of:,} candidates made"
            yield
        self.progress.value += ": stopped before any went through the head"
        return None

    def _followed(self, going: Iterator[Progress], told: Callable[[Study], Told]) -> Iterator[None]:
        next_drawing = time.monotonic() + _REDRAW
        for step in going:
            self.bar.max, self.bar.value = step.of, step.done
            if step.done < step.of:
                self.progress.value = f"{step.done} of {step.of} pieces"
            self.told = told(step.study)
            if self.halted:
                break
            if (began := time.monotonic()) > next_drawing and step.done < step.of:
                self._show()
                next_drawing = (ended := time.monotonic()) + max(_REDRAW, _TIMES * (ended - began))
            yield
        self._show()
        # Said last: who waits for it finds the rest there.
        self.progress.value = f"{self.bar.value} of {self.bar.max} pieces"
        if self.halted and self.told is not None and not self.told.study.complete:
            self.progress.value += ": stopped, what is done is shown"

    def _busy(self, now: bool) -> None:
        self.run.disabled, self.stop.disabled = now, not now

    def _show(self) -> None:
        if self.told is None:
            return
        self.table.value = self.told.html()
        self.view.value = self.told.picture().svg()
        names = [self.told.study.candidates[row].name for row in self.told.listed if row]
        if tuple(self.which.options) != tuple(names):
            chosen = self.which.value
            self.which.options = names
            best = next(iter(names), None)
            # What a person picked stays; what was only offered gives way to what is best now.
            self.which.value = chosen if chosen in names and chosen != self._offered else best
            self._offered = best
        self.beside.disabled = not names

    def _tell(self, lines: Sequence[str]) -> None:
        self.message.value = message_html("\n".join(lines)) if lines else ""

    def _put_beside(self) -> None:
        if self.told is None or self._show_beside is None or self.which.value is None:
            return
        build = next(one.build for one in self.told.study.candidates if one.name == self.which.value)
        self._show_beside(self.which.value, build)
        said = f"{self.which.value} stands beside the build at hand now, in the picture and the margins above."
        self.progress.value = Markup("<span role='status'>{}</span>").format(said)

    def _load(self, name: str, content: bytes) -> None:
        try:
            self.own.value = uploaded_table(name, content, TABLE_LIMITS)
        except ValueError as error:
            self._tell([str(error)])


def _as_shown(quantity: Quantity, typed: str) -> str:
    """Return a value as the page shows it, however it was typed; what cannot be read stays as it is, to be told."""
    try:
        return with_unit(exact_number(quantity, typed_si(quantity, typed)), quantity.unit)
    except UnitError:
        return typed


def troubled(build: Build) -> list[Margin]:
    """Return the margins for which another build may be looked for: those that fail, then those that are tight,
    of each the worst first.
    """
    margins = margins_of_head(build.network)
    verdicts = {m.id: m.verdict(build.solution.get(m.quantity)) for m in margins}
    bad = [m for m in margins if verdicts[m.id] in (Verdict.FAILS, Verdict.TIGHT)]
    return worst_first(bad, build.solution, verdicts)


def choose(
    build: str = "otter",
    *,
    screws: Sequence[str] = (),
    values: Mapping[Quantity, str] | None = None,
    aims: Sequence[str] = (),
    power: int = 6,
) -> ChoosingPanel:
    """Show the panel with a shipped build, run it, and leave a still picture and table for readers without a kernel.

    Args:
        build: name of a shipped build.
        screws: rows of the table of screws.
        values: what else shall vary, as it would be typed.
        aims: names of aims, the first two span the picture; those that the panel begins with where none are given.
        power: exponent of two of the draws.

    Raises:
        ValueError: nothing of it can be built.
    """
    panel = ChoosingPanel(Session(shipped_build(build)))
    panel.screws.value = tuple(screws)
    for quantity, text in (values or {}).items():
        panel.values[quantity].value = text
    if aims:
        panel.aims.value = tuple(aims)
    panel.count.value = power
    panel.start()
    panel.finish()
    if panel.told is None:
        raise ValueError(Markup(panel.message.value).striptags())
    display_with_still(panel.widget, panel.told.picture(), panel.told.markdown())
    return panel
