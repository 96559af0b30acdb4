from typing import Any

import pytest
from augerbook.builds.build import Build, usable_rows
from augerbook.builds.reader import BuildError
from augerbook.builds.shipped import shipped_build
from augerbook.chapters import whole_head
from augerbook.chapters.screw import net_volume
from augerbook.core.quantity import Lookup
from augerbook.head.bearing import bearing_kind
from augerbook.head.feedstock import standard_sieve
from augerbook.head.screw import core_diameter, major_diameter, pitch, standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.page.session import Session
from augerbook.tables import read_table
from hypothesis import given
from hypothesis import strategies as st


class Heard:
    """What a session tells, in order: the message at each change."""

    def __init__(self, session: Session) -> None:
        self.calls: list[str] = []
        session.on_change(lambda: self.calls.append(session.message))


@pytest.fixture
def session() -> Session:
    return Session(shipped_build("otter"))


def test_a_changed_value_is_computed_with(session: Session) -> None:
    heard = Heard(session)
    before = session.solution[net_volume]
    session.set_value(bore_diameter, 9.0)
    assert session.build.values[bore_diameter] == pytest.approx(0.009)
    assert session.solution[net_volume] > before
    assert session.message == "" and len(heard.calls) == 1


def test_an_impossible_value_is_told_with_both_and_the_last_possible_build_stays(session: Session) -> None:
    before, heard = session.build, Heard(session)
    session.set_value(bore_diameter, 5.0)
    assert session.build is before and session.wanted.values[bore_diameter] == pytest.approx(0.005)
    assert "major diameter 6.00 mm must be smaller than bore diameter 5.00 mm" in session.message
    assert session.message.startswith("These values cannot go together, so the last possible build is shown:")
    session.set_value(major_diameter, 4.9)
    assert session.build is session.wanted and session.message == ""
    assert session.build.values[bore_diameter] == pytest.approx(0.005)
    assert len(heard.calls) == 2


def test_every_clash_is_told(session: Session) -> None:
    session.set_value(core_diameter, 7.0)
    session.set_value(bore_diameter, 5.0)
    assert "core diameter 7.00 mm" in session.message and "bore diameter 5.00 mm" in session.message


def test_another_screw_replaces_changed_values(session: Session) -> None:
    heard = Heard(session)
    session.set_value(pitch, 3.0)
    session.set_name(standard_screw, "M6")
    assert session.build.values[pitch] == pytest.approx(0.001) and session.message == ""
    assert heard.calls == ["", ""]


def test_a_row_that_there_is_not_is_told_and_nothing_changes(session: Session) -> None:
    before, heard = session.wanted, Heard(session)
    session.set_name(standard_screw, "M66")
    assert session.wanted is before and "no row 'M66'" in session.message and "did you mean 'M6'" in session.message
    assert len(heard.calls) == 1


def test_a_row_whose_figures_are_implausible_is_told() -> None:
    session = Session(shipped_build("otter"))
    for lookup in whole_head().lookups.values():
        for name in set(read_table(lookup.table).rows) - set(usable_rows(lookup)):
            before = session.wanted
            session.set_name(lookup, name)
            assert session.wanted is before
            assert f"{lookup.name_in_words} '{name}' cannot be taken:" in session.message
            assert "expected" in session.message
    assert isinstance(standard_sieve, Lookup)


def test_a_choice_is_changed_and_an_unknown_one_is_told(session: Session) -> None:
    for option in bearing_kind.options:
        session.set_choice(bearing_kind, option)
        assert session.build.choices[bearing_kind] == option and session.message == ""
    before = session.wanted
    session.set_choice(bearing_kind, "magnetic")
    assert session.wanted is before and "bearing kind 'magnetic' is not known: expected one of" in session.message


def test_a_build_is_loaded(session: Session) -> None:
    heard = Heard(session)
    session.load(shipped_build("wren"))
    assert session.build.name == "wren" and heard.calls == [""]


def test_a_pasted_build_is_loaded(session: Session) -> None:
    assert session.load_text("Mine:\n```toml\n" + shipped_build("wren").toml() + "```")
    assert session.build.toml() == shipped_build("wren").toml() and session.message == ""


@pytest.mark.parametrize(
    ("text", "count", "words"),
    [
        ("rubbish", "One fault:", "this is not a TOML build file"),
        ('format = 1\n[tube]\nbore_diameter = "8"', "One fault:", "tube.bore_diameter"),
        ('format = 2\n[tube]\nbore = "8"', "2 faults:", "did you mean 'bore_diameter'?"),
    ],
)
def test_a_paste_with_faults_leaves_everything_as_it_was(session: Session, text: str, count: str, words: str) -> None:
    session.set_value(bore_diameter, 9.0)
    build, wanted, heard = session.build, session.wanted, Heard(session)
    assert not session.load_text(text)
    assert session.build is build and session.wanted is wanted
    first, *rest = session.message.splitlines()
    assert first == f"The build was not loaded, yours is unchanged. {count}"
    assert any(words in line for line in rest)
    assert len(heard.calls) == 1
    session.set_value(bore_diameter, 8.0)
    assert session.message == ""


def test_a_build_that_clashes_is_told_even_when_it_is_loaded_by_hand(session: Session) -> None:
    before = session.build
    session.load(shipped_build("otter").with_value(bore_diameter, 0.003))
    assert session.build is before and isinstance(session.wanted, Build) and "bore diameter 3.00 mm" in session.message


def test_reading_is_refused_with_a_build_error_only() -> None:
    assert issubclass(BuildError, ValueError)


# --- steps back and forth

Q = whole_head().quantities
VALUES = [Q[key] for key in ("bore_diameter", "plate_thickness", "gear_ratio", "friction_barrel", "slot_width")]
CHOICES = [whole_head().choices["plate_support"], bearing_kind]
NAMES = ["DIN 7998 5", "M5", "ST4.8", "GB/T 922 6"]

moves = st.tuples(st.just("move"), st.sampled_from(VALUES), st.floats(0.02, 0.98))
choosing = st.tuples(st.just("choose"), st.sampled_from(CHOICES), st.floats(0, 0.99))
rows = st.tuples(st.just("row"), st.just(standard_screw), st.floats(0, 0.99))
loads = st.tuples(st.just("load"), st.sampled_from(["otter", "wren"]), st.just(0.0))
rests = st.tuples(st.just("rest"), st.none(), st.just(0.0))
backs = st.tuples(st.sampled_from(["undo", "redo"]), st.none(), st.just(0.0))


def do(session: Session, what: str, on: Any, share: float) -> None:
    if what == "move":
        session.set_value(on, on.low + share * (on.high - on.low))
    elif what == "choose":
        session.set_choice(on, list(on.options)[int(share * len(on.options))])
    elif what == "row":
        session.set_name(on, NAMES[int(share * len(NAMES))])
    elif what == "load":
        session.load(shipped_build(on))
    elif what == "rest":
        session.seal()
    else:
        getattr(session, what)()


def held(session: Session) -> tuple[object, ...]:
    builds = (session.wanted, session.build, session.loaded)
    return (*((b.name, dict(b.entries), dict(b.chosen), dict(b.names)) for b in builds), session.message)


def texts(session: Session) -> tuple[str, str, str]:
    return session.wanted.toml(), session.build.toml(), session.loaded.toml()


@pytest.mark.slow
@given(st.lists(st.one_of(moves, choosing, rows, loads, rests, backs), max_size=8))
def test_undoing_all_gives_the_first_build_and_redoing_all_the_last(doings: list[tuple[str, Any, float]]) -> None:
    session = Session(shipped_build("otter"))
    first, first_texts = held(session), texts(session)
    for what, on, share in doings:
        do(session, what, on, share)
    while session.can_redo:
        session.redo()
    last, last_texts = held(session), texts(session)
    seen = [last]
    while session.can_undo:
        session.undo()
        seen.append(held(session))
    assert seen[-1] == first and texts(session) == first_texts
    for expected in reversed(seen[:-1]):
        session.redo()
        assert held(session) == expected
    assert held(session) == last and texts(session) == last_texts and not session.can_redo


def test_moves_of_one_slider_are_one_step_until_it_rests(session: Session) -> None:
    for shown in (8.1, 8.2, 8.3):
        session.set_value(bore_diameter, shown)
    session.undo()
    assert session.build.toml() == shipped_build("otter").toml() and not session.can_undo
    session.redo()
    assert session.build.values[bore_diameter] == pytest.approx(0.0083)
    session.set_value(bore_diameter, 8.4)
    session.seal()
    session.set_value(bore_diameter, 8.5)
    session.set_value(pitch, 2.7)
    session.set_value(bore_diameter, 8.6)
    for expected in (8.5, 8.5, 8.4, 8.3):
        session.undo()
        assert session.build.values[bore_diameter] == pytest.approx(expected / 1000)


def test_what_was_taken_back_is_forgotten_by_the_next_change(session: Session) -> None:
    session.set_value(bore_diameter, 9.0)
    session.undo()
    session.set_value(pitch, 2.7)
    assert not session.can_redo
    session.redo()
    assert session.build.values[bore_diameter] == pytest.approx(0.008)


def test_what_changes_nothing_is_no_step(session: Session) -> None:
    session.type_value(bore_diameter, "rubbish")
    session.type_value(bore_diameter, "8")
    session.set_name(standard_screw, "M66")
    assert not session.load_text("rubbish")
    assert not session.can_undo


def test_loading_is_a_step_and_changes_are_told_against_what_was_loaded(session: Session) -> None:
    session.set_value(bore_diameter, 9.0)
    session.load(shipped_build("wren"))
    assert session.loaded.name == "wren"
    session.take(session.build.with_value(bore_diameter, 0.006))
    assert session.loaded.toml() == shipped_build("wren").toml()
    session.undo()
    session.undo()
    assert session.loaded.name == "otter" and session.build.values[bore_diameter] == pytest.approx(0.009)
