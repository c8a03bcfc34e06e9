"""Input that cannot be used: status 2, one line a problem, nothing on standard output."""

from pathlib import Path

import pytest

from tests.cli.running import CLEAN, run

HEADER = "id,address,serial_rate\n"


def problems(folder: Path, file: str, *more: str) -> list[str]:
    """Return the problem lines of a file that cannot be used."""
    done = run("check", file, *more, folder=folder)
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    assert done.returncode == 2, done.stderr
    lines = done.stderr.splitlines()
    assert lines
    assert all(line.isprintable() for line in lines)
    return lines


def written(folder: Path, content: str | bytes, name: str = "kit.toml") -> str:
    """Write a file and return its name."""
    data = content.encode() if isinstance(content, str) else content
    (folder / name).write_bytes(data)
    return name


def test_a_missing_file(tmp_path: Path) -> None:
    assert problems(tmp_path, "kit.toml") == ["kit.toml: there is no such file"]


def test_a_folder(tmp_path: Path) -> None:
    (tmp_path / "kit").mkdir()
    assert problems(tmp_path, "kit") == ["kit: is a folder; name the fleet file in it"]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        pytest.param(b"", "kit.toml: is empty", id="empty"),
        pytest.param(b" \n\t\n", "kit.toml: is empty", id="blanks"),
        pytest.param(b"\x7fELF\0\xff\xfe\0", "kit.toml: is a binary file, not a text", id="binary"),
        pytest.param(
            CLEAN.encode("utf-16"),
            "kit.toml: is written in UTF-16; save it as UTF-8",
            id="utf-16",
        ),
        pytest.param(
            '[kit]\nname = "Gezeitenpegel Wattküste"'.encode("latin-1"),
            "kit.toml:2: byte 34 is not UTF-8; save the file as UTF-8",
            id="latin-1",
        ),
    ],
)
def test_a_file_that_is_no_text(tmp_path: Path, content: bytes, said: str) -> None:
    assert problems(tmp_path, written(tmp_path, content)) == [said]


def test_a_file_of_200_mib_is_not_read(tmp_path: Path) -> None:
    with (tmp_path / "kit.toml").open("wb") as file:
        file.truncate(200 * 2**20)
    assert problems(tmp_path, "kit.toml") == ["kit.toml: has 200 MiB; the limit is 4 MiB"]


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ('[kit]\nname = "Tide', "kit.toml:2: column 13: is not TOML"),
        ("[kit]\nname\n", "kit.toml:2: column 5: is not TOML"),
        ('[kit]\nname = "a"\nname = "b"', "kit.toml:3: name: stands twice"),
        ("[[session]]\nstart = 2026-02-30T09:00:00", "kit.toml:2: column 9: is not TOML"),
        ("[kit\n", "kit.toml:1: column 5: is not TOML"),
    ],
)
def test_toml_errors_give_line_and_column(tmp_path: Path, lines: str, said: str) -> None:
    (line,) = problems(tmp_path, written(tmp_path, lines))
    assert line.startswith(said)


@pytest.mark.parametrize(
    ("line", "meant"),
    [
        ("hidden = yes", "write true or false"),
        ("name = \u201csaltmarsh\u201d", 'write straight quotation marks, as in "broadcast"'),
        ("name = saltmarsh", 'a word stands in quotation marks, as in "broadcast"'),
        ("band = 2.4 GHz", 'more than a number stands in quotation marks, as in "8 MHz"'),
        ('name = "saltmarsh', "the quotation mark before is not closed"),
        ("[network ipv4]", "the parts of a name are joined by dots"),
    ],
)
def test_toml_errors_say_what_is_probably_meant(tmp_path: Path, line: str, meant: str) -> None:
    (said,) = problems(tmp_path, written(tmp_path, f"[network]\n{line}\nchannel = 6\n"))
    assert said.startswith("kit.toml:2: column ")
    assert said.endswith(f"; {meant}")


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("x = " + "[" * 100_000, id="open arrays"),
        pytest.param("x = " + "{ a = " * 100_000, id="open tables"),
        pytest.param("x = " + "[" * 100_000 + "]" * 100_000, id="arrays"),
        pytest.param("x = " + "{ a = " * 20_000 + "1" + "}" * 20_000, id="tables"),
        pytest.param(".".join("a" * 50_000) + " = 1", id="a key of many parts"),
        pytest.param("[" + ".".join("a" * 50_000) + "]", id="a table of many parts"),
        pytest.param("[[" + ".".join("a" * 50_000) + "]]", id="an array of many parts"),
    ],
)
def test_deep_nesting(tmp_path: Path, text: str) -> None:
    (line,) = problems(tmp_path, written(tmp_path, text))
    assert "nested too deeply" in line


@pytest.mark.parametrize(
    ("lines", "key", "said"),
    [
        ("[serial]\nrate = -1", "rate", "out of range"),
        ("[serial]\nrate = 99999999999999999999", "rate", "out of range"),
        ("[serial]\nrate = 9600.5", "rate", "not a whole number"),
        ("[serial]\nrate = inf", "rate", "not a number"),
        ("[serial]\nrate = true", "rate", "not a quantity"),
        ("[traffic]\nport = 70000", "port", "1 to 65535"),
        ("[network]\nchannel = 0", "channel", "1 to 233"),
        ('[traffic]\ndestination = "192.168.1.999"', "destination", "192.168.1.999"),
        ('[traffic]\ndestination = "10.0.0.1/24"', "destination", 'write "10.0.0.1" here'),
        ('[traffic]\ndestination = "::1"', "destination", "IPv6"),
        ("[traffic]\nmessage_interval = 5", "message_interval", "no unit"),
        ('[traffic]\nmessage_interval = "5"', "message_interval", "no unit"),
        ('[network.ipv4]\nlease_time = "8 hours"', "lease_time", 'the unit "hours"'),
        ('[network.ipv4]\nlease_time = "9999999999 h"', "lease_time", "ten years"),
        ('[network.ipv4]\nsubnet = "10.20.0.1/24"', "subnet", '"10.20.0.0/24"'),
        ("[controller]\nclock = 8000000", "clock", "no unit"),
        ('[controller]\nclock = "' + "9" * 5000 + ' MHz"', "clock", ""),
        ('[[waiver]]\ncheck = "x"\nreason = "y"\nuntil = "soon"', "until", "is not a date"),
        ('[network]\nsecurity = "wpa2-persnal"', "security", "did you mean wpa2-personal?"),
        ("[netwrok]\nchannel = 6", "netwrok", "did you mean network?"),
        ("[serial]\nbaudrate = 9600", "baudrate", "did you mean rate?"),
        ('[defaults]\nSSID = "saltmarsh"', "SSID", "did you mean network_name?"),
        ('[traffic]\ndestination = "10,20,0,1"', "destination", "did you mean 10.20.0.1?"),
        ('[traffic]\ndestination = "10.20.0.1O"', "destination", "did you mean 10.20.0.10?"),
        ('[serial]\nrate = "19,200"', "rate", 'has a comma for a point; write it like "9600 Bd"'),
        ('[controller]\nclock = "8,0 MHz"', "clock", 'write it like "8 MHz"'),
        (
            '[network.ipv4]\nlease_time = "8 hrs"',
            "lease_time",
            'has the unit "hrs"; known here are',
        ),
        ("kit = 5", "kit", "is not a table"),
        ("module = 5", "module", "is not a list"),
        ("network = []", "network", "is not a table"),
        ("[kit]\nformat = 2", "format", "the only format"),
    ],
)
def test_values_that_do_not_fit(tmp_path: Path, lines: str, key: str, said: str) -> None:
    (line,) = problems(
        tmp_path,
        written(
            tmp_path,
            f'{lines}\n[[module]]\nid = "TG-01"\n' if not lines.startswith("module") else lines,
        ),
    )
    assert f" {key}: " in line
    assert said in line


def test_all_problems_are_said_at_once_in_the_order_of_the_lines(tmp_path: Path) -> None:
    lines = '[serial]\nrate = 0\nparity = "odd one"\n[[module]]\nid = "TG-01"\nport = 0\n'
    found = problems(tmp_path, written(tmp_path, lines))
    assert [line.split(":")[1] for line in found] == ["2", "3", "6"]


def test_no_modules(tmp_path: Path) -> None:
    (line,) = problems(tmp_path, written(tmp_path, '[kit]\nname = "Tide gauges"\n'))
    assert line.startswith("kit.toml: has no modules")


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (HEADER + "TG-01,10.20.0.31\n", "kit.csv:2: the row has 2 cells and the header 3"),
        (HEADER + "TG-01,10.20.0.31,9600,7\n", "kit.csv:2: the row has 4 cells and the header 3"),
        (HEADER + '"TG-01,10.20.0.31,9600\n', "kit.csv:2: a quoted cell begins here"),
        ("id,id\nTG-01,TG-02\n", 'kit.csv:1: "id" and "id" both mean id'),
        ("address\n10.20.0.31\n", "kit.csv:1: no column says which module a row is"),
        ("colour,shape\nred,round\n", "kit.csv:1: no header is known"),
        (HEADER, "kit.csv: has no modules"),
        (f"id,note\nTG-01,{'x' * 10**6}\n", "kit.csv:2: note: the cell has 1000000 characters"),
        ("id,hardware_address\nTG-01,00:00:5e:00:53\n", "kit.csv:2: hardware_address: "),
        ("id,adress\nTG-01,10.20.0.31\n", 'kit.csv:1: column 2: "adress" is not a known header'),
    ],
)
def test_tables_that_do_not_fit(tmp_path: Path, table: str, said: str) -> None:
    (line,) = problems(tmp_path, written(tmp_path, table, "kit.csv"))
    assert line.startswith(said)


def test_of_twenty_columns_the_seventeen_unknown_ones_are_named(tmp_path: Path) -> None:
    known = ["id", "IP", "baud"]
    unknown = [f"inventory {letter}" for letter in "abcdefghijklmnopq"]
    table = ",".join(known + unknown) + "\nTG-01,10.20.0.31,9600" + "," * 17 + "\n"
    found = problems(tmp_path, written(tmp_path, table, "kit.csv"))
    assert len(found) == 17
    options = [part for heading in unknown for part in ("--column", f"{heading}=")]
    assert run("check", "kit.csv", *options, folder=tmp_path).returncode != 2


def test_control_characters_are_escaped(tmp_path: Path) -> None:
    lines = CLEAN + '[[module]]\nid = "TG-\\u001b[31m03\\u202e"\naddress = "10.20.0.31"\n'
    done = run("check", written(tmp_path, lines), folder=tmp_path)
    assert "\x1b" not in done.stdout + done.stderr
    assert "\u202e" not in done.stdout + done.stderr
    assert "\\x1b" in done.stdout
    table = "id,se\x1b[31mrial\nTG-01,1\n"
    (line,) = problems(tmp_path, written(tmp_path, table, "kit.csv"))
    assert "\\x1b" in line


def test_a_table_beside_the_fleet_is_named_in_its_problems(tmp_path: Path) -> None:
    (tmp_path / "kits").mkdir()
    written(tmp_path, '[kit]\nmodules = "kit.csv"\n', "kits/kit.toml")
    (line,) = problems(tmp_path, "kits/kit.toml")
    assert line == 'kits/kit.toml:2: modules: "kits/kit.csv": there is no such file'
    written(tmp_path, "id,port\nTG-01,none\n", "kits/kit.csv")
    (line,) = problems(tmp_path, "kits/kit.toml")
    assert line.startswith('kits/kit.csv:2: port: "none" is not a number')


def test_options_that_do_not_fit(tmp_path: Path) -> None:
    file = written(tmp_path, "id,IP\nTG-01,10.20.0.31\n", "kit.csv")
    assert problems(tmp_path, file, "--column", "IP") == [
        '--column: "IP" is not of the form "Their header=our_key"'
    ]
    assert problems(tmp_path, file, "--column", "IP=adress") == [
        '--column: "adress" is not a known key; did you mean address?'
    ]
    assert problems(tmp_path, file, "--column", "Board=id") == [
        '--column: "Board" is not a header of the table'
    ]
    assert problems(tmp_path, file, "--only", "duplicate-module-ids") == [
        '--only: "duplicate-module-ids" is not a check; did you mean duplicate-module-id?'
    ]
    (line,) = problems(tmp_path, file, "--policy", "strickt")
    assert line.startswith('--policy: "strickt" is not a known policy')


def test_a_date_that_is_no_number_of_seconds(tmp_path: Path) -> None:
    file = written(tmp_path, CLEAN)
    for wrong in ("yesterday", "9" * 30):
        done = run("check", file, folder=tmp_path, environment={"SOURCE_DATE_EPOCH": wrong})
        assert done.returncode == 2
        assert done.stderr.startswith("SOURCE_DATE_EPOCH: ")


@pytest.mark.parametrize("name", ["x" * 300, "a\\u0000b", "a\\u001bb"])
@pytest.mark.parametrize("key", ["modules", "profile", "policy", "region"])
def test_names_that_no_file_has(tmp_path: Path, key: str, name: str) -> None:
    lines = CLEAN.replace("[kit]", f'[kit]\n{key} = "{name}.toml"')
    done = run("check", written(tmp_path, lines), folder=tmp_path)
    assert "this is a fault of the auditor" not in done.stderr
    assert done.returncode in (1, 2)
    assert "\x1b" not in done.stdout + done.stderr
