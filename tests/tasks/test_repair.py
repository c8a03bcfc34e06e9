"""A repair of the clean kit with faults laid over it: what is changed, what is left, and why."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.examples import ENVIRONMENT, fleet_of, spoiled_text
from auditor.findings import AuditResult
from auditor.models.fleet_file import FleetFile
from auditor.reading.fleet import fleet_of_text, read_fleet
from auditor.tasks.repair.mending import REPAIRABLE
from auditor.tasks.repair.repair import Changed, Edited, Repair, repair, troubles
from auditor.tasks.repair.rewriting import holds_secret, names_other_files, rewritten
from auditor.tasks.repair.trial import Change, Spot, with_changes

audited = partial(audit, checked_at=datetime(2026, 3, 1))


def repaired(lines: str) -> Repair:
    """Return the repair of the clean kit with some lines laid over it."""
    return repair(fleet_of(lines), audited)


def own(lines: str) -> str:
    """Return lines of the second module."""
    return f'[[module]]\nid = "TG-02"\n{lines}\n'


def edits(lines: str) -> list[tuple[int, str, object]]:
    """Return what is written anew."""
    return [(edit.index, edit.key, edit.value) for edit in repaired(lines).edits]


@pytest.mark.parametrize(
    ("check", "line", "key"),
    [
        ("network-name-differs", 'network_name = "saltmarsh-gauge"', "network_name"),
        ("network-name-invalid", f'network_name = "{"a" * 33}"', "network_name"),
        ("security-mode-mismatch", 'security = "open"', "security"),
        ("security-unsupported", 'security = "wpa3-personal"', "security"),
        ("weak-security", 'security = "wpa-wpa2-personal"', "security"),
        ("passphrase-differs", 'passphrase = { env = "OTHER_PASSPHRASE" }', "passphrase"),
        ("passphrase-invalid", 'passphrase = { env = "SHORT_PASSPHRASE" }', "passphrase"),
        ("passphrase-missing", 'passphrase = ""', "passphrase"),
        ("prefix-mismatch", "prefix_length = 28", "prefix_length"),
        ("prefix-mismatch", 'netmask = "255.255.255.240"', "netmask"),
        ("gateway-differs", 'gateway = "10.20.0.2"', "gateway"),
        ("gateway-missing", 'gateway = "none"', "gateway"),
        ("gateway-off-subnet", 'gateway = "10.21.0.1"', "gateway"),
        ("gateway-not-a-host", 'gateway = "10.20.0.255"', "gateway"),
        ("port-mismatch", "listen_port = 4011", "listen_port"),
        ("transport-mismatch", 'transport = "tcp"', "transport"),
        ("serial-rate-differs", "serial_rate = 19200", "serial_rate"),
        ("frame-differs", "data_bits = 7", "data_bits"),
        ("frame-differs", 'parity = "even"', "parity"),
        ("frame-differs", "stop_bits = 2", "stop_bits"),
        ("flow-control-differs", 'flow_control = "rts-cts"', "flow_control"),
        ("message-length-differs", "message_bytes = 25", "message_bytes"),
        ("setting-not-saved", "saved = false", "saved"),
    ],
)
def test_a_value_of_its_own_that_is_wrong_is_taken_out(check: str, line: str, key: str) -> None:
    done = repaired(own(line))
    assert done.edits == (Edited(1, key, None),)
    assert [(change.id, change.check, change.inherits) for change in done.changes] == [
        ("TG-02", check, True)
    ]
    assert done.left == ()


def test_a_destination_that_is_not_meant_is_taken_out() -> None:
    lines = '[[module]]\nid = "TG-01"\ndestination = "10.20.0.10"\n'
    assert edits(lines) == [(0, "destination", None)]


@pytest.mark.parametrize(
    ("check", "address"),
    [
        ("duplicate-static-address", "10.20.0.31"),
        ("static-address-in-pool", "10.20.0.120"),
        ("static-address-off-subnet", "10.21.0.32"),
        ("reserved-address", "10.20.0.1"),
        ("reserved-address", "10.20.0.10"),
        ("special-use-address", "169.254.10.2"),
        ("reservation-conflict", "10.20.0.110"),
    ],
)
def test_an_address_that_cannot_stay_is_set_to_that_of_the_remedy(check: str, address: str) -> None:
    lines = own(f'address = "{address}"')
    (edit,) = repaired(lines).edits
    found = audited(fleet_of(lines)).modules[1].findings
    (remedy,) = (finding.remedy for finding in found if finding.check == check)
    assert (edit.index, edit.key) == (1, "address")
    assert str(edit.value) in remedy


def test_of_two_with_one_address_the_first_keeps_it() -> None:
    assert [edit[:2] for edit in edits(own('address = "10.20.0.31"'))] == [(1, "address")]


def test_a_module_without_an_address_gets_one() -> None:
    done = repaired('[[module]]\nid = "TG-03"\naddressing = "static"\n')
    (change,) = done.changes
    assert (change.key, change.before, change.check) == ("address", None, "static-without-address")


def test_a_right_value_is_set_where_the_default_is_wrong_too() -> None:
    """What the others take from the defaults is left, for it may be meant."""
    lines = "[defaults]\nserial_rate = 19200\n" + own("serial_rate = 4800")
    done = repaired(lines)
    assert [(edit.index, edit.key, edit.value) for edit in done.edits] == [(1, "serial_rate", 9600)]
    assert {each.id for each in done.left} == {"TG-01", "TG-03", "TG-04"}
    assert {each.why.partition(" (")[0] for each in done.left} == {
        "serial_rate is what many modules share"
    }


def test_what_comes_up_behind_a_change_is_mended_too() -> None:
    """A WEP module has a WEP key: with the network's mode it needs the network's passphrase."""
    lines = own('security = "wep-40"\npassphrase = "q7#Zx"')
    assert edits(lines) == [(1, "passphrase", None), (1, "security", None)]


def test_a_change_that_brings_a_fault_is_taken_back() -> None:
    """The module knows no better mode, as its profile says."""
    lines = own('security = "open"\nserial_rate = 19200\nprofile = "wep"')
    file = fleet_of(lines)
    wep = replace_modes(file, "wep")
    done = repair(wep, audited)
    assert [(edit.index, edit.key) for edit in done.edits] == [(1, "serial_rate")]
    assert {(each.id, each.check) for each in done.left} == {
        ("TG-02", "security-mode-mismatch"),
        ("TG-02", "weak-security"),
    }
    assert "To mend security would bring security-unsupported." in {each.why for each in done.left}


def replace_modes(file: FleetFile, name: str) -> FleetFile:
    """Return a fleet in which a profile is the usual one without any WPA."""
    usual = file.module_profiles["generic-24ghz-wpa2"]
    old = usual.model_copy(update={"security": usual.security[:1]})
    return replace(file, module_profiles={**file.module_profiles, name: old})


def test_facts_of_the_world_are_left_for_a_person() -> None:
    lines = own('[module.supply]\ncapacitor_positive_to = "ground"')
    done = repaired(lines)
    assert done.edits == ()
    (left,) = done.left
    assert (left.id, left.check) == ("TG-02", "capacitor-reversed")
    assert "only the bench can tell" in left.why


def test_what_is_waived_is_left_alone() -> None:
    waiver = '[[waiver]]\ncheck = "serial-rate-differs"\nreason = "a bench of its own"\n'
    done = repaired(own("serial_rate = 19200") + waiver)
    assert (done.edits, done.left) == ((), ())


def test_a_secret_is_set_or_differs_and_never_itself() -> None:
    done = repaired(own('passphrase = { env = "OTHER_PASSPHRASE" }'))
    expected = Changed("TG-02", "passphrase", "differs", "set", True, "passphrase-differs")
    assert done.changes == (expected,)
    assert not any(text in repr(done) for text in ENVIRONMENT.values())


def test_many_equal_changes_are_each_kept_for_their_own_reason() -> None:
    lines = "".join(
        f'[[module]]\nid = "TG-{n}"\naddressing = "pooled"\nserial_rate = 4800\nport = 4010\n'
        for n in range(10, 40)
    )
    done = repaired(lines)
    assert {edit.key for edit in done.edits} == {"serial_rate"}
    assert len(done.edits) == 30


TABLE = """\
id,SSID,security,baud,IP
TG-01,saltmarsh-gauges,wpa2-personal,9600,10.20.0.31
TG-02,saltmarsh-gauge,wpa2-personal,9600,10.20.0.32
TG-03,saltmarsh-gauges,wpa2-personal,4800,10.20.0.31
TG-04,saltmarsh-gauges,wpa2-personal,9600,10.20.7.34
"""


def test_without_a_plan_the_odd_one_gets_what_most_have(tmp_path: Path) -> None:
    done = repair(fleet_of_text(TABLE, "kit.csv", {}), audited)
    new = {(edit.index, edit.key): edit.value for edit in done.edits}
    assert new.pop((1, "network_name")) == "saltmarsh-gauges"
    assert new.pop((2, "serial_rate")) == 9600
    assert set(new) == {(2, "address"), (3, "address")}
    assert all(str(value).startswith("10.20.0.") for value in new.values())
    assert done.left == ()


def test_a_table_without_the_column_says_so(tmp_path: Path) -> None:
    (tmp_path / "kit.csv").write_text("id,addressing\nTG-01,static\n", encoding="utf-8")
    (tmp_path / "kit.toml").write_text(
        '[kit]\nmodules = "kit.csv"\n[network]\nipv4 = { subnet = "10.20.0.0/24" }\n',
        encoding="utf-8",
    )
    done = repair(read_fleet("kit.toml", environment={}, within=tmp_path), audited)
    assert done.edits == ()
    assert [each.why for each in done.left if each.check == "static-without-address"] == [
        "The table has no column for an address."
    ]


def test_changes_in_memory_are_what_reading_gives() -> None:
    plain = fleet_of(own('serial_rate = 4800\naddress = "10.20.0.120"'))
    changes = {
        Spot(1, "serial_rate"): Change(None, "x"),
        Spot(1, "address"): Change(fleet_of("").fleet.module[1].address, "x"),
        Spot(2, "saved"): Change(False, "x"),
    }
    expected = fleet_of('[[module]]\nid = "TG-03"\nsaved = false\n')
    tried = with_changes(plain, changes)
    assert troubles(audited(tried)) == troubles(audited(expected))
    assert [tried.entries.says(1, key) for key in ("serial_rate", "address")] == [False, True]


def test_every_repairable_check_exists() -> None:
    from auditor.checks import CHECKS

    assert set(CHECKS) >= REPAIRABLE


class TestFiles:
    @pytest.fixture
    def written(self, tmp_path: Path) -> Callable[[str, str], FleetFile]:
        def write(fleet: str, table: str = "") -> FleetFile:
            (tmp_path / "kit.toml").write_text(fleet, encoding="utf-8")
            if table:
                (tmp_path / "kit.csv").write_text(table, encoding="utf-8")
            return read_fleet(str(tmp_path / "kit.toml"), environment=ENVIRONMENT)

        return write

    def test_a_table_that_is_not_changed_stays_where_it_is(
        self, tmp_path: Path, written: Callable[[str, str], FleetFile]
    ) -> None:
        text = '[kit]\nmodules = "kit.csv"\n[[module]]\nid = "A"\nport = 1\n'
        file = written(text, "id,port\nB,1\n")
        here = rewritten(file, (Edited(0, "port", 2),), {}, str(tmp_path / "new.toml"))
        assert here.files == {str(tmp_path / "new.toml"): text.replace("port = 1", "port = 2")}
        assert here.naming is None

    def test_a_table_goes_along_into_another_folder(
        self, tmp_path: Path, written: Callable[[str, str], FleetFile]
    ) -> None:
        file = written('[kit]\nmodules = "kit.csv"\n', "id,port\nB,1\n")
        there = rewritten(file, (), {}, str(tmp_path / "there" / "new.toml"))
        assert there.files == {
            str(tmp_path / "there" / "new.csv"): "id,port\nB,1\n",
            str(tmp_path / "there" / "new.toml"): '[kit]\nmodules = "new.csv"\n',
        }
        assert there.naming == Changed(None, "kit.modules", "kit.csv", "new.csv", False, None)

    def test_the_rows_of_a_table_come_behind_the_modules_of_the_file(
        self, tmp_path: Path, written: Callable[[str, str], FleetFile]
    ) -> None:
        file = written('kit = { modules = "kit.csv" }\n[[module]]\nid = "A"\n', "id,port\n\nB,1\n")
        new = rewritten(file, (Edited(1, "port", 2),), {}, str(tmp_path / "new.toml")).files
        assert new[str(tmp_path / "new.csv")] == "id,port\n\nB,2\n"

    def test_other_files_and_secrets_are_known(
        self, written: Callable[[str, str], FleetFile]
    ) -> None:
        reference = spoiled_text("")
        in_clear = reference.replace('{ env = "GAUGE_PASSPHRASE" }', '"heron-tidal-ledger-41"')
        in_file = reference.replace('{ env = "GAUGE_PASSPHRASE" }', '{ file = "secret.txt" }')
        noted = reference + f'note = "{ENVIRONMENT["GAUGE_PASSPHRASE"]}"\n'
        assert [names_other_files(written(text, "")) for text in (reference, in_file)] == [
            False,
            True,
        ]
        assert [holds_secret(written(text, ""), [text]) for text in (reference, in_clear)] == [
            False,
            True,
        ]
        assert holds_secret(written(noted, ""), [noted])


def test_a_result_is_asked_for_only_as_often_as_needed() -> None:
    """A clean kit is audited once to know it, once to look for changes, once for the answer."""
    asked: list[FleetFile] = []

    def counting(file: FleetFile) -> AuditResult:
        asked.append(file)
        return audited(file)

    repair(fleet_of(""), counting)
    assert len(asked) <= 3
