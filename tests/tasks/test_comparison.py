"""A planned kit beside what was found: states, changes, and where each stops a module."""

from datetime import datetime
from functools import partial

import pytest

from auditor.audit import audit
from auditor.examples import ENVIRONMENT, clean_text, fleet_of, spoiled_text
from auditor.findings import AuditResult, Stage
from auditor.models.fleet_file import FleetFile
from auditor.reading.fleet import fleet_of_text
from auditor.reading.problems import UnusableError
from auditor.tasks.comparison import Change, Comparison, State, comparison
from auditor.tasks.differences import KEYS

audited = partial(audit, checked_at=datetime(2026, 3, 1))
RETIRED = 'retired_passphrases = [{ env = "LAST_TERM_PASSPHRASE" }]\n'
LAST_TERM = ENVIRONMENT["LAST_TERM_PASSPHRASE"]
ADDRESSES = [f"00:00:5e:00:53:0{n}" for n in range(1, 5)]


def table(*rows: str, header: str = "id,hardware_address,address") -> FleetFile:
    """Return the modules of a table."""
    return fleet_of_text("\n".join((header, *rows, "")), "found.csv", {})


def compared(found: FleetFile, planned: str = "") -> Comparison:
    """Return what differs from the clean kit, with some lines laid over it."""
    return comparison(fleet_of(planned), found, audited)


def states(result: Comparison) -> dict[str, State]:
    return {module.id: module.state for module in result.modules}


def changes(result: Comparison, id: str) -> dict[str, Change]:
    """Return the changes of a module by their keys."""
    (module,) = (module for module in result.modules if module.id == id)
    return {change.key: change for change in module.changes}


def breaks(key: str, value: str, planned: str = "") -> str | None:
    """Return at which stage a value stops the second module of the clean kit."""
    result = compared(table(f"TG-02,{value}", header=f"id,{key}"), planned)
    assert list(changes(result, "TG-02")) == [key]
    return changes(result, "TG-02")[key].breaks


def test_a_kit_is_as_planned_beside_itself() -> None:
    result = compared(fleet_of(""))
    assert set(states(result).values()) == {State.SAME}
    assert not result.differs
    assert (result.not_read, result.unresolved, result.matched) == ({}, (), 4)


def test_what_was_not_read_out_is_not_compared_and_is_named() -> None:
    result = compared(table("TG-01,,", "TG-02,,", "TG-03,,", "TG-04,,"))
    assert not result.differs
    assert result.not_read["hardware_address"] == 4
    assert result.not_read["address"] == 2  # two lease theirs
    assert result.not_read["serial_rate"] == 4
    assert not {"profile", "holder", "note", "controller.divisor"} & set(result.not_read)


def test_a_fleet_file_that_was_found_has_its_own_plan() -> None:
    found = fleet_of('[network]\nname = "mudflat-gauges"\n[serial]\nrate = 19200')
    result = compared(found)
    for module in result.modules:
        assert [change.key for change in module.changes] == ["network_name", "serial_rate"]
        assert [change.breaks for change in module.changes] == ["discovery", "serial"]


def test_missing_and_extra_are_two_radios_with_one_label() -> None:
    other = "02:00:5e:00:53:99"
    result = compared(
        table(f"TG-01,{other},", *(f"TG-0{n},{ADDRESSES[n - 1]}," for n in (2, 3, 4)))
    )
    assert [(module.id, module.state) for module in result.modules] == [
        ("TG-01", State.MISSING),
        ("TG-02", State.SAME),
        ("TG-03", State.SAME),
        ("TG-04", State.SAME),
        ("TG-01", State.EXTRA),
    ]
    assert [result.modules[at].hardware_address for at in (0, -1)] == [ADDRESSES[0], other]


def test_exchanged_labels_are_relabelled_and_other_changes_are_listed_too() -> None:
    result = compared(
        table(f"TG-04,{ADDRESSES[2]},9600", f"TG-03,{ADDRESSES[3]},19200",
              header="id,hardware_address,serial_rate")
    )  # fmt: skip
    assert states(result) == {
        "TG-01": State.MISSING,
        "TG-02": State.MISSING,
        "TG-03": State.RELABELLED,
        "TG-04": State.RELABELLED,
    }
    assert changes(result, "TG-03") == {"id": Change("id", "TG-03", "TG-04")}
    assert changes(result, "TG-04")["serial_rate"] == Change(
        "serial_rate", 9600, 19200, Stage.SERIAL
    )


def test_one_label_on_two_boards_breaks_the_record() -> None:
    result = compared(table(f"TG-03,{ADDRESSES[2]},", f"TG-03,{ADDRESSES[3]},"))
    assert states(result)["TG-03"] is State.SAME
    assert changes(result, "TG-04") == {"id": Change("id", "TG-04", "TG-03", Stage.RECORD)}


@pytest.mark.parametrize(
    ("key", "value", "stage"),
    [
        ("network_name", "saltmarsh-gauges2", "discovery"),
        ("security", "open", "admission"),
        ("passphrase", "plover-anchor-basalt-meadow-58", "keys"),
        ("address", "10.21.0.32", None),  # it still gets limited broadcasts: a risk
        ("address", "10.20.0.33", None),
        ("address", "10.20.0.120", None),  # in the pool: a risk
        ("address", "10.20.0.31", "address"),  # that of TG-01, which was not found elsewhere
        ("transport", "tcp", "delivery"),
        ("listen_port", "4011", "delivery"),
        ("serial_rate", "19200", "serial"),
        ("parity", "even", "serial"),
        ("message_bytes", "25", "message"),
        ("transmit_power", "14 dBm", None),
        ("saved", "no", None),  # a risk
        ("profile", "no-such-module", "record"),
        ("supply.common_ground", "no", "power"),
        ("controller.rx_pin.digital", "no", "serial"),
    ],
)
def test_a_change_breaks_what_the_audit_says_of_it(key: str, value: str, stage: str | None) -> None:
    assert breaks(key, value) == stage


def test_what_a_change_breaks_hangs_on_the_plan() -> None:
    to_the_logger = '[traffic]\nintent = "unicast"\ndestination = "10.20.0.10"\ntalkers = ["TG-02"]'
    assert breaks("address", "10.21.0.32", to_the_logger) == "address"


def test_what_was_broken_before_is_not_broken_by_another_value() -> None:
    wrong = '[[module]]\nid = "TG-02"\nserial_rate = 4800'
    assert breaks("serial_rate", "19200", wrong) is None
    assert breaks("serial_rate", "9600", wrong) is None


def test_what_was_accepted_on_purpose_breaks_nothing() -> None:
    waiver = '[[waiver]]\ncheck = "serial-rate-differs"\nmodules = ["TG-02"]\nreason = "a test rig"'
    assert breaks("serial_rate", "19200", f"{waiver}\n") is None


def test_exchanged_addresses_are_in_nobodys_way() -> None:
    rows = (f"TG-01,{ADDRESSES[0]},10.20.0.32", f"TG-02,{ADDRESSES[1]},10.20.0.31")
    result = compared(table(*rows))
    assert changes(result, "TG-01") == {"address": Change("address", "10.20.0.31", "10.20.0.32")}
    assert changes(result, "TG-02")["address"].breaks is None


def test_two_that_drifted_to_one_address_are_in_each_others_way() -> None:
    result = compared(table("TG-01,,10.20.0.40", "TG-02,,10.20.0.40"))
    assert changes(result, "TG-01")["address"].breaks == "address"
    assert changes(result, "TG-02")["address"].breaks == "address"


def test_a_lease_is_no_setting() -> None:
    assert states(compared(table("TG-03,,10.20.0.104")))["TG-03"] is State.SAME
    found = table("TG-02,pooled,10.20.0.104", header="id,addressing,address")
    assert changes(compared(found), "TG-02") == {
        "addressing": Change("addressing", "static", "pooled")
    }


def test_an_address_goes_with_being_static() -> None:
    def stage(address: str) -> str | None:
        found = table(f"TG-03,static,{address}", header="id,addressing,address")
        return changes(compared(found), "TG-03")["addressing"].breaks

    assert stage("10.20.0.40") is None
    assert stage("10.20.0.31") == "address"
    assert stage("") == "address"  # static, and no address


def test_a_passphrase_is_compared_by_its_key() -> None:
    """IEEE 802.11i-2004, H.4.1: the digits are the key of the passphrase for the name."""
    from auditor.compute.keys import derived_key

    key = derived_key(ENVIRONMENT["GAUGE_PASSPHRASE"], "saltmarsh-gauges").hex()
    found = table(f"TG-01,{key}", f"TG-02,{key[:-1]}{'0' if key[-1] != '0' else '1'}",
                  header="id,passphrase")  # fmt: skip
    result = compared(found)
    assert states(result)["TG-01"] is State.SAME
    change = Change("passphrase", "set", "differs", Stage.KEYS)
    assert changes(result, "TG-02") == {"passphrase": change}


def test_a_passphrase_from_last_term_is_said_to_be_one() -> None:
    planned = fleet_of_text(
        clean_text().replace("[network.ipv4]\n", f"{RETIRED}[network.ipv4]\n", 1),
        "kit.toml",
        ENVIRONMENT,
    )
    found = table(f"TG-02,{LAST_TERM}", header="id,passphrase")
    change = changes(comparison(planned, found, audited), "TG-02")["passphrase"]
    assert change == Change("passphrase", "set", "differs", Stage.KEYS, is_retired=True)
    assert not changes(compared(found), "TG-02")["passphrase"].is_retired


def test_a_passphrase_that_cannot_be_read_is_not_compared_and_said_once() -> None:
    planned = fleet_of_text(clean_text(), "kit.toml", {})
    found = table(f"TG-01,{LAST_TERM}", f"TG-02,{LAST_TERM}", header="id,passphrase")
    result = comparison(planned, found, audited)
    assert result.unresolved == ("environment variable GAUGE_PASSPHRASE is not set",)
    assert states(result)["TG-01"] is State.SAME
    assert not result.without_secrets


def test_a_netmask_is_a_prefix_length() -> None:
    result = compared(table("TG-01,255.255.255.0", "TG-02,255.255.0.0", header="id,netmask"))
    assert states(result)["TG-01"] is State.SAME
    assert changes(result, "TG-02")["prefix_length"] == Change("prefix_length", 24, 16)


def test_people_are_not_compared() -> None:
    assert not {"holder", "note", "hardware_address", "netmask"} & set(KEYS)
    found = table("TG-01,Robin,lent out", header="id,holder,note")
    assert states(compared(found))["TG-01"] is State.SAME


def test_a_bare_table_is_no_network() -> None:
    """Rows that agree with each other plan nothing for a row that is blank there."""
    found = table("TG-01,saltmarsh-guages", "TG-02,saltmarsh-guages", "TG-03,", header="id,ssid")
    result = compared(found)
    assert states(result)["TG-03"] is State.SAME
    assert changes(result, "TG-01")["network_name"].breaks == "discovery"


@pytest.mark.parametrize("modules", [3, 300])
def test_there_is_an_audit_a_key_whatever_the_number_of_modules(modules: int) -> None:
    asked: list[str] = []

    def counted(file: FleetFile) -> AuditResult:
        asked.append(file.file)
        return audited(file)

    plan = '[network]\nname = "saltmarsh-gauges"\nsecurity = "open"\n[serial]\nrate = 9600\n'
    rows = "".join(
        f'[[module]]\nid = "TG-{n}"\naddress = "10.20.{n // 200}.{n % 200 + 1}"\n'
        for n in range(modules)
    )
    planned = fleet_of_text(plan + rows, "kit.toml", {})
    drifted = (f"TG-{n},10.30.{n // 200}.{n % 200 + 1},{9600 + n + 1}" for n in range(modules))
    result = comparison(planned, table(*drifted, header="id,address,serial_rate"), counted)
    assert {module.state for module in result.modules} == {State.DRIFTED}
    assert len(asked) == 3


def problems(planned: FleetFile, found: FleetFile) -> list[str]:
    with pytest.raises(UnusableError) as failure:
        comparison(planned, found, audited)
    return [str(problem) for problem in failure.value.problems]


def test_what_stands_twice_is_a_problem_with_both_lines() -> None:
    found = table("TG-01,,", f"TG-02,{ADDRESSES[1]},", "TG-01,,", f"TG-05,{ADDRESSES[1]},")
    assert problems(fleet_of(""), found) == [
        f'found.csv:5: hardware_address: "{ADDRESSES[1]}" stands on line 3 too; one radio has one '
        "row: keep the one that was read last, or correct it",
        'found.csv:4: id: "TG-01" stands on line 2 too; nothing tells the two apart: give '
        "hardware_address in both files, or keep one of them",
    ]


def test_what_is_planned_twice_is_a_problem_too() -> None:
    text = spoiled_text("") + '[[module]]\nid = "TG-09"\nhardware_address = "00:00:5e:00:53:01"\n'
    (problem,) = problems(fleet_of_text(text, "kit.toml", ENVIRONMENT), table("TG-01,,"))
    assert problem.startswith("kit.toml:")
    assert "stands on line" in problem


def test_a_kit_that_was_found_twice_over_says_each_entry_once() -> None:
    rows = [f"TG-0{n},," for n in (1, 2, 3, 4)] * 3
    assert len(problems(fleet_of(""), table(*rows))) == 4
    assert " and 1 times more; " in problems(fleet_of(""), table(*rows))[0]
