"""Edits of files: a value, a key or a cell is changed, and every other byte stays."""

import csv
import io
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.reading.edits import Edit, Plain, edited
from auditor.reading.table_edits import edited_table
from auditor.reading.toml_edits import edited_toml

MARK = "\ufeff".encode()


def one(text: str, key: str, value: Plain | None, module: int = 0) -> str:
    """Return a fleet file with one key of a module changed."""
    return edited_toml(text.encode(), {("module", module, key): value}).decode()


def test_edits_apply_in_any_order() -> None:
    assert edited(b"abcdef", [Edit(4, 5, b"E"), Edit(0, 1, b""), Edit(2, 2, b"-")]) == b"b-cdEf"


@pytest.mark.parametrize(
    ("before", "value", "after"),
    [
        ("port = 4011 # why\n", 4010, "port = 4010 # why\n"),
        ("  port   =   4011\r\n", 4010, "  port   =   4010\r\n"),
        ("port = '4011'\n", "4010", "port = '4010'\n"),
        ("port = '4011'\n", "it's", 'port = "it\'s"\n'),
        ('"port" = """4011"""\n', 'a"b', '"port" = "a\\"b"\n'),
        ("port = false\n", True, "port = true\n"),
        ("port = 4011\n", 1.5, "port = 1.5\n"),
        ("port = 4011", 4010, "port = 4010"),
    ],
)
def test_a_value_is_changed_in_its_place(before: str, value: Plain, after: str) -> None:
    head = '# kit\n[[module]]\nid = "TG-01"\n'
    assert one(head + before, "port", value) == head + after


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ("port = 4011\n", ""),
        ("  port = 4011  \r\n", ""),
        ("port = 4011 # of last term\n", "# of last term\n"),
        ("  port = 4011\t# of last term\r\n", "  # of last term\r\n"),
        ("# before\nport = 4011\n\n# behind\n", "# before\n\n# behind\n"),
        ('port = { file = "a.txt" }\n', ""),
        ('port = """\n4011\n"""\n', ""),
        ("port = 4011", ""),
        ('port.env = "A" # why\n', "# why\n"),
        ('talks = true\n[module.port]\nenv = "A" # why\n\n[x]\n', "talks = true\n\n[x]\n"),
    ],
)
def test_a_key_goes_with_its_line_and_a_comment_stays(before: str, after: str) -> None:
    head = '[[module]]\nid = "TG-01"\n'
    assert one(head + before, "port", None) == head + after


@pytest.mark.parametrize(
    ("before", "changes", "after"),
    [
        ('{ id = "A", port = 1 }', {"port": None}, '{ id = "A" }'),
        ('{ port = 1, id = "A" }', {"port": None}, '{ id = "A" }'),
        ('{ port = 1, talks = true, id = "A" }', {"port": None, "talks": None}, '{ id = "A" }'),
        ('{ port = 1, id = "A", talks = true }', {"port": None, "talks": None}, '{ id = "A" }'),
        ('{id="A",port=1,talks=true}', {"port": None, "talks": None}, '{id="A"}'),
        ('{id="A",port=1}', {"port": 2}, '{id="A",port=2}'),
        ('{id="A",port=1}', {"saved": True}, '{id="A", saved = true,port=1}'),
    ],
)
def test_modules_in_an_array_keep_their_commas(
    before: str, changes: dict[str, Plain | None], after: str
) -> None:
    paths: dict[tuple[str | int, ...], Plain | None] = {
        ("module", 1, key): value for key, value in changes.items()
    }
    text = 'module = [{ id = "B" }, %s] # all\n'
    assert edited_toml((text % before).encode(), paths).decode() == text % after


@pytest.mark.parametrize("line_end", ["\n", "\r\n"])
def test_a_new_key_stands_behind_the_id(line_end: str) -> None:
    text = '[[module]]\n  id = "A" # label\n  talks = true\n'.replace("\n", line_end)
    new = one(text, "address", "10.20.0.31")
    assert new.split(line_end) == [
        "[[module]]",
        '  id = "A" # label',
        '  address = "10.20.0.31"',
        "  talks = true",
        "",
    ]


def test_a_new_key_behind_the_last_line_of_a_file() -> None:
    assert one('[[module]]\nid = "A"', "port", 1) == '[[module]]\nid = "A"\nport = 1'


def test_modules_are_counted_and_their_inner_tables_are_not_touched() -> None:
    text = '[[module]]\nid = "A"\n[module.controller]\nport = 1\n[[module]]\nid = "B"\nport = 1\n'
    assert one(text, "port", 2, module=1) == text[:-2] + "2\n"


@pytest.mark.parametrize(
    "kit", ["[kit]\nmodules = %s\n", "kit.modules = %s # here\n", "kit = { modules = %s }\n"]
)
def test_the_table_of_a_kit_wherever_it_is_named(kit: str) -> None:
    old = MARK + (kit % '"kit.csv"').encode()
    new = edited_toml(old, {("kit", "modules"): "new ä.csv"})
    assert new == MARK + (kit % '"new ä.csv"').encode()


@given(st.text(st.characters(exclude_categories=["Cs"])))
def test_any_text_is_read_as_it_was_written(text: str) -> None:
    for old in ('"x"', "'x'"):
        new = one(f'[[module]]\nid = "A"\nnetwork_name = {old}\n', "network_name", text)
        assert tomllib.loads(new)["module"][0]["network_name"] == text


def cells(table: str, changes: dict[tuple[int, str], Plain | None], **columns: str) -> str:
    """Return a table with some cells changed."""
    return edited_table(table.encode(), columns, changes).decode()


@pytest.mark.parametrize(
    ("row", "value", "after"),
    [
        ("A,19200,x", None, "A,,x"),
        ("A,19200,x", 9600, "A,9600,x"),
        ('"A","19200","x"', 9600, '"A","9600","x"'),
        ('"A","19200","x"', None, '"A","","x"'),
        ("A, 19200 ,x", 9600, "A, 9600 ,x"),
        ("A,,x", 9600, "A,9600,x"),
        ("A,19200,x", "a,b", 'A,"a,b",x'),
        ("A,19200,x", 'a"b', 'A,"a""b",x'),
        ('"A ""one""",19200,"x,y"', None, '"A ""one""",,"x,y"'),
        ("A,19200", None, "A,"),
    ],
)
def test_a_cell_is_changed_and_no_other(row: str, value: Plain | None, after: str) -> None:
    head = "id,baud" + ",note" * (row.count("x") > 0)
    for line_end in ("\n", "\r\n", "\r"):
        table = line_end.join((head, "B,1" + ",2" * (head.count(",") > 1), row, ""))
        new = cells(table, {(3, "serial_rate"): value})
        assert new == table.replace(row, after)


def test_rows_behind_blank_ones_and_line_ends_in_cells() -> None:
    table = '\r\nlabel;SSID;note\r\n\r\nA;one;"two\r\nlines"\r\n;;\r\nB;one;\r\n'
    new = cells(table, {(4, "network_name"): None, (7, "network_name"): "x"}, label="id")
    assert new == table.replace("A;one", "A;").replace("B;one", "B;x")


def test_blanks_that_mean_something_go_with_the_name() -> None:
    assert cells("id,SSID,port\nA, gauges ,1\n", {(2, "network_name"): None}) == (
        "id,SSID,port\nA,,1\n"
    )


def test_a_mark_stays_first() -> None:
    new = edited_table(MARK + b"id,baud\nA,1\n", {}, {(2, "serial_rate"): None})
    assert new == MARK + b"id,baud\nA,\n"


TEXTS = st.text("ab ,;\t\"'\r\nä", max_size=6)


@given(
    st.lists(st.tuples(TEXTS, TEXTS), min_size=1, max_size=5),
    st.sampled_from([",", ";", "\t"]),
    st.sampled_from([csv.QUOTE_ALL, csv.QUOTE_MINIMAL]),
    TEXTS,
)
def test_a_changed_table_reads_as_it_should(
    rows: list[tuple[str, str]], separator: str, quoting: Any, value: str
) -> None:
    written = io.StringIO(newline="")
    writer = csv.writer(written, delimiter=separator, quoting=quoting)
    writer.writerows([("id", "SSID", "note"), *(("A", *row) for row in rows)])
    table, lines = written.getvalue(), _lines(written.getvalue(), separator)
    new = cells(table, {(lines[-1], "network_name"): value})
    after = list(csv.reader(io.StringIO(new, newline=""), delimiter=separator, strict=True))
    assert after[:-1] == [["id", "SSID", "note"], *(["A", *row] for row in rows[:-1])]
    assert after[-1] == ["A", value, rows[-1][1]]


def _lines(table: str, separator: str) -> list[int]:
    """Return the line on which each row begins."""
    reader, before, lines = csv.reader(io.StringIO(table, newline=""), delimiter=separator), 0, []
    for _ in reader:
        lines.append(before + 1)
        before = reader.line_num
    return lines
