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
