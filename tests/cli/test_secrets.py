"""A passphrase never reaches a stream, whatever else is wrong with the file that holds it."""

from pathlib import Path

import pytest

from tests.cli.running import CLEAN, run

CANARY = "ternhavn-mudflat-9-quartz"
DIGITS = "8123400765"
KEY = "c0ffee" * 10 + "beef"
"""A passphrase of words, one of digits, and a key of 64 hex digits; used nowhere."""

NETWORK = '[network]\nname = "saltmarsh-gauges"\nsecurity = "wpa2-personal"\n'
MODULE = '[[module]]\nid = "TG-01"\n'
OTHER_FAULTS = '[serial]\nrate = "fast"\n[kit]\nprofil = "x"\n'

TOML_FILES = {
    "in its place": NETWORK + f'passphrase = "{CANARY}"\n' + MODULE,
    "in its place, with other problems": NETWORK
    + f'passphrase = "{CANARY}"\n{OTHER_FAULTS}{MODULE}',
    "on a module, differing": NETWORK
    + f'passphrase = "another-one-entirely"\n{MODULE}passphrase = "{CANARY}"\n',
    "in an unknown key": NETWORK + f'passprase = "{CANARY}"\n' + MODULE,
    "in an unknown key of a module": NETWORK + MODULE + f'password = "{CANARY}"\n',
    "retired": NETWORK + f'retired_passphrases = ["{CANARY}"]\n' + MODULE,
    "retired, as a text": NETWORK + f'retired_passphrases = "{CANARY}"\n' + MODULE,
    "retired, in a table": NETWORK + f'retired_passphrases = [{{ psk = ["{CANARY}"] }}]\n' + MODULE,
    "a key of 64 digits": NETWORK + f'passphrase = {{ psk = "{KEY}" }}\n' + MODULE,
    "a key that is too short": NETWORK + f'passphrase = {{ psk = "{KEY[:-3]}" }}\n' + MODULE,
    "a key with a stray letter": NETWORK + f'passphrase = {{ psk = "{KEY[:-1]}x" }}\n' + MODULE,
    "words for a key": NETWORK + f'passphrase = {{ psk = "{CANARY}" }}\n' + MODULE,
    "in an unknown form": NETWORK + f'passphrase = {{ text = "{CANARY}" }}\n' + MODULE,
    "for the name of a variable": NETWORK + f'passphrase = {{ env = "{CANARY}" }}\n' + MODULE,
    "as a list": NETWORK + f'passphrase = ["{CANARY}"]\n' + MODULE,
    "as a number": NETWORK + f"passphrase = {DIGITS}\n" + MODULE,
    "without quotes": NETWORK + f"passphrase = {CANARY}\n" + MODULE,
    "with a quote missing": NETWORK + f'passphrase = "{CANARY}\n' + MODULE,
    "given twice": NETWORK + f'passphrase = "{CANARY}"\npassphrase = "{CANARY}"\n' + MODULE,
    "for a table": f'network = "{CANARY}"\n' + MODULE,
    "for the security": f'[network]\nsecurity = "{CANARY}"\n' + MODULE,
    "for a rate": f'[serial]\nrate = "{CANARY}"\n' + MODULE,
    "digits for a rate": f"[serial]\nrate = {DIGITS}\n" + MODULE,
    "for a duration": f'[network.ipv4]\nlease_time = "8 {CANARY}"\n' + MODULE,
    "for an address": f'{MODULE}address = "{CANARY}"\n',
    "for an address, with a slash": f'{MODULE}address = "{CANARY}/{CANARY}"\n',
    "for an address, in octets": f'{MODULE}address = "10.20.{CANARY}.1"\n',
    "for a netmask": f'{MODULE}netmask = "{CANARY}"\n',
    "for a subnet": f'[network.ipv4]\nsubnet = "{CANARY}/24"\n' + MODULE,
    "for a hardware address": f'{MODULE}hardware_address = "{CANARY}"\n',
    "for a switch": f'{MODULE}saved = "{CANARY}"\n',
    "for a session": f'[[session]]\nname = "a"\nstart = "{CANARY}"\n' + MODULE,
    "for the network's name on a module": NETWORK
    + f'passphrase = "{CANARY}"\n{MODULE}network_name = "{CANARY}"\n',
    "within a note and an id": NETWORK
    + f'passphrase = "{CANARY}"\n[[module]]\nid = "TG {CANARY}"\nnetwork_name = "x {CANARY}"\n',
    "retired, for a profile": NETWORK
    + f'retired_passphrases = ["{CANARY}"]\n{MODULE}profile = "{CANARY}"\n',
    "for a policy": NETWORK + f'passphrase = "{CANARY}"\n[kit]\npolicy = "{CANARY}"\n' + MODULE,
    "for a region": NETWORK + f'passphrase = "{CANARY}"\n[kit]\nregion = "{CANARY}"\n' + MODULE,
    "for a table's name": NETWORK
    + f'passphrase = "{CANARY}"\n[kit]\nmodules = "{CANARY}.csv"\n'
    + MODULE,
}

TABLES = {
    "in its column": f"id,ssid,password\nTG-01,saltmarsh,{CANARY}\nTG-02,saltmarsh,{CANARY}x\n",
    "in the column of the rate": f"id,ssid,baud\nTG-01,saltmarsh,{CANARY}\n",
    "in the column of the mode": f"id,security,password\nTG-01,{CANARY},wpa2\n",
    "in the column of the name": f"id,ssid,password\nTG-01,{CANARY},{CANARY}\nTG-02,marsh,marsh\n",
    "in a row too long": f"id,ssid\nTG-01,saltmarsh,{CANARY}\n",
    "in a row too short": f"id,ssid,baud,password\nTG-01,saltmarsh,{CANARY}\n",
    "in a cell not closed": f'id,password\nTG-01,"{CANARY}\n',
    "in an unknown column": f"id,chocolate\nTG-01,{CANARY}\n",
    "without a header": f"TG-01,saltmarsh,{CANARY}\nTG-02,saltmarsh,{CANARY}\n",
}


def assert_silent(folder: Path, file: str, *options: str) -> None:
    """Assert that nothing of the canaries is written by any command and format."""
    outcomes = [
        run("check", file, "--format", format, *options, folder=folder)
        for format in ("text", "json", "csv")
    ]
    for done in outcomes:
        everything = done.stdout + done.stderr
        assert everything
        assert "this is a fault of the auditor" not in everything
        assert CANARY not in everything
        assert "mudflat" not in everything
        assert DIGITS not in everything
        assert KEY[:20] not in everything


@pytest.mark.parametrize("content", TOML_FILES.values(), ids=TOML_FILES.keys())
def test_a_fleet_file_keeps_its_secret(tmp_path: Path, content: str) -> None:
    (tmp_path / "kit.toml").write_text(content)
    assert_silent(tmp_path, "kit.toml")


@pytest.mark.parametrize("content", TABLES.values(), ids=TABLES.keys())
def test_a_table_keeps_its_secret(tmp_path: Path, content: str) -> None:
    (tmp_path / "kit.csv").write_text(content)
    assert_silent(tmp_path, "kit.csv")


def test_a_secret_of_the_environment_or_a_file_is_kept(tmp_path: Path) -> None:
    for reference in ('env = "GAUGE_PASSPHRASE"', 'file = "secret.txt"'):
        content = f'{NETWORK}passphrase = {{ {reference} }}\n{MODULE}passphrase = "short"\n'
        (tmp_path / "kit.toml").write_text(content)
        (tmp_path / "secret.txt").write_text(CANARY + "\n")
        done = run("check", "kit.toml", folder=tmp_path, environment={"GAUGE_PASSPHRASE": CANARY})
        assert done.returncode == 1, done.stderr
        assert CANARY not in done.stdout + done.stderr


def test_secrets_left_out_are_not_written_either(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(TOML_FILES["within a note and an id"])
    assert_silent(tmp_path, "kit.toml", "--without-secrets")


def test_a_report_names_the_place_of_a_secret_that_it_masks(tmp_path: Path) -> None:
    content = TOML_FILES["for the network's name on a module"]
    (tmp_path / "kit.toml").write_text(content)
    done = run("check", "kit.toml", folder=tmp_path)
    assert "(a passphrase)" in done.stdout
    assert "network_name" in done.stdout


def test_no_partial_file_is_left_with_a_secret(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(CLEAN + f'passphrase = "{CANARY}"\n')
    run("check", "kit.toml", "--output", "missing/report.txt", folder=tmp_path)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["kit.toml"]
