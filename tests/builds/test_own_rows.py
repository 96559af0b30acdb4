"""Tables of a maker's own: rows beside the builds, taken into builds that others can read."""

from pathlib import Path

import pytest
from augerbook.builds.named import CHANGED
from augerbook.builds.own_rows import (
    OwnTables,
    own_file,
    own_header,
    read_own_tables,
    rows_offered,
    tables_looked_up,
)
from augerbook.builds.shipped import read_build, shipped_build
from augerbook.chapters import whole_head
from augerbook.core.quantity import Quantity
from augerbook.head.bearing import ball_count, bearing, bearing_bore, bearing_kind, static_rating
from augerbook.head.plate import plate_material, plate_youngs_modulus
from augerbook.head.screw import crest_width, major_diameter, pitch, screw_material, standard_screw
from augerbook.page.session import Session
from augerbook.tables import read_table, rows_typed

HEAD = "name,major_diameter [mm],core_diameter [mm],pitch [mm],flank_half_angle [deg],crest_width [mm]"


def tables(folder: Path, table: str, text: str) -> OwnTables:
    (folder / own_file(table)).write_text(text, encoding="utf-8")
    return read_own_tables(folder, whole_head())


def test_a_folder_without_any_offers_none(tmp_path: Path) -> None:
    assert read_own_tables(tmp_path, whole_head()) == OwnTables({}, {}, ())
    assert next(iter(rows_offered(standard_screw, {}))) == "DIN 7998 3"


def test_a_screw_of_ones_own_is_taken_and_its_figures_travel(tmp_path: Path) -> None:
    own = tables(
        tmp_path,
        "screws",
        f"{HEAD}\nshed screw,0.24,4.1,2.7,30,0.1\n".replace("major_diameter [mm]", "major_diameter [inch]"),
    )
    assert own.faults == () and own.files == {"my_screws.csv": ("shed screw",)}
    session = Session(shipped_build("otter"))
    session.take_own(own.rows)
    session.set_name(standard_screw, "shed screw")
    assert session.build.values[major_diameter] == pytest.approx(0.24 * 25.4e-3)
    text = session.build.toml()
    assert "shed screw" not in text and 'pitch = "2.7 mm"' in text and "standard_screw" not in text
    assert session.build.name == "otter" + CHANGED
    elsewhere = Session(shipped_build("wren"))  # has no such file
    assert elsewhere.load_text(text) and elsewhere.build.toml() == text
    assert elsewhere.build.values[major_diameter] == pytest.approx(session.build.values[major_diameter])
    session.set_name(standard_screw, "DIN 7998 6")
    assert session.build.toml() == shipped_build("otter").toml()


def test_a_bearing_takes_its_kind_along_and_loses_what_the_row_does_not_know(tmp_path: Path) -> None:
    header = own_header("bearings")
    columns = header.split(",")
    known = {"name": "drawer 8", "kind": "deep groove", "bore [mm]": "8", "outside_diameter [mm]": "22",
             "width [mm]": "7", "static_rating [N]": "1300", "dynamic_rating [N]": "3200"}  # fmt: skip
    line = ",".join(known.get(column, "") for column in columns)
    own = tables(tmp_path, "bearings", f"{header}\n{line}\n")
    assert own.faults == ()
    session = Session(shipped_build("otter"))
    assert session.build.choices[bearing_kind] == "thrust ball" and ball_count in session.build.values
    session.take_own(own.rows)
    session.set_name(bearing, "drawer 8")
    build = session.build
    assert build.choices[bearing_kind] == "deep groove" and ball_count not in build.values
    assert build.values[bearing_bore] == pytest.approx(0.008) and build.values[static_rating] == pytest.approx(1300)
    assert read_build(build.toml()).choices == build.choices
    assert build.has_row(bearing, own.rows[bearing]["drawer 8"])
    assert not build.with_value(static_rating, 1200).has_row(bearing, own.rows[bearing]["drawer 8"])
    assert not shipped_build("otter").has_row(bearing, own.rows[bearing]["drawer 8"])


def test_a_material_is_offered_wherever_a_material_can_be_named(tmp_path: Path) -> None:
    own = tables(tmp_path, "materials", f"{own_header('materials')}\nshed brass,100,0.33,8500,200,110,380,300,\n")
    assert own.faults == () and {plate_material, screw_material} <= set(own.rows)
    assert own.rows[plate_material]["shed brass"].si("youngs_modulus") == pytest.approx(100e9)
    build = shipped_build("otter").with_row(plate_material, own.rows[plate_material]["shed brass"])
    assert build.values[plate_youngs_modulus] == pytest.approx(100e9) and plate_material not in build.names


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name,pitch [mm]\nx,1\n", "my_screws.csv, line 1, column 'major_diameter': found no such column"),
        (f"{HEAD}\nx,6,4,zwei,30,0.1\n", "my_screws.csv, line 2, column 'pitch': found 'zwei'"),
        (f"{HEAD}\n\nx,6,4,2\n", "my_screws.csv, line 3: found 4 cells, expected 6"),
        (f"{HEAD}\nx,6,4,2,30,0.1\nx,6,4,2,30,0.1\n", "line 3, column 'name': found 'x' again"),
        (f"{HEAD}\nM6,6,4,2,30,0.1\n", "my_screws.csv, line 2, 'M6': a row of the handbook has this name"),
        (f"{HEAD}\nx,6,4,900,30,0.1\n", "my_screws.csv, line 2, 'x': its pitch is 900 mm, expected"),
        (f"{HEAD}\nx,,,,,\n", "line 2, 'x': the row tells nothing"),
        (f"{HEAD},noise [dB]\nx,6,4,2,30,0.1,60\n", "line 1, column 'noise': found the unit 'dB'"),
        (f"{HEAD},odd [mm**9**9**9]\nx,6,4,2,30,0.1,6\n", "line 1, column 'odd': found the unit 'mm**9**9**9'"),
        (HEAD.replace("pitch [mm]", "pitch [kg]") + "\nx,6,4,2,30,0.1\n", "column 'pitch': found the unit 'kg'"),
        (HEAD.replace("pitch [mm]", "pitch") + "\nx,6,4,2,30,0.1\n", "column 'pitch': found a column without unit"),
        (HEAD.replace("angle [deg]", "angle [1]") + "\nx,6,4,2,30,0.1\n", "column 'flank_half_angle': found the unit"),
    ],
)
def test_faults_are_told_by_line_and_the_other_lines_are_taken(tmp_path: Path, text: str, words: str) -> None:
    own = tables(tmp_path, "screws", text)
    assert any(words in fault for fault in own.faults), own.faults
    good = tables(tmp_path, "screws", text + "good,6,4,2,30,0.1\n") if text.startswith(f"{HEAD}\n") else None
    if good is not None and len(own.faults) == 1:
        assert "good" in good.rows[standard_screw] and len(good.faults) == 1


def test_a_fault_in_the_first_line_is_told_where_it_stands(tmp_path: Path) -> None:
    own = tables(tmp_path, "screws", "\n\nname,pitch [mmm]\nx,1\n")
    assert "my_screws.csv, line 3, column 'pitch': found the unit 'mmm'" in own.faults[0]


def test_a_name_that_cannot_be_shown_costs_its_line(tmp_path: Path) -> None:
    own = tables(tmp_path, "screws", f"{HEAD}\nodd\x01,6,4,2,30,0.1\ngood,6,4,2,30,0.1\n")
    assert "my_screws.csv, line 2: the character U+0001" in own.faults[0] and list(own.rows[standard_screw]) == ["good"]


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "cp1252"])
def test_a_table_is_read_in_the_codes_that_sheets_write(tmp_path: Path, encoding: str) -> None:
    (tmp_path / "my_screws.csv").write_bytes(f"{HEAD}\nHolzschraube für Bär,6,4,2,30,0.1\n".encode(encoding))
    assert list(read_own_tables(tmp_path, whole_head()).rows[standard_screw]) == ["Holzschraube für Bär"]


def test_a_kind_that_there_is_not_is_told(tmp_path: Path) -> None:
    columns = own_header("bearings").split(",")
    line = ",".join({"name": "b", "kind": "needle", "bore [mm]": "8"}.get(column, "") for column in columns)
    own = tables(tmp_path, "bearings", f"{own_header('bearings')}\n{line}\n")
    assert "line 2, 'b': its bearing kind is 'needle', expected one of 'deep groove', 'thrust ball'" in own.faults[0]


def test_files_that_are_no_tables_are_told(tmp_path: Path) -> None:
    (tmp_path / "my_screws.csv").write_bytes(b"\xff\xfe\x00")
    (tmp_path / "my_melts.csv").write_bytes(b"x" * 300_000)
    own = read_own_tables(tmp_path, whole_head())
    assert {fault.partition(":")[0] for fault in own.faults} == {"my_screws.csv", "my_melts.csv"}
    assert any("is no text" in fault for fault in own.faults) and any("300 kB" in fault for fault in own.faults)
    assert own.rows == {} and set(own.files.values()) == {()}


@pytest.mark.parametrize("table", tables_looked_up(whole_head()))
def test_the_header_that_is_shown_reads_the_rows_of_the_table_itself(table: str, tmp_path: Path) -> None:
    """Own columns are those of the shipped table: its rows, under other names, come back figure by figure."""
    columns = [column.name for column in read_table(table).columns if column.name != "provenance"]
    lines = [
        ",".join(f'"{"own " if column == "name" else ""}{row.text(column)}"' for column in columns)
        for row in read_table(table).rows.values()
    ]
    own = tables(tmp_path, table, "\n".join([own_header(table), *lines]))
    for lookup in tables_looked_up(whole_head())[table]:
        for name, row in rows_offered(lookup, {}).items():
            mine = own.rows[lookup][f"own {name}"]
            assert {column: mine.si(column) for column in lookup.fills.values()} == {
                column: row.si(column) for column in lookup.fills.values()
            }


def test_a_table_of_a_spreadsheet_in_european_dress_is_read() -> None:
    rows, faults = rows_typed("\ufeffName;Pitch [mm];note\nmine 8,80;2,5;from the drawer, 2nd\n", {"pitch": "mm"})
    assert not faults and rows["mine 8,80"].si("pitch") == pytest.approx(2.5e-3)
    assert rows["mine 8,80"].text("note") == "from the drawer, 2nd"
    _, told = rows_typed('name,pitch [mm]\nmine,"2,5"\n', {"pitch": "mm"})
    assert "line 2, column 'pitch': found '2,5'" in told[0]


def test_a_row_may_lack_what_is_not_known(tmp_path: Path) -> None:
    own = tables(tmp_path, "screws", f"{HEAD}\nx,6,4,2,30,\n")
    build = shipped_build("otter").with_row(standard_screw, own.rows[standard_screw]["x"])
    assert crest_width not in build.values and build.values[pitch] == pytest.approx(0.002)
    assert isinstance(pitch, Quantity)


def test_a_bearing_without_a_kind_is_told(tmp_path: Path) -> None:
    columns = [column for column in own_header("bearings").split(",") if column != "kind"]
    line = ",".join({"name": "b", "bore [mm]": "8"}.get(column, "") for column in columns)
    own = tables(tmp_path, "bearings", f"{','.join(columns)}\n{line}\n")
    assert own.faults[0].startswith("my_bearings.csv, line 2, 'b': ") and "no column 'kind'" in own.faults[0]
    assert bearing not in own.rows
