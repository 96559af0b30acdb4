"""The margins of a build as HTML: number, bar, words, what to change and what it depends on."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.core.margin import Margin, Verdict
from augerbook.core.network import Network, Solution
from augerbook.core.quantity import Quantity
from augerbook.core.spread import (
    OneStep,
    Spread,
    effects,
    effects_in_words,
    in_doubt,
    sharers_in_words,
    spread_in_words,
    spreads,
)
from augerbook.deciding.changes import next_steps
from augerbook.deciding.ranking import margins_of_head
from augerbook.draw.margin_bar import margin_bar
from augerbook.page.alarms import alarms_in_short
from augerbook.page.cite import cite
from augerbook.page.colours import EDGE, FAINT, INK, QUIET
from augerbook.page.estimated_view import notes_of
from augerbook.page.worst_first import ORDER, worst_first

_SIGNS = {
    Verdict.GOOD: ("✓", f"1px solid {FAINT}"),
    Verdict.TIGHT: ("!", f"3px double {EDGE}"),
    Verdict.FAILS: ("✕", f"2px solid {INK}"),
    Verdict.UNKNOWN: ("?", f"1px dashed {EDGE}"),
}
_CHIP = Markup(
    "<span title='{verdict}' style='border:{edge};border-radius:4px;padding:0 6px;"
    "margin:0 6px 4px 0;display:inline-block;white-space:nowrap'><button type='button' data-jump='{id}' "
    "aria-label='{words}, {verdict}' style='all:unset;cursor:pointer;outline:revert'>{sign} {words}{told}</button>"
    "</span>"
)
#: What stands before the chips of one kind.
_KIND = Markup("<span style='margin-right:6px;white-space:nowrap'>{}:</span>")
_OF_TRIALS = Markup("<span style='color:{};margin-right:6px'>trials:</span>")
#: Those that need no look, or none one by one, folded away: the strip stays in view and shall leave room for what is
#: being moved.
_FOLDED = Markup(
    "<details data-fold='{key} in the strip' style='color:{colour};display:inline'><summary style='cursor:pointer;"
    "display:inline;text-decoration:underline dotted;white-space:nowrap'>{words}</summary> {inside}</details> "
)
#: So many margins without a value, or unsure, are told one by one: of more it is not each one that matters.
_MOST_SHOWN = 8
#: Sign and words for margins that are good at their value alone.
_UNSURE, _UNSURE_WORDS = "~", "good at the value, not within its spread"
_MARGIN = Markup(
    "<div role='listitem' data-margin='{id}' data-verdict='{verdict}' "
    "style='border-left:{edge};padding:1px 0 1px 10px;margin:0 0 {below}px;line-height:1.35'>"
    "<details data-fold='{id}'{opened}><summary style='cursor:pointer'>{head}</summary>{body}</details></div>"
)
_EDGES = {
    Verdict.GOOD: f"2px solid {FAINT}",
    Verdict.TIGHT: f"6px double {EDGE}",
    Verdict.FAILS: f"8px solid {INK}",
    Verdict.UNKNOWN: f"4px dotted {EDGE}",
}
#: The kinds in the strip, what needs a look first.
_STRIP_ORDER = (str(Verdict.FAILS), str(Verdict.TIGHT), _UNSURE_WORDS, str(Verdict.UNKNOWN), str(Verdict.GOOD))
_GROUP = Markup("<div style='margin:8px 0 4px;font-weight:bold'>{words} ({count})</div>")
#: Missing values that are named in one line.
_FEW = 3


@dataclass(frozen=True)
class Sensitivities:
    """What the margins of a build depend on, computed when the sliders rest.

    Attributes:
        movers: for each quantity the next steps that a builder can take, the one that moves it most first, with what
            it does.
        spreads: for each quantity its spread from those of the inputs.
        notes: which estimates decide it, or what it lacks (HTML); nothing where all is known.
    """

    movers: Mapping[Quantity, Sequence[tuple[OneStep, float]]] = field(default_factory=dict)
    spreads: Mapping[Quantity, Spread] = field(default_factory=dict)
    notes: Mapping[Quantity, Markup] = field(default_factory=dict)

    def in_doubt(self, margin: Margin, solution: Solution) -> bool:
        """Return whether a margin is good at its value, and beyond its limit somewhere within its spread."""
        return in_doubt(margin, solution.get(margin.quantity), self.spreads.get(margin.quantity))


def sensitivities_in_steps(build: Build, margins: Sequence[Margin]) -> Iterator[Sensitivities]:
    """Yield what the margins depend on in two steps of some hundredths of a second; the last holds all.

    All margins together: much lies upstream of nearly each of them, and is computed once.
    """
    known = list(dict.fromkeys(m.quantity for m in margins if m.quantity in build.solution.values))
    movers = effects(build.network, known, build.values, next_steps(build), build.choices)
    yield Sensitivities(movers)
    behind = build.network.upstream(known, build.values, build.choices) | set(known)
    ends = {q: pair for q, pair in build.ends.items() if q in behind}  # few margins hang on all that is uncertain
    around = spreads(build.network, known, build.values, ends, build.choices)
    yield Sensitivities(movers, around, notes_of(build, [m.quantity for m in margins], around))


def judged(margin: Margin, solution: Solution, depends: Sensitivities) -> Verdict:
    """Return the verdict on a margin.

    One that is good at its value and not within all of its spread is tight, and so is one that is good by a danger.
    """
    if depends.in_doubt(margin, solution) or good_by_danger(margin, solution):
        return Verdict.TIGHT
    return margin.verdict(solution.get(margin.quantity))


def valued(build: Build, margins: Sequence[Margin]) -> dict[str, tuple[str, Verdict]]:
    """Return by its id, for each margin with a value, this with its spread in words, and the verdict on it."""
    known = [margin for margin in margins if margin.quantity in build.solution.values]
    around = spreads(build.network, [m.quantity for m in known], build.values, build.ends, build.choices)
    depends = Sensitivities(spreads=around)
    told = {}
    for margin in known:
        spread = around[margin.quantity]
        low, high = (margin.quantity.plain_text(end) for end in (spread.low, spread.high))
        within = "" if low == high else f" ({low} to {high})"
        told[margin.id] = (
            f"{margin.text(build.solution[margin.quantity])}{within}",
            judged(margin, build.solution, depends),
        )
    return told


def good_by_danger(margin: Margin, solution: Solution) -> bool:
    """Whether a margin is good at values that are dangerous, and depends on what makes them so."""
    if not solution.hazards or margin.verdict(solution.get(margin.quantity)) is not Verdict.GOOD:
        return False
    given = {q: solution.values[q] for q in solution.given}
    behind = solution.network.upstream([margin.quantity], given, solution.choices) | {margin.quantity}
    return any(not behind.isdisjoint(warned.validity.quantities) for warned in solution.hazards)


def all_margins(network: Network) -> list[Margin]:
    """Return the margins of all chapters, in their order."""
    return list(network.margins.values())


def margins_html(
    margins: Sequence[Margin],
    solution: Solution,
    depends: Sensitivities,
    other: tuple[str, Solution] | None = None,
    mended: Collection[str] = (),
) -> Markup:
    """Return the margins as HTML, folded, those first that need a look.

    Args:
        margins, solution, depends: what is shown.
        other: a named build to compare with.
        mended: ids of the margins that the page beside can look for changes for.
    """
    groups: dict[Verdict, list[Margin]] = {verdict: [] for verdict in ORDER}
    verdicts = {margin.id: judged(margin, solution, depends) for margin in margins}
    for margin in worst_first(margins, solution, verdicts):
        groups[verdicts[margin.id]].append(margin)
    html = _summary(groups, sum(depends.in_doubt(margin, solution) for margin in groups[Verdict.TIGHT]))
    for verdict, some in groups.items():
        if some:
            rows = Markup().join(_row(m, solution, depends, other, mended=m.id in mended) for m in some)
            words = f"{_SIGNS[verdict][0]} {str(verdict).capitalize()}"
            html += _GROUP.format(words=words, count=len(some)) + Markup("<div role='list'>{}</div>").format(rows)
    return html


def strip_html(margins: Sequence[Margin], solution: Solution, depends: Sensitivities | None = None) -> Markup:
    """Return all margins in a few lines, to stand beside what is being moved: first those that need a look.

    Before them stand dangers, and how many conditions do not hold: no margin knows of them. Those of the choice and of
    its trials come last, under a name of their own: the head is none the worse for them. ``depends`` tells of spreads
    as far as they are known: while a slider moves, those of its last rest.
    """
    known = depends or Sensitivities()
    of_head = {margin.id for margin in margins_of_head(solution.network)}
    kinds: dict[str, list[Markup]] = {}
    planned: list[Markup] = []
    for margin in margins:
        verdict = judged(margin, solution, known)
        sign, words = _SIGNS[verdict][0], str(verdict)
        if verdict is Verdict.TIGHT and known.in_doubt(margin, solution):
            sign, words = _UNSURE, _UNSURE_WORDS
        named = f"{margin.name_in_words} {_value(margin, solution)}"
        trial = margin.id not in of_head and verdict is not Verdict.GOOD
        if verdict is Verdict.GOOD:
            chip = Markup("<span style='white-space:nowrap'>{}</span>").format(named)
        else:
            told = f", {verdict}" if trial else ""
            chip = _CHIP.format(
                verdict=verdict, edge=_SIGNS[verdict][1], sign=sign, words=named, told=told, id=margin.id
            )
        (planned if trial else kinds.setdefault(words, [])).append(chip)
    parts = [_kind(words, kinds[words]) for words in _STRIP_ORDER if words in kinds]
    if planned:
        parts.insert(len(parts) - ("good" in kinds), _OF_TRIALS.format(QUIET) + Markup().join(planned))
    strip = Markup("<div style='line-height:1.35;font-size:12px'>{}{}</div>")
    return strip.format(alarms_in_short(solution), Markup().join(parts))


def _kind(words: str, chips: Sequence[Markup]) -> Markup:
    """Return the margins of one kind in the strip, under its name."""
    sign = _UNSURE if words == _UNSURE_WORDS else _SIGNS[Verdict(words)][0]
    if words == Verdict.GOOD:
        inside = Markup(", ").join(chips)
        return _FOLDED.format(key=words, colour=QUIET, words=f"{sign} {len(chips)} good", inside=inside)
    if words in (Verdict.UNKNOWN, _UNSURE_WORDS) and len(chips) > _MOST_SHOWN:
        said = f"{sign} {len(chips)} {'cannot be computed yet' if words == Verdict.UNKNOWN else words}"
        return _FOLDED.format(key=words, colour=INK, words=said, inside=Markup().join(chips))
    return _KIND.format(words) + Markup().join(chips)


def _summary(groups: Mapping[Verdict, Sequence[Margin]], unsure: int) -> Markup:
    told = {verdict: f"{len(some)} {verdict}" for verdict, some in groups.items() if some}
    if unsure:
        told[Verdict.TIGHT] += f" ({unsure} of them by the spread alone)"
    said = ", ".join(told[verdict] for verdict in Verdict if verdict in told)
    return Markup("<p style='margin:2px 0 6px' class='margins-summary'><b>Margins:</b> {}</p>").format(said)


def _row(
    margin: Margin,
    solution: Solution,
    depends: Sensitivities,
    other: tuple[str, Solution] | None,
    *,
    mended: bool,
) -> Markup:
    quantity, value = margin.quantity, solution.get(margin.quantity)
    verdict = judged(margin, solution, depends)
    doubtful = depends.in_doubt(margin, solution)
    lines: list[str] = [f"{quantity.meaning[0].upper()}{quantity.meaning[1:]}."]  # plain text is escaped below
    if good_by_danger(margin, solution):
        lines.append("It reads good only in a state that is dangerous, see above: it does not count.")
    if doubtful:
        lines.append("Good at its value, but its spread reaches beyond the limit: what is least known decides.")
    if verdict is Verdict.GOOD:
        lines += [f"{margin.rule()[0].upper()}{margin.rule()[1:]}.", _bar(margin, value, verdict)]
    elif verdict is Verdict.UNKNOWN and quantity not in depends.notes and len(solution.lacking(quantity)) > _FEW:
        lines.append(f"{margin.name_in_words} {solution.why_missing(quantity)}".strip())
    elif verdict is not Verdict.UNKNOWN:
        lines.append(f"{margin.why[0].upper()}{margin.why[1:]}. To change: {margin.advice}.")
    lines.append(depends.notes.get(quantity, ""))
    if mended:
        lines.append(_MEND.format(margin.name_in_words))
    return _MARGIN.format(
        id=margin.id,
        verdict=verdict,
        edge=_EDGES[verdict],
        below=2 if verdict is Verdict.GOOD else 6,
        opened=Markup(" open") if verdict is Verdict.FAILS else "",
        head=_head(margin, solution, verdict, other, doubtful=doubtful),
        body=Markup("<br>").join(line for line in lines if line) + _more(margin, depends),
    )


def _more(margin: Margin, depends: Sensitivities) -> Markup:
    """Return what a margin depends on, how sure it is and where its limit is from: folded away within it."""
    quantity, small = margin.quantity, []
    around = depends.spreads.get(quantity)
    if around is not None and (words := spread_in_words(quantity, around)):
        sharers = f" Most of it from {sharers_in_words(around)}." if around.low < around.high else ""
        small.append(f"With the spread of the inputs {words}.{sharers}")
    movers = depends.movers.get(quantity, ())
    if moved := effects_in_words(quantity, movers):
        small.append(f"Of what you can change it depends most on {moved}.")
    elif quantity in depends.movers:
        small.append("Nothing that you can change moves it by its next step.")
    small.append(f"Limit: {cite(margin.source)}. Id {margin.id}.")
    return _MORE.format(id=margin.id, colour=QUIET, words=" ".join(small))


_MEND = Markup("<button type='button' data-mend='{}'>Look for changes that mend it</button>")
_MORE = Markup(
    "<details data-fold='{id} more'><summary style='cursor:pointer'><small>its spread, what moves it most, and where "
    "the limit is from</small></summary><small style='color:{colour}'>{words}</small></details>"
)


def _head(
    margin: Margin, solution: Solution, verdict: Verdict, other: tuple[str, Solution] | None, *, doubtful: bool
) -> Markup:
    """Return what stays to be seen of a folded margin: one line, and its bar where it needs a look."""
    quantity, value = margin.quantity, solution.get(margin.quantity)
    name = Markup("<b>{}</b>").format(margin.name_in_words[0].upper() + margin.name_in_words[1:])
    if verdict is Verdict.UNKNOWN:
        line = Markup("{}: <i>{}</i> <small>{}</small>").format(name, verdict, _lacking(quantity, solution))
        return line + _compared(margin, other)
    line = Markup("{}: {}").format(name, _value(margin, solution))
    if verdict is Verdict.GOOD:
        return line + _compared(margin, other)
    line += Markup(" <small>({})</small>").format(margin.rule())
    doubt = Markup("<br><small>good at its value, not within all of its spread</small>") if doubtful else Markup()
    return line + _compared(margin, other) + doubt + Markup("<br>") + _bar(margin, value, verdict)


def _lacking(quantity: Quantity, solution: Solution) -> str:
    """Say which few values are lacking."""
    if quantity in solution.values:
        return "not defined at these values"
    lacking = solution.lacking(quantity)
    more = f" and {len(lacking) - _FEW} more" if len(lacking) > _FEW else ""
    return f"needs {', '.join(item.name_in_words for item in lacking[:_FEW])}{more}"


def _value(margin: Margin, solution: Solution) -> str:
    value = solution.get(margin.quantity)
    return "no value" if value is None else margin.text(value)


def _compared(margin: Margin, other: tuple[str, Solution] | None) -> Markup:
    if other is None:
        return Markup()
    name, solution = other
    verdict = margin.verdict(solution.get(margin.quantity))
    return Markup(" · <i>{}: {}, {}</i>").format(name, _value(margin, solution), verdict)


def _bar(margin: Margin, value: float | None, verdict: Verdict) -> Markup:
    if value is None:
        return Markup()
    # A bar begins at zero. Where a limit lies at or below zero, it begins one width of the tight zone before it.
    least = min(margin.good, margin.limit)
    start = 0.0 if least > 0 else least - abs(margin.good - margin.limit)
    shown = float(margin.quantity.shown(value))
    return Markup(margin_bar(shown - start, margin.good - start, margin.limit - start, str(verdict)))
