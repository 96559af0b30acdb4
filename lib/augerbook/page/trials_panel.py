"""Weighings pasted by a reader, and what they say: every point, the means, and a verdict in plain words."""

from __future__ import annotations

import math

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.typed import typed_si
from augerbook.core.quantity import Quantity
from augerbook.core.units import UnitError, number
from augerbook.deciding.comparing import Compared, compare
from augerbook.deciding.trial_pictures import draw_weighings
from augerbook.deciding.weighings import Weighings, WeighingsError, read_weighings
from augerbook.draw.live_plot import LivePlot
from augerbook.head.trials import balance_reading, confidence_wanted, effect_wanted
from augerbook.page.controls import message_html
from augerbook.page.live_html import live_html
from augerbook.page.stand_in import display_with_still
from augerbook.tables import data_path

#: What a reader sets beside the text, with what stands there at first.
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
        known = math.isfinite(screw.low)
        rows.append(
            (
                screw.name,
                f"{screw.count}",
                f"{number(1e6 * screw.mean)} mg",
                f"{number(1e6 * screw.low)} to {number(1e6 * screw.high)} mg" if known else "not known from one",
                f"{number(100 * screw.spread, 2)} %" if known else "not known from one",
                f"{number(100 * screw.spread_without_balance, 2)} %" if known else "not known from one",
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
    cell, head = (
        Markup("<td style='padding:2px 10px 2px 0'>{}</td>"),
        Markup("<th style='text-align:left;padding-right:10px'>{}</th>"),
    )
    rows = Markup().join(
        Markup("<tr>{}</tr>").format(Markup().join(cell.format(text) for text in row)) for row in summary_rows(compared)
    )
    words = Markup().join(Markup("<li>{}</li>").format(words) for words in compared.verdict)
    heads = Markup().join(head.format(text) for text in _HEADS)
    return Markup("<table><tr>{}</tr>{}</table><ul style='line-height:1.5'>{}</ul>").format(heads, rows, words)


class TrialsPanel:
    """A text of weighings with its verdict; what cannot be read is said line by line, and the last verdict goes."""

    def __init__(self, text: str = "") -> None:
        self.text = widgets.Textarea(
            value=text,
            placeholder="Paste weighings here, with a first line such as: screw, time [min], mass [g], turns",
            rows=9,
            layout=_WIDE,
        )
        self.asked = {
            quantity: widgets.Text(
                value=first,
                description=quantity.name_in_words,
                continuous_update=False,
                style={"description_width": "150px"},
                layout=widgets.Layout(width="270px"),
            )
            for quantity, first in _ASKED
        }
        self.read = widgets.Button(description="Read these weighings", layout=widgets.Layout(width="180px"))
        self.message = widgets.HTML(layout=_WIDE)
        self.picture, self.summary = live_html(), widgets.HTML(layout=_WIDE)
        self.compared: Compared | None = None
        self.still: LivePlot | None = None
        self.read.on_click(lambda _: self.refresh())
        for field in self.asked.values():
            field.observe(lambda _: self.refresh(), names="value")
        asked = widgets.HBox([*self.asked.values(), self.read], layout=widgets.Layout(flex_flow="row wrap"))
        self.widget = widgets.VBox([self.text, asked, self.message, self.picture, self.summary], layout=_WIDE)
        self.refresh()

    def refresh(self) -> None:
        """Read the text and say what it tells, or what is wrong with it."""
        self.compared = self.still = None
        self.picture.value = self.summary.value = ""
        if not self.text.value.strip():
            self.message.value = message_html("Nothing to read yet: paste weighings into the field above")
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


def show_trial(name: str) -> None:
    """Show the panel with one of the invented sets in it; without a kernel, its picture and verdict.

    Raises:
        ValueError: the set cannot be read.
    """
    panel = TrialsPanel(data_path("trials", f"{name}.csv").read_text(encoding="utf-8"))
    if panel.still is None or panel.compared is None:
        raise ValueError(f"{name}: {panel.message.value}")
    display_with_still(panel.widget, panel.still, summary_markdown(panel.compared))
