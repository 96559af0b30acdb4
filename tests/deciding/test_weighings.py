"""Weighings read as people write them: every dialect, every mistake with its line, and nothing lost."""

import numpy as np
import pytest
from augerbook.deciding.planning import blocked_order, plan_csv, plan_table
from augerbook.deciding.weighings import MOST_SCREWS, Weighings, WeighingsError, invented_weighings, read_weighings
from hypothesis import given
from hypothesis import strategies as st

from tests.deciding.invented import FOLDER, SETS, Invented, text_of

HEAD = "screw,mass [g],turns\n"


def faults_of(text: str | bytes) -> tuple[str, ...]:
    with pytest.raises(WeighingsError) as caught:
        read_weighings(text)
    return caught.value.faults


# --- dialects


@pytest.mark.parametrize(
    "text",
    [
        "screw,time [min],mass [g],turns\nA,0,0.5,57\nB,5,0.6,57\n",
        "screw;time [min];mass [g];turns\nA;0;0,5;57\nB;5;0,6;57\n",
        "screw\ttime [min]\tmass [g]\tturns\nA\t0\t0,5\t57\nB\t5\t0,6\t57\n",
        'screw,time [min],mass [g],turns\nA,0,"0,5",57\nB,5,"0,6",57\n',
        "turns;Mass (g);SCREW;time [s]\n57;0.5;A;0\n57;0.6;B;300\n",
        "\ufeffscrew;time [h];mass [mg];turns [1]\r\nA;0;500;57\r\n\r\nB;0.08333333333333333;600;57\r\n;;;\r\n",
        "# a note\nscrew,time [min],mass [kg],turns\n  # another\nA,0,5e-4,57\nB,5,6e-4,57.0",
    ],
)
def test_a_trial_is_the_same_in_every_dialect(text: str) -> None:
    found = read_weighings(text)
    assert found.screw == ("A", "B") and found.waiting == ()
    np.testing.assert_allclose(found.mass, [5e-4, 6e-4])
    np.testing.assert_allclose(found.turns, 57)
    np.testing.assert_allclose(found.time, [0, 300])
    assert np.isnan(found.temperature).all() and found.hopper == ("", "")
    np.testing.assert_allclose(found.per_turn, [5e-4 / 57, 6e-4 / 57])


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_bytes_are_read_in_the_codes_that_sheets_write(encoding: str) -> None:
    text = "screw;mass [g];turns;temperature [°C]\nfür ABS;0,5;57;231,5\n"
    found = read_weighings(text.encode(encoding))
    assert found.screw == ("für ABS",) and found.temperature[0] == pytest.approx(504.65)


@pytest.mark.parametrize("data", [b"\xff\xfe\x00", HEAD.encode("utf-16-le"), b"PK\x03\x04\x00", b"A\x81\xff"])
def test_bytes_that_are_no_text_are_told(data: bytes) -> None:
    assert faults_of(data) == ("this is no text: save the table as CSV in UTF-8",)


def test_lines_notes_and_what_is_not_weighed_yet_are_kept() -> None:
    found = read_weighings("# plan of Monday\n" + HEAD + "A,0.5,57\nB,,\n\nA,0.6,57\n")
    assert found.lines == (3, 6) and found.waiting == (4,) and found.notes == ("plan of Monday",)
    assert len(found) == 2 and found.screws == ("A",) and found.of("A").all()


def test_a_screw_may_be_called_by_its_number() -> None:
    found = read_weighings("# plan of Monday\n" + HEAD + "#8,0.53,57\nM4,0.55,57\n# in the evening\n#8,0.54,57\n")
    assert found.screw == ("#8", "M4", "#8") and found.notes == ("plan of Monday", "in the evening")
    head, *rows = plan_csv(blocked_order(["#8", "#10"], 2, seed=1)).partition("\n")[2].splitlines()
    weighed = [",".join([row.split(",")[0], "", "0.53", "57", "", "full", row.split(",")[-1]]) for row in rows]
    assert set(read_weighings("\n".join([head, *weighed])).screw) == {"#8", "#10"}


@pytest.mark.parametrize("separator", [",", ";", "\t"])
def test_a_screw_that_is_called_by_a_number_and_a_word_is_not_taken_for_a_note(separator: str) -> None:
    lines = [["screw", "mass [g]", "turns"], ['"#8, coarse"', "0.53", "57"], ["#8", "0.55", "57"], ['"# a, b"', "", ""]]
    lines += [["#10", "", ""], ['"#8, coarse"', "0.54", "57"]]
    found = read_weighings("\n".join(separator.join(line) for line in lines))
    assert found.screw == ("#8, coarse", "#8", "#8, coarse") and found.waiting == (5,) and found.notes == ("a, b",)
    decimal = read_weighings(HEAD + '#8,"0,53",57\n')
    assert decimal.screw == ("#8",) and decimal.mass[0] == pytest.approx(0.53e-3)


def test_a_weighing_of_a_numbered_screw_with_too_many_cells_is_a_fault_and_no_note() -> None:
    assert faults_of(HEAD + "A,0.5,57\n#8, coarse,0.53,57\n#8,0.5\n")[0].startswith("line 3: 4 cells instead of 3")
    assert read_weighings(HEAD + "A,0.5,57\n#wet\n# a, b, c, d\n# 3, 4\n").notes == ("wet", "a, b, c, d", "3, 4")


def test_a_time_of_the_day_is_read_as_the_sheet_asks_for_it() -> None:
    for unit, scale in (("min", 1.0), ("s", 1.0), ("h", 1.0)):
        found = read_weighings(f"screw,time [{unit}],mass [g],turns\nA,9:58,0.5,57\nA,,0.5,57\nA,10:30:30,0.5,57\n")
        assert found.time[[0, 2]] == pytest.approx(np.array([35880.0, 37830.0]) * scale) and np.isnan(found.time[1])
    (fault,) = faults_of("screw,time [min],mass [g],turns\nA,23:50,0.5,57\nA,0:10,0.5,57\n")
    assert "count on over midnight" in fault
    assert "is no time of the day" in faults_of("screw,time [min],mass [g],turns\nA,9:58,0.5,57\nA,9:71,0.5,57\n")[0]


def test_a_note_that_a_sheet_saved_between_quotation_marks_is_a_note() -> None:
    plan = plan_csv(blocked_order(["#8", "B"], 2, seed=1)).splitlines()
    filled = [row.replace(",,,,,", f",{5 * i},0.5,57,205,") for i, row in enumerate(plan[2:])]
    found = read_weighings("\n".join([f'"{plan[0]}",,,,,,', plan[1], *filled, '"# a, b",,,,,,']))
    assert len(found) == 4 and found.notes == (plan[0].lstrip("# "), "a, b")


@pytest.mark.parametrize(("text", "line"), [('"A,0.5,57\nB,0.6,57\n', 2), ('A,0.5,57\n"B,0.6,57\n', 3)])
def test_an_open_quotation_mark_is_told_by_its_line(text: str, line: int) -> None:
    (fault,) = faults_of(HEAD + text)
    assert fault.startswith(f"line {line}: ") and "quotation mark" in fault


def test_nothing_is_colder_than_the_absolute_zero() -> None:
    (fault,) = faults_of("screw,mass [g],turns,temperature [degC]\nA,0.5,57,200\nA,0.5,57,-400\n")
    assert fault == "line 3, temperature: nothing is colder than -273.15 °C"


def test_hundreds_of_screws_are_another_column() -> None:
    rows = "".join(f"{number},0.5,57\n" for number in range(MOST_SCREWS + 1))
    with pytest.raises(WeighingsError, match="21 names of screws, and at most 20 are compared"):
        read_weighings(HEAD + rows)
    assert len(read_weighings(HEAD + rows.partition("\n")[2]).screws) == MOST_SCREWS


# --- mistakes


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "there is nothing to read"),
        (" \n\t\n# only a note", "there is nothing to read"),
        ("screw,mass [g],turns", "no weighing below it"),
        ("A,0.5,57\nB,0.6,57", "line 1: 'A' is no column known here"),
        ("screw,mass,turns\nA,0.5,57", "line 1, mass: the unit is missing: write 'mass [g]'"),
        ("screw,mass [m],turns\nA,0.5,57", "line 1: mass [m] is in m, but a value in g is expected"),
        ("screw,mass [florps],turns\nA,0.5,57", "mass [florps] is not a unit known here"),
        ("screw,mass [g]\nA,0.5", "line 1: the column 'turns' is missing"),
        ("screw,mass [g],turns,turns\nA,0.5,57,57", "line 1: the column 'turns' stands there twice"),
        (HEAD + "A,0,5,57", "line 2: 4 cells instead of 3; with decimal commas, separate the columns by semicolons"),
        (HEAD + "A,0.5", "line 2: 2 cells instead of 3"),
        (HEAD + "A,-0.5,57", "line 2: a mass of -0.5 g is below zero"),
        (HEAD + "A,0.5,0", "line 2: 0 turns: count the turns"),
        (HEAD + "A,0.5,-3", "line 2: -3 turns"),
        (HEAD + "A,,57", "line 2: the mass is missing"),
        (HEAD + "A,0.5,", "line 2: the turns is missing"),
        (HEAD + ",0.5,57", "line 2: the name of the screw is missing"),
        (HEAD + "0.5,A,57", "line 2, mass: 'A' is not a number: write the number alone"),
        (HEAD + "A,0.5 g,57", "line 2, mass: '0.5 g' is not a number: write the number alone"),
        (HEAD + "A,57,0.5", "line 2: 114 g a turn is no screw of this kind: are mass and turns swapped"),
        (HEAD + "A,1_0,57", "line 2, mass: '1_0' is not a number"),
        (HEAD + "A,nan,57", "line 2, mass: the number is not finite"),
        (HEAD + "A,1e999,57", "line 2, mass: the number is not finite"),
        (HEAD + '"A,0.5,57', "quotation mark"),
        (HEAD + '"A,0.5,57\nB",0.5,57', "quotation mark"),
        ("screw;mass [g];turns\nA;0.5;57\nB;0,6;57", "line 3, mass: '0,6' has a comma, and other numbers of"),
        ('screw,mass [mg],turns\nA,"1,204",57\nB,980.5,57', "line 2, mass: '1,204' has a comma, and other numbers"),
        ("screw;mass [mg];turns;time [min]\nA;1,204;57;0.5", "line 2, mass: '1,204' has a comma, and other numbers"),
        ('screw,mass [mg],turns\nA,980,57\nB,"1,204",57', "line 3, mass: '1,204' may be 1204 or 1.204: write the one"),
        (HEAD + "A,0.5,57\nB\x00,0.5,57", "line 3: the character U+0000 in it cannot be shown"),
        (HEAD + "A,0.5,57\n\nB\ud83d,0.5,57", "line 4: the character U+D83D in it cannot be shown"),
        ("# a\x1b[1m\n" + HEAD + "A,0.5,57", "line 1: the character U+001B in it cannot be shown"),
        (HEAD + "A" * 140_000 + ",0.5,57", "line 2: not a line of CSV"),
        ("screw;mass [g];turns\nA;1.234,5;57", "line 2, mass: '1.234,5' has a comma, and other"),
        ("screw,mass [g],turns,time [min]\nA,0.5,57,5\nB,0.5,57,3", "line 3: its time 3 min lies before the 5 min of"),
        ("screw,mass [g],turns,time [min]\nA,0.5,57,12:30\nA,0.5,57,40", "line 3, time: '40' is no time of the day as"),
        ("screw,mass [g],turns,temperature [degC]\nA,205,57,0.5", "line 2, temperature: 0.5 °C is no block that melts"),
        ("screw,mass [g],turns,temperature [degC]\nA,0.5,57,478", "line 2, temperature: 478 °C is no block that melts"),
        (plan_csv(blocked_order(["A", "B"], 2, seed=1)), "4 weighings are planned and none is filled in"),
    ],
)
def test_a_mistake_is_named_with_its_line_and_what_to_do(text: str, says: str) -> None:
    assert any(says in fault for fault in faults_of(text)), faults_of(text)


def test_all_mistakes_are_told_in_order_and_the_rest_is_counted() -> None:
    faults = faults_of(HEAD + "A,-1,57\nB,0.5,57\n,0.5,57\nA,x,57\n")
    assert [fault.split(":")[0] for fault in faults] == ["line 2", "line 4", "line 5, mass"]
    with pytest.raises(WeighingsError, match="and 988 more lines with faults"):
        read_weighings(HEAD + "A,-1,57\n" * 1000)


def test_a_weighing_that_brought_nothing_and_a_time_that_stands_still_are_taken() -> None:
    found = read_weighings("screw,mass [g],turns,time [min]\nA,0,57,3\nA,0.5,57,3\nA,0.5,57,\nA,0.5,57,4\n")
    assert found.mass[0] == 0 and np.isnan(found.time[2]) and len(found) == 4


@given(st.text(alphabet='screw,mas[g]turn;\t\n0123456789.-#"e\ufeff ', max_size=200))
def test_any_text_is_read_or_refused_with_words(text: str) -> None:
    try:
        assert len(read_weighings(text)) > 0
    except WeighingsError as error:
        assert error.faults and all(error.faults)


@given(
    st.lists(
        st.tuples(
            st.sampled_from(["A", "B; b", 'C "c"', "d, e"]),
            st.floats(1e-6, 2).map(lambda x: float(f"{x:.6g}")),
            st.integers(1, 500),
        ),
        min_size=1,
        max_size=30,
    ).filter(lambda rows: all(1e-6 < mass / turns < 19 for _, mass, turns in rows)),
    st.sampled_from([",", ";", "\t"]),
)
def test_what_is_written_is_read(rows: list[tuple[str, float, int]], separator: str) -> None:
    import csv
    import io

    out = io.StringIO()
    csv.writer(out, delimiter=separator).writerows([["screw", "mass [g]", "turns"], *rows])
    found = read_weighings(out.getvalue())
    assert found.screw == tuple(name for name, _, _ in rows)
    np.testing.assert_allclose(found.mass, [mass * 1e-3 for _, mass, _ in rows], rtol=1e-12)
    np.testing.assert_allclose(found.turns, [turns for _, _, turns in rows])


@pytest.mark.slow
def test_two_hundred_thousand_lines_are_read() -> None:
    random = np.random.default_rng(1)
    masses = 0.5 + 0.01 * random.standard_normal(200_000)
    text = "screw;time [s];mass [g];turns\n" + "".join(
        f"{'AB'[i % 2]};{i};{mass:.4f};57\n".replace(".", ",") for i, mass in enumerate(masses)
    )
    found = read_weighings(text)
    assert len(found) == 200_000 and found.mass.sum() == pytest.approx(1e-3 * masses.sum(), rel=1e-5)


# --- plans and invented sets


def test_a_plan_weighs_every_screw_once_in_each_block_by_lot() -> None:
    plan = blocked_order(["A", "B", "C"], 40, seed=3)
    assert [p.number for p in plan] == list(range(1, 121))
    for block in range(40):
        rows = plan[3 * block : 3 * block + 3]
        assert {p.screw for p in rows} == {"A", "B", "C"} and len({(p.block, p.hopper) for p in rows}) == 1
    first = [plan[3 * block].screw for block in range(40)]
    assert all(6 <= first.count(screw) <= 21 for screw in "ABC"), "who comes first is a matter of chance"
    assert {p.hopper for p in plan} == {"fresh", "half", "low"}
    assert plan == blocked_order(["A", "B", "C"], 40, seed=3) != blocked_order(["A", "B", "C"], 40, seed=4)


def test_a_plan_filled_in_is_read_back() -> None:
    plan = blocked_order(["A", "B"], 3, seed=2, hopper=["full"])
    head, *rows = [line for line in plan_csv(plan).splitlines() if not line.startswith("#")]
    assert head == "screw,time [min],mass [g],turns,temperature [degC],hopper,block"
    filled = "\n".join([head, *(row.replace(",,,,,", f",{5 * i},0.5,57,205,") for i, row in enumerate(rows))])
    found = read_weighings(filled)
    assert found.screw == tuple(p.screw for p in plan) and set(found.hopper) == {"full"}
    assert found.block == tuple(str(p.block) for p in plan) and found.in_blocks
    table = plan_table(plan).splitlines()
    assert len(table) == 5 and all(f"{p.number}: {p.screw}" in table[1 + p.block] for p in plan)


@pytest.mark.parametrize(
    ("screws", "weighings", "hopper", "says"),
    [
        (["A"], 3, ["full"], "two screws or more"),
        (["A", "A "], 3, ["full"], "a name of its own"),
        (["A", " "], 3, ["full"], "a name of its own"),
        (["A", "B"], 0, ["full"], "plan at least 1"),
        (["A", "B"], 6000, ["full"], "at most 10,000"),
        (["A", "B"], 3, [], "state of the hopper"),
    ],
)
def test_a_plan_that_makes_no_sense_is_refused(screws: list[str], weighings: int, hopper: list[str], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        blocked_order(screws, weighings, seed=1, hopper=hopper)


@pytest.mark.parametrize("one", SETS, ids=lambda one: one.name)
def test_the_invented_sets_are_what_they_say(one: Invented) -> None:
    text = (FOLDER / f"{one.name}.csv").read_text(encoding="utf-8")
    assert text == text_of(one) and text.startswith("# Invented")
    found = invented_weighings(one.name)
    assert isinstance(found, Weighings) and found.screws and len(found) == one.weighings * len(one.means)
    assert {path.stem for path in FOLDER.iterdir()} == {each.name for each in SETS}
