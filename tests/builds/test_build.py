import builtins
import os
import pickle
import re
import sys
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from augerbook.builds.build import Build, Entry, usable_rows, within
from augerbook.builds.reader import _BLOCKS, MOST_TOLD, BuildError, _between, name_in
from augerbook.builds.shipped import load_build, read_build, shipped_build, shipped_builds
from augerbook.builds.typed import typed_si
from augerbook.chapters import whole_head
from augerbook.chapters.screw import net_volume
from augerbook.core.network import Network
from augerbook.core.part import Part
from augerbook.core.quantity import Quantity, Series
from augerbook.core.sources import Source
from augerbook.core.subject import Subject
from augerbook.head import part_titles
from augerbook.head.feedstock import loose_density, sieve_mesh
from augerbook.head.screw import core_diameter, flank_half_angle, major_diameter, pitch, standard_screw
from augerbook.head.tube import bore_diameter
from augerbook.tables import read_table
from hypothesis import given
from hypothesis import strategies as st

GOOD = """\
format = 1
name = "toy"

[screw]
standard_screw = "DIN 7998 6"

[tube]
bore_diameter = "8 mm"
"""


def faults(text: str, network: Network | None = None) -> tuple[str, ...]:
    with pytest.raises(BuildError) as caught:
        read_build(text, network)
    assert str(caught.value) == "\n".join(caught.value.faults)
    return caught.value.faults


def the_fault(text: str, network: Network | None = None) -> str:
    found = faults(text, network)
    assert len(found) == 1, found
    return found[0]


# A network of its own, with all kinds of inputs, that does not change with the chapters

TOY = Subject("toy", number=1, title="Toy", question="?")
FEEDSTOCK, SCREW, TUBE, HEATING, PRINTING = (
    Part(name, number=n, title=name) for n, name in enumerate(("feedstock", "screw", "tube", "heating", "printing"))
)
rod = SCREW.given("rod", "d", "mm", "diameter of the rod", 1, 10)
sleeve = TUBE.given("sleeve", "D", "mm", "diameter of the sleeve", 1, 12)
warmth = HEATING.given("warmth", "T", "degC", "temperature of the rod", -20, 300)
turns = PRINTING.given("turns", "N", "1/min", "turns a minute", 0, 100)
grip = SCREW.given("grip", "mu", "1", "friction of the rod", 0.01, 0.9)
material = SCREW.choice("stuff", "what it is made of", {"steel": "hard", "brass": "soft"})
size = Quantity("size", "x", "mm", "size of a grain", low=0, high=5)
share = Quantity("share", "y", "percent", "share by mass", low=0, high=100)
table = FEEDSTOCK.series(
    "grain_table", "sizes and shares", (size, share),
    check=lambda sizes, shares: [] if abs(shares.sum() - 1) < 0.01 else ["the shares do not add up"],
)  # fmt: skip
area = TOY.result("area", "A", "mm**2", "section", positive=True)
lean = TOY.result("lean", "e", "mm", "how far it leans")
TOY.relation("area", area, rod**2, "a square", source=Source("definition"))
TOY.relation("lean", lean, sleeve - rod, "a difference", source=Source("definition"))
SCREW.require(rod, sleeve, "the rod must fit")
NET = Network([TOY], [FEEDSTOCK, SCREW, TUBE, HEATING, PRINTING])

ALL_KINDS = """\
format = 1
name = "all kinds"

[feedstock]
grain_table = [
    ["0 mm", "40 %"],
    ["2 mm", "60 %"],
]

[screw]
grip = { nominal = "0.3", low = "0.2", high = "0.5" }
rod = "6 mm"
stuff = "brass"

[tube]
sleeve = "8 mm"

[heating]
warmth = "200 °C"

[printing]
turns = "30 1/min"

[measured]
area = "35.5 mm²"
"""


# Reading


def test_a_build_is_read_into_si() -> None:
    build = read_build(ALL_KINDS, NET)
    assert build.name == "all kinds" and build.note == ""
    assert build.values[rod] == pytest.approx(0.006)
    assert build.values[warmth] == pytest.approx(473.15)
    assert build.values[turns] == pytest.approx(0.5)
    assert build.values[area] == pytest.approx(35.5e-6)
    assert build.ends == {grip: (0.2, 0.5)}
    assert build.choices == {material: "brass"}
    np.testing.assert_allclose(build.values[table], ([0, 0.002], [0.4, 0.6]))
    assert build.solution[lean] == pytest.approx(0.002)
    assert build.solution[area] == pytest.approx(35.5e-6)  # measured, not 6 mm squared


def test_what_is_written_reads_back_the_same_to_the_letter() -> None:
    assert read_build(ALL_KINDS, NET).toml() == ALL_KINDS
    shuffled = ALL_KINDS.replace('rod = "6 mm"\n', "").replace("grip", 'rod = "0.006 m"\ngrip')
    assert read_build(shuffled, NET).toml() == ALL_KINDS


def test_a_table_fills_in_and_a_value_of_the_build_wins() -> None:
    build = read_build(GOOD)
    assert build.values[pitch] == pytest.approx(0.0026)
    own = read_build(GOOD.replace("[tube]", 'pitch = "2.5 mm"\n\n[tube]'))
    assert own.values[pitch] == pytest.approx(0.0025) and own.values[major_diameter] == pytest.approx(0.006)
    assert own.names[standard_screw] == "DIN 7998 6"


def test_numbers_without_a_unit_need_no_quotes() -> None:
    assert read_build('format = 1\n[screw]\ngrip = 0.3\n[measured]\narea = "1 mm2"', NET).values[grip] == 0.3


@pytest.mark.parametrize("name", shipped_builds())
def test_a_shipped_build_is_sound_and_says_that_it_is_invented(name: str) -> None:
    build = shipped_build(name)
    assert build.name == name and "invented" in build.note
    assert build.clashes() == [] and build.solution[net_volume] > 0
    assert read_build(build.toml()).toml() == build.toml()
    assert all(within(q, v) for q, v in build.values.items() if isinstance(q, Quantity))


def test_a_build_that_does_not_come_along_is_said_with_those_that_do() -> None:
    with pytest.raises(BuildError, match="no build 'ottr' comes with the handbook: take one of 'otter', 'wren'"):
        shipped_build("ottr")


def test_there_are_two_shipped_builds() -> None:
    assert {"otter", "wren"} <= set(shipped_builds())


def test_every_input_belongs_to_a_section() -> None:
    declared = whole_head().declared.values()
    inputs = [item for item in declared if not isinstance(item, Quantity) or item.low is not None]
    assert {item.part for item in inputs} <= set(part_titles())
    assert all(item.part == "" for item in declared if isinstance(item, Quantity) and item.low is None)


# What is wrong with a file is said: the key, the value, what was expected


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        # names
        ('rod = "6 mm"', 'rodd = "6 mm"', ("screw.rodd", '"6 mm"', "no such name", "did you mean 'rod'?")),
        ('rod = "6 mm"', 'zzzzz = "6 mm"', ("screw.zzzzz", '"6 mm"', "expected one of rod, grip, stuff")),
        ('name = "all', 'estimted = []\nname = "all', ("estimted", "did you mean 'estimated'?")),
        ("[tube]", "[tub]", ("[tub]", "no such name", "did you mean '[tube]'?")),
        ('[tube]\nsleeve = "8 mm"', '[screw.tube]\nsleeve = "8 mm"', ("screw.tube", "{ ... }", "no such name")),
        ("[heating]", 'extra = "1"\n[heating]', ("tube.extra", '"1"', "expected one of sleeve")),
        ('name = "all', 'nmae = "x"\nname = "all', ("nmae", '"x"', "did you mean 'name'?")),
        ('name = "all', 'turns = "9 1/min"\nname = "all', ("turns", '"9 1/min"', "belongs in the section [printing]")),
        ('warmth = "200 °C"', 'turns = "9 1/min"', ("heating.turns", '"9 1/min"', "belongs in the section [printing]")),
        ('rod = "6 mm"', 'area = "6 mm²"', ("screw.area", '"6 mm²"', "belongs in the section [measured]")),
        # values
        ('rod = "6 mm"', 'rod = "six mm"', ("screw.rod", '"six mm"', "is not a number with a unit", '"5.5 mm"')),
        ('rod = "6 mm"', 'rod = "6,5 mm"', ("screw.rod", '"6,5 mm"', "decimal point", '"5.5 mm"')),
        ('rod = "6 mm"', 'rod = "6"', ("screw.rod", '"6"', "has no unit", "a value in mm is expected")),
        ('rod = "6 mm"', "rod = 6", ("screw.rod", "= 6 ", "has no unit", "a value in mm is expected")),
        ('rod = "6 mm"', 'rod = "6 kg"', ("screw.rod", '"6 kg"', "is in kg", "a value in mm is expected")),
        ('rod = "6 mm"', 'rod = "6 smurf"', ("screw.rod", '"6 smurf"', "the unit 'smurf', which is not known")),
        ('rod = "6 mm"', 'rod = "nan mm"', ("screw.rod", '"nan mm"', "is not a number")),
        ('rod = "6 mm"', "rod = nan", ("screw.rod", "nan", "is not a number")),
        ('rod = "6 mm"', "rod = inf", ("screw.rod", "inf", "is not a number")),
        ('rod = "6 mm"', 'rod = "1e999 mm"', ("screw.rod", '"1e999 mm"', "is not a finite number")),
        ('rod = "6 mm"', 'rod = "-6 mm"', ("screw.rod", '"-6 mm"', "expected 1 to 10 mm for the diameter of the rod")),
        ('rod = "6 mm"', 'rod = "6 m"', ("screw.rod", '"6 m"', "expected 1 to 10 mm")),
        ('rod = "6 mm"', "rod = true", ("screw.rod", "True", "expected a text such as")),
        ('rod = "6 mm"', 'rod = ["6 mm"]', ("screw.rod", "['6 mm']", "expected a text such as")),
        ('rod = "6 mm"', "rod = 2024-01-01", ("screw.rod", "2024-01-01", "expected a text such as")),
        ('"35.5 mm²"', '"-1 mm²"', ("measured.area", '"-1 mm²"', "expected a value above zero")),
        ('"35.5 mm²"', '"1e300 km**9"', ("measured.area", '"1e300 km**9"', "is in km", "mm² is expected")),
        # spreads
        ('low = "0.2"', 'lo = "0.2"', ("screw.grip", "nominal, lo, high", "exactly the keys nominal, low and high")),
        ('low = "0.2", ', "", ("screw.grip", "nominal, high", "exactly the keys nominal, low and high")),
        ('low = "0.2"', 'low = "0.4"', ("screw.grip", 'low = "0.4"', "expected low <= nominal <= high")),
        ('low = "0.2"', 'low = "0.001"', ("screw.grip.low", '"0.001"', "expected 0.01 to 0.9")),
        ('low = "0.2", high = "0.5"', 'low = "0.3", high = "0.3"', ("screw.grip", "with low < high")),
        # choices
        ('"brass"', '"bras"', ("screw.stuff", '"bras"', "expected one of 'steel', 'brass'", "did you mean 'brass'?")),
        ('"brass"', "[1, 2]", ("screw.stuff", "[1, 2]", "expected one of 'steel', 'brass'")),
        ('stuff = "brass"', "stuff = { a = 1 }", ("screw.stuff", "expected one of 'steel', 'brass'")),
        # short tables
        ('"60 %"', '"50 %"', ("feedstock.grain_table", "the shares do not add up")),
        ('"60 %"', '"60 mm"', ("feedstock.grain_table, row 2", '"60 mm"', "a value in % is expected")),
        ('"2 mm", "60 %"', '"2 mm"', ("feedstock.grain_table, row 2", "['2 mm']", "expected 2 values")),
        ("grain_table = [", "grain_table = 3\nrest = [", ("feedstock.grain_table = 3", "expected rows such as")),
        # the top of the file
        ("format = 1", "format = 2", ("format = 2", "'format = 1'")),
        ("format = 1", "format = true", ("format = True", "'format = 1'")),
        ("format = 1", 'format = "1"', ('format = "1"', "'format = 1'")),
        ("format = 1", "", ("format is missing", "'format = 1'")),
        ('name = "all kinds"', "name = 3", ("name = 3", "expected a text in quotes")),
        ('[tube]\nsleeve = "8 mm"', "", ()),
    ],
)  # fmt: skip
def test_a_fault_names_the_key_the_value_and_what_was_expected(old: str, new: str, words: tuple[str, ...]) -> None:
    assert ALL_KINDS.count(old) == 1
    text = ALL_KINDS.replace(old, new)
    if not words:  # leaving a value out is no fault: the handbook says elsewhere what it needs
        assert sleeve not in read_build(text, NET).values
        return
    found = "\n".join(faults(text, NET))
    for word in words:
        assert word in found
    assert len(found) < 400 * len(faults(text, NET))


def test_a_section_that_is_no_section_is_said() -> None:
    assert the_fault('format = 1\nscrew = "DIN"', NET) == (
        'screw = "DIN": expected a section [screw] with values below it'
    )


def test_sizes_that_cannot_be_together_are_said_with_both_values() -> None:
    text = GOOD.replace("[tube]", 'core_diameter = "6.2 mm"\n\n[tube]').replace('"8 mm"', '"5.5 mm"')
    first, second = faults(text)
    assert first == "core diameter 6.20 mm must be smaller than major diameter 6.00 mm: the flight needs a depth"
    assert (
        second == "major diameter 6.00 mm must be smaller than bore diameter 5.50 mm: the screw must turn in its bore"
    )


def test_a_name_that_no_table_has_is_said_with_the_nearest() -> None:
    assert the_fault(GOOD.replace("7998 6", "7998 66")) == (
        "screw.standard_screw = \"DIN 7998 66\": table screws has no row 'DIN 7998 66'; "
        "did you mean 'DIN 7998 6' or 'DIN 7998 16' or 'DIN 7998 8'?"
    )
    assert "screw.standard_screw = 6: table screws has no row '6'" in the_fault(GOOD.replace('"DIN 7998 6"', "6"))


def test_every_row_of_a_table_either_fits_or_is_refused_with_its_figure() -> None:
    for lookup in whole_head().lookups.values():
        good = set(usable_rows(lookup))
        assert good, lookup
        for name in read_table(lookup.table).rows:
            text = f'format = 1\n[{lookup.part}]\n{lookup.key} = "{name}"'
            if name in good:
                values = read_build(text).values
                assert all(within(q, values[q]) for q in lookup.fills if q in values)
            else:
                (quantity,) = [q for q in lookup.fills if f"its {q.name_in_words} is" in the_fault(text)]
                assert f"expected {quantity.low:g} to {quantity.high:g}" in the_fault(text)


def test_all_faults_are_told_at_once() -> None:
    text = """\
format = 3
colour = "red"
[screw]
rod = "6 kg"
grip = "much"
stuff = "wood"
[tube]
sleeve = "99 mm"
[nozle]
bore = 1
[measured]
area = "0 mm²"
"""
    found = faults(text, NET)
    keys = ("format", "colour", "screw.rod", "screw.grip", "screw.stuff", "tube.sleeve", "[nozle]", "measured.area")
    assert len(found) == len(keys)
    for key in keys:
        assert sum(fault.startswith(key) for fault in found) == 1, key


def test_clashes_are_told_together_with_other_faults() -> None:
    found = faults('format = 1\n[screw]\nrod = "9 mm"\ngrip = "much"\n[tube]\nsleeve = "8 mm"', NET)
    assert len(found) == 2 and found[1].startswith("rod 9.00 mm must be smaller than sleeve 8.00 mm")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "format is missing"),
        ("hello", "this is not a TOML build file"),
        ("format = 1\n[screw\n", "in the line: [screw"),
        ("format = 1\nname = \n", "in the line: name ="),
        ("format = 1\nname = 'a'\nname = 'b'\n", "in the line: name = 'b'"),
        ("format = " + "1" * 5000, "this is not a TOML build file"),
        ("format = 0x" + "F" * 5000, "a whole number in it has too many digits"),
        ("format = 1\n[screw]\nrod = 0x" + "F" * 5000, "a whole number in it has too many digits"),
        ("format = 1\na = " + "[" * 5000, "this is not a TOML build file"),
        ("format = 1\na = " + "[" * 90 + "]" * 90, "nested too deeply"),
        ("format = 1\n[screw]\nrod = [{" + "a." * 90 + "a = 1}]", "nested too deeply"),
        ("format = 1\n[screw]\nrod = [{" + "a." * 3000 + "a = 1}]", "a key has more than 100 parts"),
        ("x" * 70_000, "has 70000 characters"),
    ],
)
def test_what_is_no_build_file_is_said(text: str, words: str) -> None:
    fault = the_fault(text)
    assert words in fault and len(fault) < 300


@pytest.mark.parametrize("text", ["a." * 31_000 + "a = 1", '"a".' * 15_000 + "a = 1", f"[{'a . ' * 150}a]\nb = 1"])
def test_keys_for_which_toml_takes_long_are_refused_before_it_is_asked(
    text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[str] = []
    monkeypatch.setattr(tomllib, "loads", asked.append)
    assert "a key has more than 100 parts" in the_fault(text, NET) and not asked


def test_a_name_of_nothing_but_points_is_no_long_key() -> None:
    pointed = replace(read_build(GOOD), name="-." * 100, note="a." * 100)
    assert read_build(pointed.toml()).toml() == pointed.toml()
    assert name_in(pointed.toml()) == pointed.name


@pytest.mark.parametrize(("mark", "end"), [("[code]", "[/code]"), ("```\n", "```")])
def test_a_post_is_searched_for_blocks_once(mark: str, end: str) -> None:
    class Counted:
        def __init__(self, pattern: re.Pattern[str]) -> None:
            self.pattern, self.read = pattern, 0

        def search(self, text: str, place: int) -> re.Match[str] | None:
            found = self.pattern.search(text, place)
            self.read += (found.end() if found else len(text)) - place
            return found

    for text in (mark * 1000, (mark + end) * 500, end + mark * 1000):
        for patterns in _BLOCKS:
            begins, ends = (Counted(pattern) for pattern in patterns)
            list(_between(text, begins, ends))  # type: ignore[arg-type]
            assert begins.read + ends.read <= 2 * len(text)


def test_long_rubbish_is_cut_in_messages() -> None:
    long = "y" * 50_000
    for text in (
        f'format = 1\n{long} = "1"',
        f'format = 1\n[{long}]\na = "1"',
        f'format = 1\n[screw]\n{long} = "1"',
        f'format = 1\n[screw]\nrod = "{long}"',
        f'format = 1\n[screw]\nstuff = "{long}"',
        f"format = 1\nname = ['{long}']",
        f'format = 1\n[screw]\ngrip = {{ {long} = "1" }}',
        f'format = 1\n[feedstock]\ngrain_table = ["{long}"]',
    ):
        assert len(the_fault(text, NET)) < 400, text[:40]
    assert len(the_fault(f'format = 1\n[screw]\nstandard_screw = "{long}"')) < 3000


def test_of_thousands_of_faults_the_first_are_told_and_all_are_known() -> None:
    text = "format = 1\n[screw]\n" + "".join(f"k{i} = 1\n" for i in range(6000))
    with pytest.raises(BuildError) as caught:
        read_build(text)
    error = caught.value
    assert len(error.faults) == 6000 and error.faults[-1].startswith("screw.k5999 = 1: there is no such name here")
    assert error.told == (*error.faults[:MOST_TOLD], f"and {6000 - MOST_TOLD} more")
    assert str(error) == "\n".join(error.told) and len(str(error)) < 20_000


@pytest.mark.parametrize("count", [MOST_TOLD - 1, MOST_TOLD, MOST_TOLD + 1])
def test_as_many_faults_as_can_be_shown_are_told_one_by_one(count: int) -> None:
    error = BuildError(f"fault {i}" for i in range(count))
    assert len(error.faults) == count and len(error.told) == count
    assert error.told[-1] == ("and 1 more" if count > MOST_TOLD else f"fault {count - 1}")


# Nothing is evaluated, and nothing but BuildError comes out


@pytest.mark.parametrize(
    "value", ["__import__('os').system('true')", "1 mm; import os", "2**9999 mm", "9**9**9**9 mm", "exec('1') mm"]
)
def test_nothing_in_a_build_is_evaluated(value: str, monkeypatch: pytest.MonkeyPatch) -> None:
    called: list[str] = []
    loaded = set(sys.modules)
    with monkeypatch.context() as patched:
        for owner, name in ((builtins, "eval"), (builtins, "exec"), (builtins, "compile"), (os, "system")):
            patched.setattr(owner, name, lambda *_, name=name, **__: called.append(name))
        found = faults(f'format = 1\n[screw]\nrod = "{value}"\ngrip = "{value}"', NET)
    assert called == [] and len(found) == 2 and set(sys.modules) == loaded


scraps = st.sampled_from(
    [
        "format = 1", "[screw]", "[tube]", "[measured]", "rod = ", "grip = ", "stuff = ", "grain_table = ", '"6 mm"',
        '"', "[", "]", "{", "}", "=", ",", "nominal", "low = ", "high = ", "\n", "```", "```toml\n", "[code]",
        "[/code]", "> ", "1e999", "nan", "-", '"""', "#", "brass", "format", "\u00a0", "“", "\ufeff", "\x00",
        "\ud800", "1" * 5000,
    ]
)  # fmt: skip


@given(st.text(max_size=300) | st.lists(scraps | st.text(max_size=8), max_size=40).map("".join))
def test_rubbish_gives_a_build_or_a_build_error(text: str) -> None:
    try:
        build = read_build(text, NET)
    except BuildError as error:
        assert error.faults and all(error.faults)
    else:
        assert read_build(build.toml(), NET).toml() == build.toml()


toml_values = st.recursive(
    st.text(max_size=20) | st.integers() | st.floats() | st.booleans() | st.datetimes(),
    lambda inner: st.lists(inner, max_size=3),
    max_leaves=5,
)


def as_toml(value: object) -> str:
    """Write a value as TOML, good enough for rubbish."""
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    if isinstance(value, str):
        return '"' + "".join(f"\\U{ord(c):08x}" for c in value if not 0xD800 <= ord(c) < 0xE000) + '"'
    return str(value) if isinstance(value, int | float) else value.isoformat()


@given(
    st.dictionaries(st.sampled_from(sorted(NET.declared)), toml_values, max_size=4), st.sampled_from([*part_titles()])
)
def test_rubbish_of_the_right_form_gives_a_build_or_a_build_error(values: dict[str, object], section: str) -> None:
    text = "format = 1\n" + "".join(
        f"[{item.part or 'measured'}]\n{key} = {as_toml(value)}\n"
        for key, value in values.items()
        for item in [NET.declared[key]]
    )
    try:
        read_build(text if len(set(text.splitlines())) == text.count("\n") else text + f"[{section}]", NET)
    except BuildError as error:
        assert all(len(fault) < 700 for fault in error.faults)


# Round trip


def entry(quantity: Quantity) -> st.SearchStrategy[Entry]:
    values = st.floats(quantity.low, quantity.high).map(lambda shown: float(quantity.si(shown)))
    spreads = st.tuples(values, values, values).map(sorted).filter(lambda v: v[2] - v[0] > 1e-9 * (abs(v[2]) + 1e-9))
    return values.map(Entry) | spreads.map(lambda v: Entry(v[1], v[0], v[2]))


@st.composite
def builds(draw: st.DrawFn) -> Build:
    quantities = draw(st.sets(st.sampled_from(NET.inputs)))
    rows = draw(st.lists(st.tuples(st.floats(0, 5), st.floats(0.01, 1)), min_size=1, max_size=5))
    sizes, shares = np.array(rows).T
    return Build(
        name=draw(st.text(max_size=40)),
        note=draw(st.text(max_size=40)),
        entries={q: draw(entry(q)) for q in quantities},
        chosen=draw(st.sampled_from([{}, {material: "steel"}])),
        names={},
        network=NET,
        rows=draw(st.sampled_from([{}, {table: (sizes / 1000, shares / shares.sum())}])),
    )


def same(one: Build, other: Build) -> None:
    assert (one.name, one.note, dict(one.chosen)) == (other.name, other.note, dict(other.chosen))
    assert set(one.entries) == set(other.entries) and set(one.rows) == set(other.rows)
    for quantity, left in one.entries.items():
        right = other.entries[quantity]
        for a, b in ((left.nominal, right.nominal), (left.low, right.low), (left.high, right.high)):
            assert (a is None and b is None) or b == pytest.approx(a, rel=1e-11, abs=1e-14)
    for series, columns in one.rows.items():
        for a, b in zip(columns, other.rows[series], strict=True):
            np.testing.assert_allclose(b, a, rtol=1e-11)


@given(builds())
def test_every_build_survives_being_written_and_read(build: Build) -> None:
    text = build.toml()
    tomllib.loads(text)
    if build.clashes():
        assert set(build.clashes()) == set(faults(text, NET))
        return
    again = read_build(text, NET)
    same(build, again)
    assert again.toml() == text


@given(builds(), st.sampled_from(["markdown", "bbcode", "text", "quoted"]), st.text(max_size=60), st.text(max_size=60))
def test_every_build_survives_a_forum_post(build: Build, form: str, before: str, after: str) -> None:
    if build.clashes():
        return
    text = build.toml()
    before, after = (words.replace("`", "").replace("[", "").replace(">", "") for words in (before, after))
    before = "".join(c for c in before if c.isprintable() or c == "\n").replace("format", "")
    post = {
        "markdown": f"Look: {before}\n\n```toml\n{text}```\n\n{after}",
        "bbcode": f"[b]Look[/b] {before}\n[code]\n{text}[/code]\n{after}",
        "text": f"Look at this, {before}\n\n{text}",
        "quoted": "> Look\n>\n" + "".join(f"> {line}\n" for line in f"```toml\n{text}```".splitlines()) + "\nwell well",
    }[form]
    same(build, read_build(post, NET))


# Posts


@pytest.mark.parametrize(
    "post",
    [
        GOOD,
        "\ufeff" + GOOD,
        GOOD.replace("\n", "\r\n"),
        f"```\n{GOOD}```",
        f"``` TOML\n{GOOD}\n```",
        f"My head:\n```python\nformat(1)\n```\nand\n```toml\n{GOOD}```\nbye",
        f"[CODE]{GOOD}[/CODE]",
        f"[code=toml]\n{GOOD}[/code] thanks [code]other[/code]",
        f"It jams, why?\n\n{GOOD}",
        f"It jams, why?\n\n{GOOD}\n--\nmy signature, sent from a phone\n[b]signature = yes",
        f"It jams, why?\n\n{GOOD.replace(chr(34), '“')}",
        f"It jams, why?\n\n{GOOD.replace(' = ', chr(0xA0) + '=' + chr(0xA0))}",
        "".join(f"> {line}\n" for line in GOOD.splitlines()),
        "wrote:\n" + "".join(f">> {line}\n" for line in f"```toml\n{GOOD}```".splitlines()),
    ],
)
def test_a_pasted_post_loads(post: str) -> None:
    assert read_build(post).toml() == read_build(GOOD).toml()


def test_a_mistake_in_a_pasted_build_is_no_signature() -> None:
    assert 'bore_diameter "8 mm"' in the_fault("It jams, why?\n\n" + GOOD.replace("bore_diameter = ", "bore_diameter "))


def test_a_name_cannot_break_out_of_its_block() -> None:
    build = read_build(GOOD)
    for name in ("```", "[/code]", 'x"\n[screw]\npitch = "1 mm"', "a\\", "\x7f\x00", "“so”", "> format = 1"):
        named = Build(name, name, build.entries, build.chosen, build.names, build.network, build.rows)
        for post in (f"```toml\n{named.toml()}```", f"[code]\n{named.toml()}[/code]", f"so:\n\n{named.toml()}"):
            assert read_build(post).toml() == named.toml()
            assert "\n" not in named.name and named.name


# Changing


def test_the_end_of_a_range_keeps_its_spread_in_any_unit() -> None:
    otter, at = shipped_build("otter"), typed_si(loose_density, "0.08 g/cm**3")
    assert at != loose_density.si(loose_density.low) and within(loose_density, at)
    (low, _), (_, high) = (otter.with_value(loose_density, si).ends[loose_density] for si in (at, 80.0))
    assert low == at and otter.with_value(loose_density, at).ends[loose_density][1] == pytest.approx(high)
    assert loose_density not in otter.with_value(loose_density, 79.0).ends, "nothing beyond the range has a spread"


def test_a_changed_value_keeps_its_spread_in_proportion_and_in_range() -> None:
    build = read_build(ALL_KINDS, NET)
    assert build.with_value(grip, 0.15).entries[grip] == Entry(0.15, 0.1, 0.25)
    assert build.with_value(grip, 0.6).entries[grip] == Entry(0.6, pytest.approx(0.4), 0.9)
    assert build.with_value(grip, 0.9).entries[grip].high == 0.9
    assert build.with_value(rod, 0.007).entries[rod] == Entry(0.007)
    assert build.entries[grip] == Entry(0.3, 0.2, 0.5)


@given(st.floats(0.01, 0.9))
def test_wherever_a_slider_goes_the_build_can_be_saved_and_loaded(value: float) -> None:
    moved = read_build(ALL_KINDS, NET).with_value(grip, value)
    same(moved, read_build(moved.toml(), NET))


def test_another_row_of_a_table_replaces_own_values() -> None:
    own = read_build(GOOD).with_value(pitch, 0.003)
    assert own.values[pitch] == 0.003
    other = own.with_name(standard_screw, "M6")
    assert other.values[pitch] == pytest.approx(0.001) and other.values[core_diameter] == pytest.approx(0.004773)
    assert other.values[bore_diameter] == pytest.approx(0.008)
    assert read_build(other.toml()).toml() == other.toml()


def test_another_choice_and_other_rows_give_a_new_build() -> None:
    build = read_build(ALL_KINDS, NET)
    assert build.with_choice(material, "steel").choices == {material: "steel"}
    rows = (np.array([0.001]), np.array([1.0]))
    np.testing.assert_array_equal(build.with_rows(table, rows).values[table], rows)
    rows[0][0] = 0.002  # whoever gave them goes on with them
    assert build.choices == {material: "brass"} and isinstance(table, Series)


def test_builds_that_are_written_alike_are_one_build_short_tables_too() -> None:
    otter = shipped_build("otter")
    again = read_build(otter.toml())
    assert otter.rows and again is not otter
    assert again == otter and len({again, otter}) == 1
    assert otter.with_value(bore_diameter, 9e-3) != otter and otter != otter.toml()
    assert otter.with_words(note="another") != otter
    (series, columns), *_ = otter.rows.items()
    assert otter.with_rows(series, tuple(column.copy() for column in columns)) == otter


@pytest.mark.parametrize(
    "made",
    [
        lambda build: build,
        lambda build: build.with_value(bore_diameter, 9e-3),
        lambda build: pickle.loads(pickle.dumps(build)),
    ],
)
def test_nobody_writes_into_the_short_tables_that_builds_share(made: Callable[[Build], Build]) -> None:
    for columns in made(shipped_build("otter")).rows.values():
        for column in columns:
            with pytest.raises(ValueError, match="read-only"):
                column *= 2


def test_parts_of_a_build_travel_by_themselves() -> None:
    otter = shipped_build("otter")
    for part in (otter.values, otter.choices, otter.ends):
        assert pickle.loads(pickle.dumps(part)).keys() == part.keys()


@pytest.mark.parametrize("made", [lambda build: build, lambda build: pickle.loads(pickle.dumps(build))])
@pytest.mark.parametrize("part", ["entries", "chosen", "names", "rows", "values", "choices", "ends"])
def test_nobody_writes_into_what_builds_share(made: Callable[[Build], Build], part: str) -> None:
    held = getattr(made(shipped_build("otter")), part)
    with pytest.raises(TypeError, match="does not support item assignment"):
        held[next(iter(held))] = None


def test_angles_need_their_unit() -> None:
    text = GOOD.replace("[tube]", 'flank_half_angle = "0.5"\n\n[tube]')
    assert "has no unit, but a value in ° is expected" in the_fault(text)
    assert read_build(text.replace("0.5", "30°")).values[flank_half_angle] == pytest.approx(np.pi / 6)


def test_own_values_that_are_those_of_the_row_leave_it_not() -> None:
    build = read_build(GOOD)
    assert not build.leaves_row(standard_screw)
    row = build.values
    assert not build.with_value(pitch, row[pitch]).leaves_row(standard_screw)
    assert build.with_value(pitch, 1.01 * row[pitch]).leaves_row(standard_screw)
    spread = read_build(
        GOOD.replace("[tube]", 'pitch = { nominal = "2.6 mm", low = "2.5 mm", high = "2.7 mm" }\n[tube]')
    )
    assert spread.leaves_row(standard_screw)


# Files


def test_a_build_is_saved_and_loaded(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    build = shipped_build("otter").with_value(sieve_mesh, 0.0015)
    build.save(path)
    assert load_build(path).toml() == build.toml() == path.read_text(encoding="utf-8")
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.skipif(sys.platform == "win32", reason="not everybody may make links there")
def test_a_link_stays_one_and_what_it_leads_to_is_written(tmp_path: Path) -> None:
    kept = tmp_path / "kept"
    kept.mkdir()
    shipped_build("wren").save(kept / "mine.toml")
    link = tmp_path / "mine.toml"
    link.symlink_to(kept / "mine.toml")
    shipped_build("otter").save(link)
    assert link.is_symlink() and load_build(kept / "mine.toml").name == "otter"
    assert list(kept.iterdir()) == [kept / "mine.toml"] and set(tmp_path.iterdir()) == {kept, link}


def test_a_saved_build_is_the_same_bytes_on_every_system(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    opened = os.fdopen

    def as_on_windows(handle: int, mode: str, *, encoding: str, newline: str | None = None) -> Any:
        return opened(handle, mode, encoding=encoding, newline="\r\n" if newline is None else newline)

    monkeypatch.setattr(os, "fdopen", as_on_windows)
    shipped_build("otter").save(tmp_path / "mine.toml")
    assert (tmp_path / "mine.toml").read_bytes() == shipped_build("otter").toml().encode()


@pytest.mark.skipif(sys.platform == "win32", reason="who may read a file is said in another way there")
@pytest.mark.parametrize(("mask", "mode"), [(0o022, 0o644), (0o027, 0o640), (0o077, 0o600)])
def test_a_saved_build_may_be_read_by_whom_the_system_lets(tmp_path: Path, mask: int, mode: int) -> None:
    path = tmp_path / "mine.toml"
    before = os.umask(mask)
    try:
        for _ in range(2):  # new, and in place of an earlier one
            shipped_build("otter").save(path)
            assert path.stat().st_mode & 0o777 == mode
    finally:
        os.umask(before)


def test_an_interrupted_save_leaves_the_old_file_and_no_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(GOOD, encoding="utf-8")

    def interrupted(self: Build) -> str:
        raise KeyboardInterrupt

    monkeypatch.setattr(Build, "toml", interrupted)
    with pytest.raises(KeyboardInterrupt):
        shipped_build("otter").save(path)
    monkeypatch.undo()

    def full(self: Path, target: Path) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OSError, match="disk is full"):
        shipped_build("otter").save(path)
    assert path.read_text(encoding="utf-8") == GOOD
    assert list(tmp_path.iterdir()) == [path]


def test_files_that_are_no_builds_are_said(tmp_path: Path) -> None:
    path = tmp_path / "picture.toml"
    path.write_bytes(b"\x89PNG\xff\xfe")
    with pytest.raises(BuildError, match=r"picture\.toml is no text file"):
        load_build(path)
    path.write_text("\ufeff" + GOOD, encoding="utf-8")
    assert load_build(path).name == "toy"
    with pytest.raises(OSError):
        load_build(tmp_path / "none.toml")
