"""Weighings pasted by a reader, and what they say: every point, the means, and a verdict in plain words."""

from __future__ import annotations

import math
from collections.abc import Callable

import ipywidgets as widgets
from markupsafe import Markup
from traitlets import Bunch

from augerbook.builds.build import Build
from augerbook.builds.typed import typed_si
from augerbook.core.quantity import Quantity
from augerbook.core.units import UnitError, number
from augerbook.deciding.comparing import Compared, compare
from augerbook.deciding.trial_pictures import draw_weighings
from augerbook.deciding.weighings import Weighings, WeighingsError, read_weighings
from augerbook.draw.live_plot import LivePlot
from augerbook.head.trials import balance_reading, confidence_wanted, effect_wanted
from augerbook.page.cells import table_html
from augerbook.page.controls import message_html
from augerbook.page.following import FollowingField
from augerbook.page.limits import TABLE_LIMITS, browser_limits
from augerbook.page.live_html import live_html
from augerbook.page.plain import Button, Html
from augerbook.page.stand_in import display_with_still
from augerbook.page.uploads import on_upload, uploaded_table
from augerbook.tables import data_path

#: What a reader sets beside the text, with what stands there where no build says it.
_ASKED: tuple[tuple[Quantity, str], ...] = (
    (effect_wanted, "5 %"),
    (balance_reading, "0.01 g"),
    (confidence_wanted, "95 %"),
)
_WIDE = widgets.Layout(width="100%")


def summary_rows(compared: Compared) -> list[tuple[str, ...]]:
    """Return for each screw its figures as text: weighings, mean, interval, spread, and spread without the balance."""
    rows: list[tuple[str, ...]] = []
    for screw in compared.screws:
        one = "not known from one"
        between = one if screw.count == 1 else "not known from equal ones without the balance's step"
        if math.isfinite(screw.low):
            between = f"{number(1e6 * screw.low)} to {number(1e6 * screw.high)} mg"
        rows.append(
            (
                screw.name,
                f"{screw.count}",
                f"{number(1e6 * screw.mean)} mg",
                between,
                f"{number(100 * screw.spread, 2)} %" if screw.count > 1 else one,
                f"{number(100 * screw.spread_without_balance, 2)} %" if screw.count > 1 else one,
            )
        )
    return rows


_HEADS = ("screw", "weighings", "mean a turn", "interval of the mean", "spread", "without the balance")


def summary_markdown(compared: Compared) -> str:
    """Return the figures of all screws as a Markdown table, and the verdicts below it."""
    lines = [f"| {' | '.join(_HEADS)} |", "|---" * len(_HEADS) + "|"]
    lines += [f"| {' | '.join(cell.replace('|', '/') for cell in row)} |" for row in summary_rows(compared)]
    return "\n".join([*lines, "", *(f"- {words}" for words in compared.verdict)])


def _summary_html(compared: Compared) -> Markup:
    words = Markup().join(Markup("<li>{}</li>").format(words) for words in compared.verdict)
    table = table_html(_HEADS, summary_rows(compared))
    return Markup("{}<ul style='line-height:1.5'>{}</ul>").format(table, words)


class TrialsPanel:
    """A text of weighings with its verdict; what cannot be read is said line by line, and the last verdict goes."""

    def __init__(self, text: str = "") -> None:
        self.text = widgets.Textarea(
            value=text,
            placeholder="Paste weighings here, with a first line such as: screw, time [min], mass [g], turns",
            rows=9,
            layout=_WIDE,
            continuous_update=False,  # sent when it is left, not with every key
        )
        self.fields = [FollowingField(quantity, usual, width="280px") for quantity, usual in _ASKED]
        self.asked = {field.quantity: field.widget for field in self.fields}
        self.read = Button(description="Read these weighings", layout=widgets.Layout(width="180px"))
        self.upload = widgets.FileUpload(accept=".csv,.txt", multiple=False, description="Upload weighings",
                                         layout=widgets.Layout(width="auto"))  # fmt: skip
        self.invented = widgets.Dropdown(
            options=[("choose ...", ""), *((name.replace("_", " "), name) for name in invented_sets())],
            description="invented sets", style={"description_width": "100px"},
        )  # fmt: skip
        self._listeners: list[Callable[[Compared | None], None]] = []
        self.message = Html(layout=_WIDE)
        self.picture, self.summary = live_html(), Html(layout=_WIDE)
        self.compared: Compared | None = None
        self.still: LivePlot | None = None
        self.read.on_click(lambda _: self._read_as_asked())
        on_upload(self.upload, self._load)
        self.invented.observe(self._take_invented, names="value")
        for field in self.asked.values():
            field.observe(lambda _: self.refresh(), names="value")
        asked = widgets.HBox([*self.asked.values(), self.read], layout=widgets.Layout(flex_flow="row wrap"))
        sources = widgets.HBox([self.invented, self.upload], layout=widgets.Layout(flex_flow="row wrap"))
        self.widget = widgets.VBox(
            [sources, self.text, browser_limits(TABLE_LIMITS), asked, self.message, self.picture, self.summary],
            layout=_WIDE,
        )
        self.refresh()

    def on_read(self, listener: Callable[[Compared | None], None]) -> None:
        """Call ``listener`` with what was read whenever the text was, or with nothing where it could not be."""
        self._listeners.append(listener)

    def follow(self, build: Build) -> None:
        """Ask what a build asks, where nobody typed something else."""
        for field in self.fields:
            field.follow(build)

    def refresh(self) -> None:
        """Read the text and say what it tells, or what is wrong with it."""
        self._read()
        for listener in self._listeners:
            listener(self.compared)

    def _read(self) -> None:
        self.compared = self.still = None
        self.picture.value = self.summary.value = ""
        if not self.text.value.strip():
            self.message.value = message_html("")
            return
        try:
            weighings = read_weighings(self.text.value)
            self._compare(weighings)
        except (WeighingsError, UnitError) as error:
            first = "These weighings cannot be read as they stand:" if isinstance(error, WeighingsError) else ""
            self.message.value = message_html("\n".join(part for part in (first, str(error)) if part))
            return
        left = len(weighings.waiting)
        self.message.value = message_html(f"{left} planned weighings are still empty and do not count" if left else "")

    def _read_as_asked(self) -> None:
        self.refresh()
        if not self.text.value.strip():
            self.message.value = message_html("Nothing to read yet: paste weighings into the field above")

    def _load(self, name: str, content: bytes) -> None:
        try:
            self.text.value = uploaded_table(name, content, TABLE_LIMITS)
        except ValueError as error:
            self.message.value = message_html(str(error))
        else:
            self.refresh()

    def _take_invented(self, change: Bunch) -> None:
        if change.new:
            self.text.value = _invented(change.new)
            self.invented.value = ""
            self.refresh()

    def _compare(self, weighings: Weighings) -> None:
        values = {}
        for quantity, field in self.asked.items():
            try:
                values[quantity] = typed_si(quantity, field.value)
            except UnitError as error:
                raise UnitError(f"The {quantity.name_in_words} '{field.value:.30}' {error}") from error
        self.compared = compare(
            weighings,
            confidence=values[confidence_wanted],
            worth_knowing=values[effect_wanted],
            balance_reading=values[balance_reading],
        )
        self.still = draw_weighings(weighings, self.compared)
        self.picture.value, self.summary.value = self.still.svg(), _summary_html(self.compared)


def invented_sets() -> list[str]:
    """Return the names of the sets of weighings that come with the handbook, all invented."""
    return sorted(path.stem for path in data_path("trials").glob("*.csv"))


def _invented(name: str) -> str:
    return data_path("trials", f"{name}.csv").read_text(encoding="utf-8")


def show_trial(name: str) -> None:
    """Show the panel with one of the invented sets in it; without a kernel, its picture and verdict.

    Raises:
        ValueError: the set cannot be read.
    """
    panel = TrialsPanel(_invented(name))
    if panel.still is None or panel.compared is None:
        raise ValueError(f"{name}: {panel.message.value}")
    display_with_still(panel.widget, panel.still, summary_markdown(panel.compared))
