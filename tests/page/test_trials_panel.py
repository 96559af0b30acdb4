"""The panel that reads pasted weighings: verdicts, mistakes in words, and nothing that a page would run."""

import pytest
from augerbook.deciding.comparing import compare
from augerbook.deciding.weighings import invented_weighings, read_weighings
from augerbook.head.trials import balance_reading, confidence_wanted, effect_wanted
from augerbook.page.trials_panel import TrialsPanel, show_trial, summary_markdown, summary_rows
from augerbook.tables import data_path

TEXT = data_path("trials", "two_screws_differ.csv").read_text(encoding="utf-8")


def test_a_pasted_trial_gets_its_verdict() -> None:
    panel = TrialsPanel(TEXT)
    assert "coach polished brings more than coach as bought" in panel.summary.value and "<svg" in panel.picture.value
    assert panel.compared is not None and "| coach polished | 10 |" in summary_markdown(panel.compared)
    # A finer question gets another answer, without another click.
    panel.asked[effect_wanted].value = "40"
    assert "brings more than" in panel.summary.value
    panel.asked[balance_reading].value = "0,1 g"
    assert panel.compared.screws[0].by_balance > 0 and panel.message.value.count("<li>") == 0


def test_what_is_not_known_of_a_mean_says_why() -> None:
    weighings = read_weighings("screw,mass [g],turns\nA,0.5,57\nB,0.6,57\nB,0.6,57\n")
    (_, _, _, one, *_), (_, _, _, equal, spread, _) = summary_rows(compare(weighings))
    assert one == "not known from one" and equal == "not known from equal ones without the balance's step"
    assert spread == "0 %"
    assert " to " in summary_rows(compare(weighings, balance_reading=1e-5))[1][3]


def test_a_mistake_takes_the_verdict_away_and_is_said() -> None:
    panel = TrialsPanel(TEXT)
    panel.text.value = TEXT.replace("0,53", "-0,53", 1)
    panel.read.click()
    assert "line 4: a mass of -0.53 g is below zero" in panel.message.value
    assert panel.picture.value == panel.summary.value == "" and panel.compared is None
    panel.text.value = " "
    panel.read.click()
    assert "paste weighings into the field above" in panel.message.value
    panel.text.value = TEXT
    panel.asked[confidence_wanted].value = "2 m"
    assert "The confidence wanted" in panel.message.value and panel.compared is None
    panel.asked[confidence_wanted].value = "90 %"
    assert panel.message.value.count("<b>") == 0 and panel.compared is not None and panel.compared.confidence == 0.9


@pytest.mark.parametrize("encoding", ["utf-16", "cp1252"])
def test_an_uploaded_trial_is_read_as_the_sheet_saved_it(encoding: str) -> None:
    panel = TrialsPanel()
    text = "screw;mass [g];turns;temperature [°C]\nfür ABS;0,5;57;231,5\nfür ABS;0,51;57;231,5\n"
    panel._load("a.csv", text.encode(encoding))
    assert panel.text.value == text and panel.compared is not None
    panel._load("b.csv", b"\xff\xfe\x00")
    assert "is no text file" in panel.message.value


def test_a_name_that_cannot_be_drawn_is_told_by_its_line() -> None:
    panel = TrialsPanel("screw,mass [g],turns\nA,0.5,57\nB\ud83d,0.5,57\n")
    assert "line 3: the character U+D83D in it cannot be shown" in panel.message.value and panel.compared is None


def test_nothing_is_called_wrong_before_anybody_asked() -> None:
    panel = TrialsPanel()
    assert "paste" not in panel.message.value
    panel.asked[balance_reading].value = "0,1 g"
    assert "paste" not in panel.message.value
    panel.read.click()
    assert "Nothing to read yet" in panel.message.value


def test_what_is_planned_and_not_weighed_is_counted() -> None:
    panel = TrialsPanel("screw,mass [g],turns\nA,0.5,57\nA,0.52,57\nB,,\nB,0.6,57\nB,0.61,57\n")
    assert "1 planned weighings are still empty and do not count" in panel.message.value and panel.compared


@pytest.mark.parametrize("name", ["<script>alert(1)</script>", "$x_2$ & 'q'", "a|b", "x" * 300])
def test_names_are_shown_as_they_are_and_nothing_runs(name: str) -> None:
    panel = TrialsPanel(f"screw,mass [g],turns\n{name},0.5,57\n{name},0.52,57\nB,0.5,57\nB,0.6,57\n")
    assert panel.compared is not None
    for shown in (panel.picture.value, panel.summary.value):
        assert "<script" not in shown
    assert summary_markdown(panel.compared).splitlines()[2].count("|") == 7


def test_the_invented_sets_can_be_shown(capsys: pytest.CaptureFixture[str]) -> None:
    show_trial("two_screws_alike")
    assert len(invented_weighings("two_screws_alike")) == 10
    with pytest.raises(FileNotFoundError):
        show_trial("no_such_set")
