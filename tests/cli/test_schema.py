"""`auditor schema`: what editors are told, beside what the reading takes and refuses."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from auditor.checks import CHECKS
from auditor.cli.choices import DocumentKind
from auditor.demo import FLEET, FOLDER
from auditor.examples import spoiled_text
from auditor.models import fleet, profile
from auditor.models.forms import Table
from auditor.models.meanings import meanings
from auditor.models.words import OTHER_SPELLINGS, Security
from auditor.reading.profiles import FOLDERS, KINDS, shipped_folder
from auditor.tasks.schema import schema
from tests.cli.running import CLEAN, run
from tests.json_documents import as_json, misfits
from tests.policy import THRESHOLDS

SHIPPED = [
    (kind, path)
    for kind, table in KINDS.items()
    for path in sorted((shipped_folder() / FOLDERS[table]).glob("*.toml"))
]
EXAMPLES = [id for id, check in CHECKS.items() if not check.example.startswith("id,")]
TABLES = [
    each
    for room in (fleet, profile)
    for each in vars(room).values()
    if isinstance(each, type) and issubclass(each, Table) and each is not Table
]


@pytest.mark.parametrize("kind", DocumentKind)
def test_a_schema_is_one(tmp_path: Path, kind: str) -> None:
    done = run("schema", kind, folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    written = json.loads(done.stdout)
    assert written["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    Draft202012Validator.check_schema(written)
    assert done.stdout == run("schema", kind, folder=tmp_path).stdout


def test_the_usual_schema_is_of_a_fleet_file(tmp_path: Path) -> None:
    assert json.loads(run("schema", folder=tmp_path).stdout) == schema("fleet")


def test_a_schema_is_written_to_a_file_that_is_free(tmp_path: Path) -> None:
    asked = ("schema", "region", "--output", "region.json")
    assert run(*asked, folder=tmp_path).returncode == 0
    before = (tmp_path / "region.json").read_bytes()
    again = run(*asked, folder=tmp_path)
    assert (again.returncode, again.stdout) == (2, "")
    assert "--force replaces it" in again.stderr
    assert run(*asked, "--force", folder=tmp_path).returncode == 0
    assert (tmp_path / "region.json").read_bytes() == before
    assert json.loads(before) == schema("region")


def test_there_is_no_schema_of_anything_else(tmp_path: Path) -> None:
    done = run("schema", "kit", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert len(done.stderr.splitlines()) == 1


def test_the_demo_fits() -> None:
    assert misfits("fleet", tomllib.loads((FOLDER / FLEET).read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("id", EXAMPLES)
def test_every_example_of_the_catalogue_fits(id: str) -> None:
    assert misfits("fleet", tomllib.loads(spoiled_text(CHECKS[id].example))) == []


@pytest.mark.parametrize(("kind", "path"), SHIPPED, ids=lambda each: getattr(each, "stem", each))
def test_every_shipped_profile_fits(kind: str, path: Path) -> None:
    assert misfits(kind, tomllib.loads(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.__name__)
def test_every_key_has_a_meaning(table: type[Table]) -> None:
    said = meanings(table)
    assert set(said) == set(table.model_fields)
    assert all(text.endswith(".") and "\n" not in text for text in said.values())


REFUSED = [
    ("[serial]\nrate = -1", "$.serial.rate"),
    ("[serial]\nrate = 9600.5", "$.serial.rate"),
    ("[serial]\nrate = true", "$.serial.rate"),
    ('[serial]\nrate = "9600 baud"', "$.serial.rate"),
    ("[serial]\ndata_bits = 10", "$.serial.data_bits"),
    ("[serial]\nstop_bits = 3", "$.serial.stop_bits"),
    ('[serial]\nparity = "evn"', "$.serial.parity"),
    ("[traffic]\nport = 70000", "$.traffic.port"),
    ("[network]\nchannel = 0", "$.network.channel"),
    ("[network]\nname = 7", "$.network.name"),
    ('[network]\nhidden = "perhaps"', "$.network.hidden"),
    ('[network]\nband = "6 GHz"', "$.network.band"),
    ('[network]\nsecurity = "wpa2-persnal"', "$.network.security"),
    ("[network]\npassphrase = 12345678", "$.network.passphrase"),
    ('[network]\npassphrase = { variable = "NAME" }', "$.network.passphrase"),
    ('[network]\npassphrase = { env = "A", file = "b" }', "$.network.passphrase"),
    ('[network]\npassphrase = { env = "not a name" }', "$.network.passphrase"),
    ("[network]\npassphrase = {}", "$.network.passphrase"),
    ('[traffic]\ndestination = "192.168.1.999"', "$.traffic.destination"),
    ('[traffic]\ndestination = "10.0.0.1/24"', "$.traffic.destination"),
    ('[traffic]\ndestination = "::1"', "$.traffic.destination"),
    ("[traffic]\nmessage_interval = 5", "$.traffic.message_interval"),
    ('[traffic]\nmessage_interval = "5"', "$.traffic.message_interval"),
    ('[network.ipv4]\nlease_time = "8 hours"', "$.network.ipv4.lease_time"),
    ('[network.ipv4]\nsubnet = "10.20.0.0"', "$.network.ipv4.subnet"),
    ('[network.ipv4]\npool = { first = "10.20.0.9" }', "$.network.ipv4.pool"),
    ('[network.ipv4.reservations]\n"00:00" = "10.20.0.9"', "$.network.ipv4.reservations"),
    ("[controller]\nclock = 8000000", "$.controller.clock"),
    ("[controller]\noversampling = 5", "$.controller.oversampling"),
    ('[[waiver]]\ncheck = "x"\nreason = "y"\nuntil = "soon"', "$.waiver[0].until"),
    ('[[waiver]]\ncheck = "weak-security"', "$.waiver[0]"),
    ('[[session]]\nname = "A"\nstart = 2026-03-02T09:00:00Z\nend = 2026-03-02\nmodules = "all"',
     "$.session[0].start"),
    ("[netwrok]\nchannel = 6", "$"),
    ("[network]\nchanel = 6", "$.network"),
    ("[network.ipv4]\ngate = 6", "$.network.ipv4"),
    ("[kit]\nformat = 2", "$.kit.format"),
    ("kit = 5", "$.kit"),
    ("network = []", "$.network"),
    ('[[module]]\naddress = "10.20.0.31"', "$.module[0]"),
    ('[[module]]\nid = "TG-01"\nhardware_address = "00:00:5e:00:53"',
     "$.module[0].hardware_address"),
    ('[[module]]\nid = "TG-01"\nnetmask = "255.255.255.256"', "$.module[0].netmask"),
]  # fmt: skip


@pytest.mark.parametrize(("lines", "where"), REFUSED)
def test_what_the_reading_refuses_for_its_form_is_marked(
    tmp_path: Path, lines: str, where: str
) -> None:
    (said, *_) = misfits("fleet", tomllib.loads(lines))
    assert said.startswith(f"{where}: ")
    module = "" if "[[module]]" in lines else '\n[[module]]\nid = "TG-01"\n'
    (tmp_path / "kit.toml").write_text(lines + module, encoding="utf-8")
    assert run("check", "kit.toml", folder=tmp_path).returncode == 2


@pytest.mark.parametrize(
    ("kind", "lines", "where"),
    [
        ("module", 'title = "a"\nstandards = ["802.11z"]', "$.standards"),
        ("module", 'title = "a"\n[channels]\n"6 GHz" = [1]', "$.channels"),
        ("module", 'title = "a"\n[indicator]\njoined = "flashing"', "$.indicator.joined"),
        ("module", 'title = "a"\n[indicator]\njoined = { rate = "1 Hz" }', "$.indicator.joined"),
        ("module", 'about = "a"', "$"),
        ("controller", 'title = "a"\ndivisor_rule = "n-1"', "$.divisor_rule"),
        ("policy", f'title = "a"\n{THRESHOLDS}[severities]\nweak-security = "grave"',
         "$.severities['weak-security']"),
        ("policy", f'title = "a"\n{THRESHOLDS}[severities]\nweak-securty = "off"', "$.severities"),
        ("region", 'code = "AQ"\nname = "a"\nsource = "b"\nrule = [{ low_mhz = 1 }]', "$.rule[0]"),
    ],
)  # fmt: skip
def test_what_is_refused_in_a_profile_is_marked(
    tmp_path: Path, kind: str, lines: str, where: str
) -> None:
    (said, *_) = misfits(kind, tomllib.loads(lines))
    assert said.startswith(f"{where}: ")
    (tmp_path / "own.toml").write_text(lines, encoding="utf-8")
    assert run("profiles", "own.toml", "--kind", kind, folder=tmp_path).returncode == 2


def _enums(value: Any) -> set[Any]:
    return {word for form in value["anyOf"] for word in form.get("enum", ())}


def test_an_editor_can_complete_words_and_names() -> None:
    known = schema("fleet")["$defs"]
    assert _enums(known["Security"]) == set(Security)
    waiver, kit = known["Waiver"]["properties"], known["Kit"]["properties"]
    assert _enums(waiver["check"]) == set(CHECKS)
    assert {"GB", "DE"} <= _enums(kit["region"])
    assert "strict" in _enums(kit["policy"])
    assert "generic-24ghz-wpa2" in _enums(known["ModuleEntry"]["properties"]["profile"])
    assert set(schema("policy")["properties"]["severities"]["properties"]) == set(CHECKS)


def test_a_name_of_ones_own_fits_too() -> None:
    lines = CLEAN.replace("[kit]", '[kit]\nprofile = "profiles/own.toml"\nregion = "ours.toml"')
    assert misfits("fleet", tomllib.loads(lines)) == []


@pytest.mark.parametrize("word", OTHER_SPELLINGS[Security])
def test_a_word_of_the_trade_fits(word: str) -> None:
    assert misfits("fleet", {"network": {"security": f"{word[:3]}-{word[3:]}".upper()}}) == []


def test_every_key_is_explained_to_an_editor() -> None:
    documents = [schema(kind) for kind in DocumentKind]
    every = [table for each in documents for table in (each, *each.get("$defs", {}).values())]
    keys = [value for table in every for value in table.get("properties", {}).values()]
    assert len(keys) > 200
    assert all(value["description"].endswith(".") for value in keys)
    assert "null" not in json.dumps(documents)


def test_dates_are_handed_over_as_rfc_3339_writes_them() -> None:
    """RFC 3339, section 5.6, without the offset: the times are local."""
    times = tomllib.loads("start = 2026-03-02T09:00:00\nuntil = 2026-12-18")
    assert as_json(times) == {"start": "2026-03-02T09:00:00", "until": "2026-12-18"}
