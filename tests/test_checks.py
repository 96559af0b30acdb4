from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from augerbook import checks
from augerbook.chapters import whole_head
from augerbook.chapters.screw import floor_width
from augerbook.checks import CheckError, Outcome, published_checks
from augerbook.core.quantity import Quantity

Read = Callable[[str], tuple[checks.Check, ...]]

GOOD = """\
[[check]]
what = "a floor"
covers = ["screw.floor_width"]
source = "pappus"
place = "nowhere"
seen = false
tolerance = 0.01
given = { pitch = "2 mm", root_width = "0.5 mm" }
expect = { floor_width = "1.5 mm" }
"""


@pytest.fixture
def read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Read]:
    def read_text(text: str) -> tuple[checks.Check, ...]:
        (tmp_path / "toy.toml").write_text(text, encoding="utf-8")
        monkeypatch.setattr(checks, "data_path", lambda *parts: tmp_path / parts[-1])
        published_checks.cache_clear()
        return published_checks("toy")

    yield read_text
    published_checks.cache_clear()


def test_a_check_is_read_and_run(read: Read) -> None:
    (check,) = read(GOOD)
    (outcome,) = check.run()
    assert outcome.quantity == floor_width and outcome.agrees
    assert outcome.difference == pytest.approx(0, abs=1e-12)
    assert "figures from memory" in check.provenance()


def test_a_check_can_disagree(read: Read) -> None:
    (check,) = read(GOOD.replace('"1.5 mm"', '"1.52 mm"'))
    (outcome,) = check.run()
    assert not outcome.agrees and outcome.difference == pytest.approx(0.02 / 1.52)


def test_what_is_expected_is_never_given(read: Read) -> None:
    (check,) = read(GOOD.replace('root_width = "0.5 mm" }', 'root_width = "0.5 mm", floor_width = "9 mm" }'))
    (outcome,) = check.run()
    assert outcome.computed == pytest.approx(0.0015)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("pappus", "papus", "source 'papus' is not in references.toml"),
        ("screw.floor_width", "screw.floor", r"no relation or model \['screw.floor'\]"),
        ("tolerance = 0.01\n", "", "'tolerance' is missing or unknown"),
        ("tolerance = 0.01", 'tolerance = "some"', "could not convert"),
        ("tolerance = 0.01", "tolerance = 0.01\nremark = 'x'", r"\['remark'\] is not among"),
        ("pitch = ", "pich = ", "'pich' is missing or unknown"),
        ('"2 mm"', '"2 kg"', 'pitch = "2 kg" is in kg, but a value in mm is expected'),
        ('"2 mm"', '"two"', 'pitch = "two" is not a number with a unit'),
    ],
)
def test_a_check_written_wrongly_is_said(read: Read, old: str, new: str, message: str) -> None:
    assert old in GOOD
    with pytest.raises(CheckError, match=rf"^checks/toy.toml, 'a floor': .*{message}"):
        read(GOOD.replace(old, new))


def test_a_check_that_cannot_run_or_uses_nothing_of_what_it_covers_is_said(read: Read) -> None:
    (check,) = read(GOOD.replace(', root_width = "0.5 mm"', ""))
    with pytest.raises(CheckError, match="floor_width needs core diameter, crest width"):
        check.run()
    (check,) = read(GOOD.replace("screw.floor_width", "screw.root_width"))
    with pytest.raises(CheckError, match=r"does not use \['screw.root_width'\]"):
        check.run()


def test_differences_are_those_of_the_shown_unit() -> None:
    warm = Quantity("warm", "T", "degC", "a temperature")
    assert Outcome(warm, 473.15, 475.15, 0.005).difference == pytest.approx(0.01)
    assert Outcome(floor_width, 0.0, 0.001, 0.5).difference == pytest.approx(1.0)
    assert not Outcome(floor_width, 0.001, float("nan"), 0.5).agrees


def test_a_subject_without_a_file_has_no_checks() -> None:
    assert published_checks("nothing_of_the_kind") == ()


@pytest.mark.parametrize("subject", [subject.name for subject in whole_head().subjects])
def test_each_subject_has_three_checks_whose_figures_were_seen(subject: str) -> None:
    seen = {(check.source, check.place) for check in published_checks(subject) if check.seen}
    assert len(seen) >= 3, f"{subject}: only {sorted(seen)}"


@pytest.mark.parametrize("subject", [subject.name for subject in whole_head().subjects])
def test_no_figure_is_from_memory(subject: str) -> None:
    remembered = [check.what for check in published_checks(subject) if not check.seen]
    assert not remembered, f"{subject}: from memory: {remembered}"
