"""What the page says of estimates: a mark beside each, what they decide in a margin, and a table of all of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from markupsafe import Markup

from augerbook.builds.build import Build
from augerbook.builds.estimates import (
    Decided,
    Guessable,
    Way,
    decide_most,
    decided_by,
    estimated,
    guarded_by_estimates,
    lacking_in_words,
    never_estimated,
    rest_on,
    waiting,
    way_of,
)
from augerbook.chapters import all_subjects
from augerbook.core.quantity import Choice, Lookup, Quantity
from augerbook.core.spread import Spread
from augerbook.core.units import number, with_unit
from augerbook.page.cells import table_html
from augerbook.page.colours import EDGE

#: Stands wherever estimates do.
NO_DATA_SHEET = (
    "An estimate is no data sheet: where a limit protects people or parts, read the sheet of the part in your hand."
)
_MARK = Markup(
    "<small class='estimated' style='border:1px dashed {edge};border-radius:4px;padding:0 5px'>{words}</small>"
)
_NOTE = Markup("<small class='decided-by-estimates'>{}</small>")
#: Digits of the ends of a guess.
_DIGITS = 3
#: Guessed kinds named in one margin, estimates named in a worked example, and those to measure first on the page.
_KINDS, _NAMED, _FIRST = 4, 6, 5


def mark_html(build: Build, item: Quantity | Choice | Lookup) -> Markup:
    """Return the mark of an estimated value, choice or name; empty for what is known."""
    if not isinstance(item, Quantity):
        return _MARK.format(edge=EDGE, words="estimated") if item in build.guessed else Markup()
    entry = build.entries.get(item)
    if entry is not None:
        if not entry.estimated:
            return Markup()
        return _MARK.format(edge=EDGE, words=f"estimated, {range_text(build, item)}")
    row = next((k for k in build.guessed if isinstance(k, Lookup) and item in k.fills and item in build.values), None)
    words = f"estimated: {build.names[row]}, as {row.name_in_words}" if row is not None else ""
    return _MARK.format(edge=EDGE, words=words) if words else Markup()


def counted(build: Build) -> str:
    """Begin a sentence with how many values and kinds of a build are estimated."""
    count = len(estimated(build))
    return "1 value or kind of this build is" if count == 1 else f"{count} values and kinds of this build are"


def range_text(build: Build, quantity: Quantity) -> str:
    """Return from where to where an uncertain value may go."""
    low, high = (f"{float(number(float(quantity.shown(end)), _DIGITS)):g}" for end in build.ends[quantity])
    return with_unit(f"{low} to {high}", quantity.unit)


def notes_of(build: Build, quantities: Iterable[Quantity], around: Mapping[Quantity, Spread]) -> dict[Quantity, Markup]:
    """Return for results what of them rests on estimates, or what they lack; nothing for the others."""
    asked = list(quantities)
    found = lacking_notes(build, asked)
    if estimated(build):
        for quantity in asked:
            if words := decided_html(build, decided_by(build, quantity, around.get(quantity))):
                found[quantity] = words
    return found


def lacking_notes(build: Build, quantities: Sequence[Quantity]) -> dict[Quantity, Markup]:
    """Return for each result that is not known what only the maker can say, and how much can be estimated."""
    lacks = lacking_in_words(build, quantities)
    return {q: Markup("{}").format(f"{q.name_in_words} {words}.") for q, words in lacks.items()}


def decided_html(build: Build, decided: Decided) -> Markup:
    """Say which estimates decide a result, and how to measure the first of them; empty where none does."""
    parts = []
    named = [f"{q.name_in_words} (an end of its range gives no value)" for q in decided.lost]
    named += [f"{q.name_in_words} ({100 * share:.0f} %)" for q, share in decided.shares]
    if named:
        parts.append(Markup("<b>Decided by estimates:</b> {}.").format(", ".join(named)))
    kinds = [f"{k.name_in_words} {_told(build, k)}" for k in decided.kinds[:_KINDS]]
    if len(decided.kinds) > _KINDS:
        kinds.append(f"and {len(decided.kinds) - _KINDS} more")
    if kinds:
        parts.append(Markup("Guessed, without a spread: {}.").format(", ".join(kinds)))
    ways = ((item, way) for item in decided.in_order if (way := way_of(build, item)) is not None)
    first = next(((item, way) for item, way in ways if way.measurable), None)
    if first is not None:
        item, way = first
        asked = item.meaning if isinstance(item, Choice) else f"the {item.name_in_words}"
        parts.append(Markup("<b>First find out {}</b>: {} ({}).").format(asked, way.how, link_html(way)))
    elif named:
        parts.append(Markup("None of these can be measured at home."))
    return _NOTE.format(Markup(" ").join(parts)) if parts else Markup()


def first_html(build: Build, spreads: Mapping[Quantity, Spread]) -> Markup:
    """Say which estimates decide most margins, and how to find them out; empty without any."""
    lines = []
    for quantity, count in decide_most(build, spreads):
        way = way_of(build, quantity)
        if way is not None and way.measurable:
            margins = "1 margin" if count == 1 else f"{count} margins"
            line = Markup("<li><b>{}</b> decides {}: {} ({})</li>")
            lines.append(line.format(quantity.name_in_words, margins, way.how, link_html(way)))
    if not lines:
        return Markup()
    return Markup(
        "<div class='find-out-first' style='line-height:1.4'>Find out first:<ol style='margin:0 0 0 22px;padding:0'>"
        "{}</ol></div>"
    ).format(Markup().join(lines[:_FIRST]))


def link_html(way: Way) -> Markup:
    """Return a link to the heading of the chapter that tells what an estimated value does."""
    number = next(s.number for s in all_subjects() if way.chapter.endswith(s.name))
    link = Markup("<a href='{}' target='_blank' data-chapter='{}' style='text-decoration:underline'>chapter {}, {}</a>")
    return link.format(way.address, f"{way.chapter}.ipynb", number, way.heading)


def estimates_html(build: Build) -> Markup:
    """Return all estimates of a build as a table: value, range, why, how to measure; empty without any."""
    items = estimated(build)
    if not items:
        return Markup()
    heads = ("what", "estimate", "range", "why", "to find out")
    return Markup(
        "<p style='margin:6px 0'>{}</p>"
        "<div style='overflow:auto;max-height:480px' tabindex='0' role='region' aria-label='all estimates'>{}</div>"
    ).format(NO_DATA_SHEET, table_html(heads, [_row(build, item) for item in items], kind="estimates"))


def _row(build: Build, item: Guessable) -> tuple[str, ...]:
    way = way_of(build, item)
    why = f"{way.why} ({way.source})" if way else ""
    how = Markup("{}: {}").format(way.how, link_html(way)) if way else Markup()
    ends = range_text(build, item) if isinstance(item, Quantity) else ""
    return Markup("<b>{}</b>").format(item.name_in_words), _told(build, item), ends, why, how


def _told(build: Build, item: Guessable) -> str:
    if isinstance(item, Quantity):
        return item.text(build.values[item])
    return build.chosen[item] if isinstance(item, Choice) else build.names[item]


def asked_html(build: Build) -> Markup:
    """Say what only the maker can say, and how many margins wait for each; empty when nothing is lacking."""
    never, lines = never_estimated(), []
    for item, count in waiting(build).items():
        reason = f": {never[item]}" if item in never else ""
        margins = "1 margin waits" if count == 1 else f"{count} margins wait"
        lines.append(Markup("<li><b>{}</b>{} ({} for it)</li>").format(item.name_in_words, reason, margins))
    if not lines:
        return Markup()
    return Markup(
        "<div class='to-be-asked' style='line-height:1.4'>Only you can say:"
        "<ul style='margin:0 0 0 18px;padding:0'>{}</ul></div>"
    ).format(Markup().join(lines))


def guards_html(build: Build) -> Markup:
    """Say of which dangers only an estimate says that there is none; empty for none."""
    lines = [
        Markup("<li>whether {}: find out the {}</li>").format(
            warned.validity.otherwise.partition(":")[0], ", ".join(q.name_in_words for q in rests)
        )
        for warned, rests in guarded_by_estimates(build)
    ]
    if not lines:
        return Markup()
    return Markup(
        "<div class='guarded-by-estimates' style='border-left:6px double {};padding:2px 0 2px 10px;margin:0 0 6px;"
        "line-height:1.4'><b>Watched over by estimates only.</b> {}"
        "<ul style='margin:0 0 0 18px;padding:0'>{}</ul></div>"
    ).format(EDGE, NO_DATA_SHEET, Markup().join(lines))


def rests_in_words(build: Build, quantity: Quantity) -> str:
    """Say in a worked example what of its result is only estimated; empty when nothing is."""
    items = rest_on(build, quantity)
    if not items:
        return ""
    if len(items) > _NAMED:
        return f"Rests on {len(items)} estimates, which nobody measured; the build below marks them"
    return f"Rests on estimates, which nobody measured: {', '.join(item.name_in_words for item in items)}"
