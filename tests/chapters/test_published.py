"""Every published figure of every chapter against the library."""

import tomllib

import pytest
from augerbook.chapters import all_subjects
from augerbook.checks import published_checks
from augerbook.core.units import number
from augerbook.tables import data_path, references

CASES = [
    pytest.param(path.stem, place, id=f"{path.stem}-{entry.get('what', place)}")
    for path in sorted(data_path("checks").glob("*.toml"))
    for place, entry in enumerate(tomllib.loads(path.read_text(encoding="utf-8")).get("check", ()))
]


def test_there_are_published_figures_and_each_file_belongs_to_a_chapter() -> None:
    assert CASES
    names = {subject.name for subject in all_subjects()}
    assert {path.stem for path in data_path("checks").glob("*.toml")} <= names


@pytest.mark.parametrize(("subject", "place"), CASES)
def test_the_library_gives_what_was_published(subject: str, place: int) -> None:
    check = published_checks(subject)[place]
    for outcome in check.run():
        q = outcome.quantity
        assert outcome.agrees, (
            f"{check.what}: {q.text(outcome.computed, digits=6)} instead of {q.text(outcome.published, digits=6)}, "
            f"{number(100 * outcome.difference, 2)} % off, {number(100 * check.tolerance, 2)} % allowed; "
            f"{check.provenance()}"
        )


@pytest.mark.parametrize(("subject", "place"), CASES)
def test_a_published_figure_says_what_it_is_and_where_it_stands(subject: str, place: int) -> None:
    check = published_checks(subject)[place]
    assert check.what and "\n" not in check.what and check.place
    assert check.source in references() and check.covers and check.expect and check.given
    assert 0 < check.tolerance <= 0.1
    if check.tolerance > 0.005:
        assert check.note, "a tolerance this wide wants a note that justifies it"
    assert not set(check.expect) & set(check.given), "what is expected must not be given"
