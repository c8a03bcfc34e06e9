"""A secret where none belongs is not repeated: nothing told the auditor that it is one."""

from pathlib import Path

import pytest

from tests.secrets.canary import (
    AWKWARD,
    CANARIES,
    NETWORK_NAME,
    OTHER,
    PLAIN,
    Kit,
    quoted,
)
from tests.secrets.forms import leaks
from tests.secrets.runs import runs_of

Q = quoted(AWKWARD.text)
RAW = AWKWARD.text
HEAD = f'[network]\nname = "{NETWORK_NAME}"\nsecurity = "wpa2-personal"\n'
MODULE = '[[module]]\nid = "TG-01"\n'

UNREADABLE = {
    "a key": f"{HEAD}{Q} = 1\n{MODULE}",
    "a key of a module": f"{HEAD}{MODULE}{Q} = 1\n",
    "a key without quotes": f"{HEAD}{PLAIN.text} = 1\n{MODULE}",
    "a key before all tables": f"{Q} = 1\n{HEAD}{MODULE}",
    "a table": f"[{Q}]\n{HEAD}{MODULE}",
    "a table in a table": f"[network.{Q}]\nx = 1\n{MODULE}",
    "a list of tables": f"[[{Q}]]\nx = 1\n{MODULE}",
    "a table that stands twice": f"[{Q}]\n[{Q}]\n{MODULE}",
    "a key that stands twice": f"{HEAD}{Q} = 1\n{Q} = 2\n{MODULE}",
    "a key that is a table too": f"{HEAD}{Q} = 1\n[network.{Q}]\n{MODULE}",
    "a key that was closed": f"x = {{ {Q} = 1 }}\n[x.{Q}]\n{MODULE}",
    "a key of its own table": f"{HEAD}passphrase = {{ {Q} = 1 }}\n{MODULE}",
    "a key behind a point": f"{HEAD}passphrase.{Q} = 1\n{MODULE}",
    "a hardware address": f'[network.ipv4.reservations]\n{Q} = "10.20.0.5"\n{MODULE}',
    "a reserved address": f'[network.ipv4.reservations]\n"00:00:5e:00:53:01" = {Q}\n{MODULE}',
    "an accepted address": f"{HEAD}accept_list = [{Q}]\n{MODULE}",
    "a slip of the mode": f'{HEAD}[defaults]\nsecurity = "our wpa2-personal wall 9"\n{MODULE}',
    "a number with its unit": f'[serial]\nrate = "{PLAIN.text[:4]}"\n{MODULE}',
    "no equals sign": f"{HEAD}passphrase {Q}\n{MODULE}",
    "no value": f"{HEAD}passphrase = \n{Q}\n{MODULE}",
    "no quotes": f"{HEAD}passphrase = {RAW}\n{MODULE}",
    "no quote at the start": f'{HEAD}passphrase = {PLAIN.text}"\n{MODULE}',
    "no quote at the end": f'{HEAD}passphrase = "{PLAIN.text}\n{MODULE}',
    "an escape that is none": f'{HEAD}passphrase = "\\{PLAIN.text}"\n{MODULE}',
    "a control character in it": f'{HEAD}passphrase = "{PLAIN.text}\x01"\n{MODULE}',
    "something behind it": f"{HEAD}passphrase = {Q} {Q}\n{MODULE}",
    "a table that is not closed": f"{HEAD}passphrase = {{ psk = {Q}\n{MODULE}",
    "a comment behind a mistake": f"{HEAD}hidden = # {RAW}\n{MODULE}",
    "a date": f"{HEAD}passphrase = 2026-13-45{PLAIN.text}\n{MODULE}",
    "a number": f"{HEAD}passphrase = 81_234_007_65\n[serial]\nrate = 8123400765\n{MODULE}",
    "a truth": f"{HEAD}hidden = {Q}\n{MODULE}",
    "nested": f"{HEAD}passphrase = {'[' * 40}{Q}{']' * 40}\n{MODULE}",
    "a table for a text": f"{HEAD}[[module]]\nid = {{ {Q} = {Q} }}\n",
    "retired, by mistake": f"{HEAD}retired_passphrases = {{ a = {Q} }}\n{MODULE}",
    "retired, one that is none": f"{HEAD}retired_passphrases = [[{Q}]]\n{MODULE}",
    "a session for a text": f"session = {Q}\n{MODULE}",
    "the whole file": f"{RAW}\n",
}
"""Fleet files that cannot be read, the canary somewhere in them."""

REFERENCES = {
    "a variable": f'passphrase = {{ env = "{PLAIN.text}" }}',
    "a file": f"passphrase = {{ file = {Q} }}",
    "a plain file": f'passphrase = {{ file = "{PLAIN.text}" }}',
}

UNREADABLE_TABLES = {
    "a row too long": f"id,ssid\nTG-01,x,{PLAIN.text}\n",
    "a row too short": f"id,ssid,password\nTG-01,{PLAIN.text}\n",
    "a cell that is too long": f"id,note\nTG-01,{PLAIN.text * 400}\n",
    "a cell that is not closed": f'id,password\nTG-01,"{PLAIN.text}\n',
    "a quote within a cell": f'id,password\nTG-01,"{PLAIN.text}"x\n',
    "a rate": f"id,baud\nTG-01,{PLAIN.text}\nTG-02,{PLAIN.text}\n",
    "an address": f"id,ip\nTG-01,10.20.{PLAIN.text}\n",
    "an address with a length": f"id,ip\nTG-01,{PLAIN.text}/24\n",
    "a netmask": f"id,mask\nTG-01,255.255.{RAW}\n",
    "a year with a word": "id,baud\nTG-01,2026tide\n",
}

HEADERS = {
    "a header": f"id,{PLAIN.text}\nTG-01,x\n",
    "a header like a key": f"id,pass {PLAIN.text}\nTG-01,x\n",
    "no header at all": f"TG-01,{PLAIN.text},key\nTG-02,{PLAIN.text},x\n",
    "a header that stands twice": f"id,{PLAIN.text},{PLAIN.text}\nTG-01,x,y\n",
}
"""Tables whose first row holds the canary instead of names of columns."""

ORDINARY = ("2026tide", "our wpa2-personal wall 9", "81_234_007_65")
"""Passphrases as people choose them, made of what looks like words and numbers of ours."""


def assert_unrepeated(kit: Kit, folder: Path, *, status: tuple[int, ...] = (2,)) -> None:
    """Assert that no command repeats what may be a secret in a kit that cannot be used."""
    for outcome in runs_of(kit, folder):
        assert "fault of the auditor" not in outcome.everything
        assert outcome.status in status, outcome.everything
        assert outcome.stderr or outcome.status != 2
        found = leaks(outcome.everything, RAW, PLAIN.text, CANARIES["digits"].text)
        assert found == set(), outcome.everything
        assert not any(passphrase in outcome.everything for passphrase in ORDINARY)


@pytest.mark.parametrize("text", UNREADABLE.values(), ids=UNREADABLE.keys())
def test_in_a_file_that_cannot_be_read(folder: Path, text: str) -> None:
    assert_unrepeated(Kit({"kit.toml": text}), folder)


@pytest.mark.parametrize("text", UNREADABLE_TABLES.values(), ids=UNREADABLE_TABLES.keys())
def test_in_a_table_that_cannot_be_read(folder: Path, text: str) -> None:
    assert_unrepeated(Kit({"kit.csv": text}, fleet="kit.csv"), folder)
    beside = Kit({"kit.toml": f'[kit]\nmodules = "kit.csv"\n{HEAD}', "kit.csv": text})
    assert_unrepeated(beside, folder)


@pytest.mark.parametrize("text", HEADERS.values(), ids=HEADERS.keys())
def test_in_the_header_of_a_table(folder: Path, text: str) -> None:
    assert_unrepeated(Kit({"kit.csv": text}, fleet="kit.csv"), folder)


@pytest.mark.parametrize("mapping", ["{}=id", "ssid={}"])
def test_in_a_mapping_of_a_header(folder: Path, mapping: str) -> None:
    options = ("--column", mapping.format(PLAIN.text))
    kit = Kit({"kit.csv": "id,ssid\nTG-01,x\n"}, fleet="kit.csv", options=options)
    assert_unrepeated(kit, folder)


@pytest.mark.parametrize("policy", [Q, f'"./{PLAIN.text}"', f'"./{PLAIN.text}.toml"'])
def test_in_the_name_of_a_policy(folder: Path, policy: str) -> None:
    text = f"[kit]\npolicy = {policy}\n{MODULE}"
    assert_unrepeated(Kit({"kit.toml": text}), folder, status=(0, 1, 2))


@pytest.mark.parametrize("line", REFERENCES.values(), ids=REFERENCES.keys())
def test_in_a_reference_that_leads_nowhere(folder: Path, line: str) -> None:
    assert_unrepeated(Kit({"kit.toml": f"{HEAD}{line}\n{MODULE}"}), folder, status=(0, 1))
    own = f'{HEAD}passphrase = "{OTHER}"\n{MODULE}{line}\n'
    assert_unrepeated(Kit({"kit.toml": own}), folder, status=(0, 1))
