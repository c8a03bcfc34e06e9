"""What to do, in which order, to bring a kit back to its plan; and what a run leaves over."""

from datetime import datetime
from functools import partial

import pytest

from auditor.audit import audit
from auditor.checks.power import CAUTION
from auditor.models.fleet_file import FleetFile
from auditor.reading.fleet import fleet_of_text
from auditor.reading.problems import UnusableError
from auditor.tasks.comparison import Value
from auditor.tasks.reprovisioning import Kind, Refused, Reprovisioning, Step, reprovisioning

audited = partial(audit, checked_at=datetime(2026, 3, 1))
ENVIRONMENT = {
    "GAUGE_PASSPHRASE": "heron-tidal-ledger-quartz-41",
    "LAST_TERM_PASSPHRASE": "curlew-brackish-lantern-harbour-77",
}
IDS = "ABCDEFGH"
SUBNET = "10.20.0.0/24"
PLAN = """\
[kit]
name = "Tide gauges"
[network]
name = "saltmarsh-gauges"
security = "wpa2-personal"
passphrase = {{ env = "GAUGE_PASSPHRASE" }}
retired_passphrases = [{{ env = "LAST_TERM_PASSPHRASE" }}]
band = "2.4 GHz"
[network.ipv4]
subnet = "{subnet}"
gateway = "10.20.0.1"
pool = {{ first = "10.20.0.100", last = "10.20.0.199" }}
address_server = true
[[network.host]]
name = "logger"
address = "10.20.0.10"
[serial]
rate = 9600
"""


def kit(modules: dict[str, str], *, subnet: str = SUBNET) -> FleetFile:
    """Return a planned kit; of each module its id and a line for each of its settings."""
    text = PLAN.format(subnet=subnet)
    for id, lines in modules.items():
        text += f'[[module]]\nid = "{id}"\n{lines}\n'
    return fleet_of_text(text, "kit.toml", ENVIRONMENT)


def at(*addresses: str) -> dict[str, str]:
    """Return modules A, B, ... at addresses whose last part is given."""
    return {id: f'address = "10.20.0.{each}"' for id, each in zip(IDS, addresses, strict=False)}


def found(header: str, *rows: str) -> FleetFile:
    """Return what was read out, as a table."""
    return fleet_of_text("\n".join((f"id,{header}", *rows, "")), "found.csv", ENVIRONMENT)


def located(*addresses: str) -> FleetFile:
    """Return modules A, B, ... found at addresses whose last part is given; blank is unread."""
    rows = (f"{id},{each and f'10.20.0.{each}'}" for id, each in zip(IDS, addresses, strict=False))
    return found("address", *rows)


def todo(planned: FleetFile, there: FleetFile, *, over_network: bool = False) -> Reprovisioning:
    return reprovisioning(planned, there, audited, over_network=over_network)


def moved(result: Reprovisioning) -> list[str]:
    """Return the steps that change an address: who, and where to."""
    sign = {Kind.SET: "->", Kind.PARK: "parks at"}
    return [
        f"{step.id} {sign[step.kind]} {str(step.changes['address']).removeprefix('10.20.0.')}"
        for step in result.steps
        if step.kind in sign and "address" in step.changes
    ]


def refused(result: Reprovisioning) -> dict[str, str]:
    return {each.id: each.why for each in result.refused}


def test_a_kit_as_planned_needs_nothing() -> None:
    result = todo(kit(at("31", "32")), located("31", "32"))
    assert (result.steps, result.refused, result.is_clean) == ((), (), True)
    assert (result.parking_moves, result.rate_switches) == (0, 0)


def test_what_was_not_read_out_is_left_alone() -> None:
    assert todo(kit(at("31", "32")), located("", "")).is_clean


def test_a_wrong_rate_is_set_at_the_rate_it_has_and_read_back_at_the_new_one() -> None:
    planned = kit({"A": 'address = "10.20.0.31"\nsaved = true'})
    there = found("serial_rate,saved,address,parity", "A,19200,no,10.20.0.41,none")
    steps = todo(planned, there).steps
    changes: dict[str, Value] = {"address": "10.20.0.31", "saved": True, "serial_rate": 9600}
    assert [list(step.changes) for step in steps] == [list(changes)] * 2  # the rate is the last
    assert steps == (
        Step("A", Kind.SET, 19200, changes,
             "It was found with serial_rate 19200 (which stops it at serial), "
             "address 10.20.0.41, saved false."),
        Step("A", Kind.READ_BACK, 9600, changes,
             "It should say address 10.20.0.31, saved true, serial_rate 9600."),
    )  # fmt: skip


def test_the_reason_says_what_a_setting_stops_and_no_passphrase() -> None:
    old = ENVIRONMENT["LAST_TERM_PASSPHRASE"]
    (step, back) = todo(kit(at("31")), found("password,SSID", f"A,{old},saltmarsh-gauges ")).steps
    assert step.changes == {"network_name": "saltmarsh-gauges", "passphrase": "set"}
    assert step.why == (
        'It was found with network_name "saltmarsh-gauges " (which stops it at discovery), '
        "passphrase another from last term (which stops it at keys)."
    )
    assert back.why == "It should say network_name saltmarsh-gauges."


def test_a_chain_is_set_from_its_free_end_and_says_who_has_left() -> None:
    result = todo(kit(at("32", "33", "34")), located("31", "32", "33"))
    assert moved(result) == ["C -> 34", "B -> 33", "A -> 32"]
    assert result.steps[2].why == "It was found with address 10.20.0.32. C has left 10.20.0.33."
    assert [step.kind for step in result.steps] == [Kind.SET, Kind.READ_BACK] * 3


def test_a_swap_stands_aside_once_on_the_nearest_free_address() -> None:
    result = todo(kit(at("31", "32", "33")), located("32", "31", "33"))
    assert moved(result) == ["A parks at 30", "B -> 32", "A -> 31"]
    assert result.parking_moves == 1
    park = result.steps[0]
    assert park.why == "It stands aside so that 10.20.0.32 is free for B."
    assert (park.kind, park.at_rate) == (Kind.PARK, 9600)


def test_two_rings_stand_aside_on_the_same_address_one_after_the_other() -> None:
    planned, there = at("31", "32", "33", "34", "35"), located("32", "31", "34", "35", "33")
    assert moved(todo(kit(planned), there)) == [
        "A parks at 30", "B -> 32", "A -> 31",
        "C parks at 30", "D -> 34", "E -> 35", "C -> 33",
    ]  # fmt: skip


def test_the_parking_address_is_nobodys() -> None:
    """Around 10.20.0.2 the next ones are the gateway, a found one, and a planned one."""
    planned = kit(at("2", "3", "4"))
    there = found("address", "A,10.20.0.3", "B,10.20.0.2", "Z,10.20.0.5")
    assert moved(todo(planned, there))[0] == "A parks at 6"


def test_without_a_parking_address_a_ring_is_refused_and_nothing_else() -> None:
    """A subnet of six hosts: the gateway, and the five that are planned or found."""
    planned = kit(at("2", "3", "4", "5", "6"), subnet="10.20.0.0/29")
    there = found("address", "A,10.20.0.3", "B,10.20.0.2", "D,10.20.0.9", "E,10.20.0.6")
    result = todo(planned, there)
    assert moved(result) == ["D -> 5"]
    assert set(refused(result)) == {"A", "B"}
    assert refused(result)["A"] == (
        "needs a free address to stand aside on, and every address of 10.20.0.0/29 is in the "
        "pool, or somebody's in plan or fact"
    )


def test_an_address_that_stays_somebody_elses_is_never_given_away() -> None:
    planned = kit({**at("31", "10", "33", "34"), "P": 'addressing = "pooled"'})
    there = found(
        "address", "A,10.20.0.32", "B,10.20.0.42", "C,10.20.0.43", "D,10.20.0.33",
        "Z,10.20.0.31", "P,10.20.0.34",
    )  # fmt: skip
    result = todo(planned, there)
    assert result.steps == ()
    assert refused(result) == {
        "A": "its address 10.20.0.31 is held by Z, which is not planned; take that off the network",
        "B": "its address 10.20.0.10 is held by the host logger",
        "C": "its address 10.20.0.33 is held by D, which cannot leave it",
        "D": "its address 10.20.0.34 is held by P, which leases it",
    }
    assert not result.is_clean


def test_an_address_that_is_planned_twice_is_given_to_nobody() -> None:
    result = todo(kit(at("31", "31", "32", "33")), located("41", "42", "33", "33"))
    assert moved(result) == ["C -> 32"]
    assert refused(result) == dict.fromkeys(
        "AB", "10.20.0.31 is planned for A and B; plan another for one of them"
    )
    keeps = todo(kit(at("31", "31")), located("31", "42"))
    assert refused(keeps) == {"B": "its address 10.20.0.31 is held by A, which keeps it"}


def test_two_on_one_address_come_first() -> None:
    result = todo(kit(at("21", "31", "32")), located("20", "31", "31"))
    assert moved(result) == ["C -> 32", "A -> 21"]


def test_one_that_is_not_planned_and_shares_an_address_is_named() -> None:
    there = found("address", "A,10.20.0.31", "B,10.20.0.32", "Z,10.20.0.31", "Y,10.20.0.32")
    result = todo(kit(at("31", "33")), there)
    assert moved(result) == ["B -> 33"]
    assert result.refused == (
        Refused("Z", "is not planned and shares 10.20.0.31 with A; take it off the network"),
    )


def test_who_leases_from_now_on_leaves_its_address_and_the_other_way_round() -> None:
    planned = kit({"A": 'addressing = "pooled"', "B": 'address = "10.20.0.31"'})
    there = found("addressing,address", "A,static,10.20.0.31", "B,pooled,10.20.0.120")
    a, _, b, _ = todo(planned, there).steps
    assert a.changes == {"addressing": "pooled"}
    assert b.changes == {"addressing": "static", "address": "10.20.0.31"}
    assert b.why.endswith(" A has left 10.20.0.31.")


def test_labels_come_first_and_who_has_only_another_one_is_read_back() -> None:
    macs = [f"00:00:5e:00:53:0{n}" for n in (1, 2)]
    planned = kit({id: f'hardware_address = "{mac}"' for id, mac in zip(IDS, macs, strict=False)})
    there = found("MAC,baud", f"B,{macs[0]},9600", f"A,{macs[1]},19200")
    steps = todo(planned, there).steps
    assert [(step.id, step.kind, step.at_rate, step.changes) for step in steps] == [
        ("A", Kind.SET, None, {"id": "A"}),
        ("B", Kind.SET, None, {"id": "B"}),
        ("B", Kind.SET, 19200, {"serial_rate": 9600}),
        ("B", Kind.READ_BACK, 9600, {"serial_rate": 9600}),
        ("A", Kind.READ_BACK, 9600, {}),
    ]
    assert steps[0].why == (
        f"A label, by hand: the radio {macs[0]} is labelled B and planned as A."
    )
    assert steps[4].why == f"It should say hardware_address {macs[0]}."


def test_what_is_done_at_the_board_is_a_step_of_its_own_with_the_caution() -> None:
    planned = kit({"A": "supply = { common_ground = true }\ntalks = true"})
    there = found("supply.common_ground,talks,baud", "A,no,no,4800")
    by_hand, cable, back = todo(planned, there).steps
    assert by_hand.changes == {"talks": True, "supply.common_ground": True}
    assert (by_hand.at_rate, by_hand.is_by_hand, by_hand.touches_wiring) == (None, True, True)
    assert by_hand.why.endswith(CAUTION)
    assert (cable.changes, cable.is_by_hand) == ({"serial_rate": 9600}, False)
    assert back.changes == {"serial_rate": 9600}


def test_a_changed_program_touches_no_wiring() -> None:
    step, back = todo(kit({"A": "talks = true"}), found("talks", "A,no")).steps
    assert (step.touches_wiring, CAUTION in step.why) == (False, False)
    assert back.why == "It should answer."


def test_modules_at_one_rate_are_set_one_after_the_other() -> None:
    planned = kit(at("31", "32", "33", "34"))
    there = found("address,baud", "A,10.20.0.41,9600", "B,10.20.0.32,19200",
                  "C,10.20.0.43,9600", "D,10.20.0.34,19200")  # fmt: skip
    result = todo(planned, there)
    rates = [(step.id, step.at_rate) for step in result.steps]
    assert rates == [("B", 19200), ("B", 9600), ("A", 9600), ("A", 9600), ("C", 9600), ("C", 9600),
                     ("D", 19200), ("D", 9600)]  # fmt: skip
    assert result.rate_switches == 3


def test_over_the_network_what_cuts_off_comes_in_a_step_of_its_own_and_last() -> None:
    planned = kit({"A": 'address = "10.20.0.31"\nlisten_port = 4010\nprefix_length = 24'})
    there = found("address,listen_port,prefix_length,baud", "A,10.20.0.41,4011,25,19200")
    result = todo(planned, there, over_network=True)
    assert result.refused == ()
    assert [(step.kind, list(step.changes)) for step in result.steps] == [
        (Kind.SET, ["serial_rate", "listen_port"]),
        (Kind.SET, ["address", "prefix_length"]),
        (Kind.READ_BACK, ["serial_rate", "listen_port", "address", "prefix_length"]),
    ]
    assert {step.at_rate for step in result.steps} == {None}
    assert result.rate_switches == 0


@pytest.mark.parametrize(
    ("header", "row", "reason"),
    [
        ("SSID", "saltmarsh-guages", "it differs in network_name"),
        ("security,password", "open,otter-lagoon-1", "it differs in security, passphrase"),
        ("address", "10.21.0.31", "as found, it is blocked at address"),
    ],
)
def test_over_the_network_who_is_not_on_it_is_refused(header: str, row: str, reason: str) -> None:
    blank = "," * row.count(",")
    there = found(f"{header},baud", f"A,{row},9600", f"B,{blank},19200")
    result = todo(kit(at("31", "32")), there, over_network=True)
    assert {step.id for step in result.steps} == {"B"}
    whole = f"is not on the network today: {reason}; set it --over serial"
    assert refused(result) == {"A": whole}


def test_over_the_network_who_shares_its_address_is_refused_and_holds_it() -> None:
    planned = kit(at("33", "31", "35"))
    there = found("address", "A,10.20.0.31", "B,10.20.0.32", "Z,10.20.0.31", "C,10.20.0.36")
    result = todo(planned, there, over_network=True)
    assert moved(result) == ["C -> 35"]
    assert refused(result)["A"] == (
        "does not answer alone: somebody else has 10.20.0.31 too; set it --over serial"
    )
    assert refused(result)["B"].startswith("its address 10.20.0.31 is held by Z")
    serial = todo(planned, there)
    assert moved(serial)[0] == "A -> 33"


def test_a_module_that_stands_twice_is_not_guessed_at() -> None:
    with pytest.raises(UnusableError):
        todo(kit(at("31")), found("address", "A,10.20.0.31", "A,10.20.0.32"))
