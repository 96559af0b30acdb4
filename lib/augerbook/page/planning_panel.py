"""A trial before it is made: which one would tell most, how many weighings, and a plan to print or to fill in."""

from __future__ import annotations

import math

import ipywidgets as widgets
from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.builds.typed import typed_si
from augerbook.chapters.trials import trial_power, weighings_needed
from augerbook.core.margin import Margin
from augerbook.core.units import UnitError
from augerbook.deciding.calibrating import TOLD, Expected, rank_trials
from augerbook.deciding.planning import Planned, blocked_order, plan_blocks, plan_csv
from augerbook.deciding.ranking import margins_of_head
from augerbook.deciding.trial_pictures import draw_ranking
from augerbook.head.trials import effect_wanted, power_wanted, screws_compared, weighings
from augerbook.page.controls import message_html
from augerbook.page.copy_box import CopyBox
from augerbook.page.following import FollowingField
from augerbook.page.live_html import live_html
from augerbook.page.plain import Button, Html
from augerbook.page.print_sheet import print_html
from augerbook.page.session import Session

_WIDE = widgets.Layout(width="100%")
_ROW = widgets.Layout(width="100%", flex_flow="row wrap", align_items="center")
_LABEL = {"description_width": "180px"}
#: What a trial is planned for where a build does not say (the chance after Cohen, common practice).
_USUAL_EFFECT, _USUAL_POWER = "5 %", 0.8


class PlanningPanel:
    """What to measure for a question, and the order in which two screws or more are weighed."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self.question = widgets.Dropdown(
            options=[(margin.name_in_words, margin.id) for margin in margins_of_head(session.build.network)],
            description="narrow the", style=_LABEL, layout=widgets.Layout(width="460px"),
        )  # fmt: skip
        self.ranking, self.advice = live_html(), Html(layout=_WIDE)
        self.screws = widgets.Text(
            value="screw at hand; other screw", description="screws", style=_LABEL, continuous_update=False,
            tooltip="Their names, with semicolons between", layout=widgets.Layout(width="460px"),
        )  # fmt: skip
        self._worth = FollowingField(effect_wanted, _USUAL_EFFECT, width="290px")
        self.effect = self._worth.widget
        least, most = map(int, weighings.limits)
        self.count = widgets.BoundedIntText(
            value=10, min=least, max=most, description="weighings of each", style=_LABEL,
            layout=widgets.Layout(width="290px"),
        )  # fmt: skip
        self.hopper = widgets.Text(
            value="fresh; half; low", description="hopper, in turn", style=_LABEL, continuous_update=False,
            tooltip="States of the hopper that the blocks go through, with semicolons between",
            layout=widgets.Layout(width="460px"),
        )  # fmt: skip
        self.lots = Button(description="Draw lots", layout=widgets.Layout(width="120px"))
        self.message, self.sheet = Html(layout=_WIDE), Html(layout=_WIDE)
        self.csv = CopyBox("Copy the plan as CSV", rows=6)
        self.plan: tuple[Planned, ...] = ()
        self._seed = 0
        self._of: Build | None = None
        self._proposed = self.count.value
        self.question.observe(lambda _: self.rank(), names="value")
        self.screws.observe(lambda _: self._need(keep=self.count.value != self._proposed), names="value")
        self.effect.observe(lambda _: self._need(), names="value")
        self.count.observe(lambda _: self._need(keep=True), names="value")
        self.lots.on_click(lambda _: self.draw_lots())
        self.asking = widgets.VBox([self.question, self.advice, self.ranking], layout=_WIDE)
        self.planning = widgets.VBox(
            [
                self.screws,
                widgets.HBox([self.effect, self.count], layout=_ROW),
                widgets.HBox([self.hopper, self.lots], layout=_ROW),
                self.message,
                self.sheet,
                self.csv.widget,
            ],
            layout=_WIDE,
        )

    def ask_for(self, margin: Margin) -> None:
        """Ask which trial would narrow the spread of a margin."""
        if self.question.value == margin.id:
            self.rank()
        else:
            self.question.value = margin.id

    def rank(self) -> None:
        """Say what each trial would leave of the spread of the chosen margin at the present build."""
        quantity = self._session.build.network.margins[self.question.value].quantity
        self.ranking.value = ""
        try:
            ranked = rank_trials(self._session.build, quantity)
        except ValueError as error:
            self.advice.value = message_html(f"No trial can be ranked: {error}")
            return
        told = Markup("<div role='status'>{}</div>").format(ranking_in_words(ranked)) if ranked else ""
        self.advice.value = told or message_html("The build has no value yet for any of the trials")
        if ranked:
            self.ranking.value = draw_ranking(ranked, quantity).svg()

    def _need(self, *, keep: bool = False) -> None:
        """Set the weighings to what the difference takes, where the build knows how much a weighing scatters.

        Args:
            keep: leave the number that someone typed, and say what it shows.
        """
        build = self._session.build
        try:
            effect = typed_si(effect_wanted, self.effect.value)
        except UnitError as error:
            self.message.value = message_html(f"The {effect_wanted.name_in_words} '{self.effect.value:.30}' {error}")
            return
        asked = build.with_value(effect_wanted, effect).with_value(screws_compared, max(2, len(self._names())))
        if power_wanted not in asked.values:
            asked = asked.with_value(power_wanted, _USUAL_POWER)
        solution = asked.solution
        if weighings_needed not in solution.values or not math.isfinite(solution[weighings_needed]):
            self.message.value = message_html(
                f"{weighings_needed.name_in_words} {solution.why_missing(weighings_needed)}"
            )
            return
        needed = math.ceil(solution[weighings_needed])
        if not keep:
            self._proposed = min(max(needed, self.count.min), self.count.max)
            self.count.value = self._proposed
        power = asked.with_value(weighings, float(self.count.value)).solution.text(trial_power)
        told = f"{self.count.value} weighings of each show such a difference in {power} of all trials"
        if self.count.value < needed:
            told += f"; for {power_wanted.text(asked.values[power_wanted])} it takes {needed}"
        self.message.value = Markup("<div role='status'>{}.</div>").format(told)

    def _names(self) -> list[str]:
        return [name.strip() for name in self.screws.value.split(";") if name.strip()]

    def draw_lots(self) -> None:
        """Make a plan; each press draws another order."""
        self._seed += 1
        self.plan, self.sheet.value = (), ""
        self.csv.show("")
        states = [state.strip() for state in self.hopper.value.split(";") if state.strip()]
        try:
            self.plan = blocked_order(self._names(), self.count.value, seed=self._seed, hopper=states)
        except ValueError as error:
            self.message.value = message_html(str(error))
            return
        self.message.value = ""
        self.sheet.value = print_html(sheet_html(self.plan), "Print this sheet", "Plan of a trial")
        self.csv.show(plan_csv(self.plan))

    def refresh(self) -> None:
        """Bring what follows from the build up to date, if it is another one."""
        if self._session.build is not self._of:
            self._of = self._session.build
            self.rank()
            self._worth.follow(self._of)
            self._need(keep=self.count.value != self._proposed)


def ranking_in_words(ranked: list[Expected]) -> Markup:
    """Say which trial would tell most, and what it would narrow."""
    best = ranked[0]
    if best.left > TOLD:
        return Markup(
            "None of these trials would narrow it by more than a twentieth: none of them tells what decides it."
        )
    words = Markup("The <b>{}</b> would tell most: it would leave {:.0f} % of the spread").format(
        best.name, 100 * best.left
    )
    if best.most is not None:
        words += Markup(", since it narrows the {} to {:.0f} % of its own").format(
            best.most[0].name_in_words, 100 * best.most[1]
        )
    return words + Markup(".")


def sheet_html(plan: tuple[Planned, ...]) -> Markup:
    """Return a plan as a sheet with room to write in."""
    blocks = plan_blocks(plan)
    most = max(len(row) for row in blocks.values())
    heads = Markup().join(Markup("<th>weighing {}</th>").format(place + 1) for place in range(most))
    rows = Markup().join(
        Markup("<tr><td>{}</td><td>{}</td>{}</tr>").format(
            block,
            row[0].hopper,
            Markup().join(
                Markup(
                    "<td>{}: <b>{}</b><br>mass ________ g<br>turns ________<br>start ____:____ &nbsp; at ______ °C</td>"
                ).format(one.number, one.screw)
                for one in row
            ),
        )
        for block, row in blocks.items()
    )
    return Markup(
        "<p>One colour of plastic only: a change of colour hides unevenness. Keep to the order, from left to right and "
        "from top to bottom. Let each piece cool before it goes onto the balance. Never put a hand under the nozzle."
        "</p>"
        "<table><tr><th>block</th><th>hopper</th>{}</tr>{}</table>"
    ).format(heads, rows)
