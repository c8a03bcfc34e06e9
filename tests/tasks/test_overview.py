"""The overview of a kit: who has which address, the pool over time, who differs."""

from auditor.demo import FLEET, FOLDER
from auditor.examples import fleet_of
from auditor.reading.fleet import fleet_of_text, read_fleet
from auditor.reports.redaction import redacted
from auditor.tasks.overview import Overview, Role, Trouble, overview
from tests.checks.test_capacity import two_groups

NETWORK = """\
[network]
name = "saltmarsh-gauges"
[network.ipv4]
subnet = "10.20.0.0/24"
gateway = "10.20.0.1"
pool = { first = "10.20.0.100", last = "10.20.0.149" }
[network.ipv4.reservations]
"00:00:5e:00:53:05" = "10.20.0.105"
"00:00:5e:00:53:99" = "10.20.0.60"
[[network.host]]
name = "logger"
address = "10.20.0.10"
"""


def of(text: str) -> Overview:
    """Return the overview of a fleet."""
    return overview(fleet_of_text(text, "kit.toml", {}))


def static(id: str, address: str, more: str = "") -> str:
    """Return a static module."""
    return f'[[module]]\nid = "{id}"\naddressing = "static"\naddress = "{address}"\n{more}\n'


def test_who_has_which_address() -> None:
    plan = of(NETWORK + static("TG-01", "10.20.0.31")).addresses
    assert plan is not None
    assert [(str(each.address), each.holders[0].role) for each in plan.held] == [
        ("10.20.0.1", Role.GATEWAY),
        ("10.20.0.10", Role.HOST),
        ("10.20.0.31", Role.MODULE),
        ("10.20.0.60", Role.RESERVATION),
        ("10.20.0.105", Role.RESERVATION),
    ]
    assert all(each.trouble is None for each in plan.held)


def test_what_is_wrong_with_who_has_it() -> None:
    """RFC 5227, section 1 (an address is one host's); RFC 2131, section 3.1 (the pool's)."""
    plan = of(
        NETWORK
        + static("twice-a", "10.20.0.31")
        + static("twice-b", "10.20.0.31")
        + static("as-host", "10.20.0.10")
        + static("as-gateway", "10.20.0.1")
        + static("broadcast", "10.20.0.255")
        + static("in-pool", "10.20.0.120")
        + static("reserved", "10.20.0.105", 'hardware_address = "00:00:5e:00:53:05"')
        + static("not-its-own", "10.20.0.60", 'hardware_address = "00:00:5e:00:53:06"')
        + static("fine", "10.20.0.40")
    ).addresses
    assert plan is not None
    troubles = {
        holder.name: held.trouble
        for held in plan.held
        for holder in held.holders
        if holder.role is Role.MODULE
    }
    assert troubles == {
        "twice-a": Trouble.CLASH,
        "twice-b": Trouble.CLASH,
        "as-host": Trouble.CLASH,
        "as-gateway": Trouble.CLASH,
        "broadcast": Trouble.SET_ASIDE,
        "in-pool": Trouble.IN_POOL,
        "reserved": None,
        "not-its-own": Trouble.CLASH,
        "fine": None,
    }


def test_an_access_point_that_is_the_gateway_is_no_clash() -> None:
    plan = of(
        NETWORK.replace('"10.20.0.10"', '"10.20.0.1"') + static("TG-01", "10.20.0.31")
    ).addresses
    assert plan is not None
    assert {each.trouble for each in plan.held} == {None}


def test_the_pool_over_two_groups() -> None:
    """By hand from RFC 2131, section 4.4.5: leases of 90 min end from 12:45 to 13:30."""
    pool = of(two_groups(lease="90 min")).pool
    assert pool is not None
    assert [(f"{level.at:%H:%M}", level.wanted) for level in pool.best][:3] == [
        ("09:00", 30),
        ("12:45", 0),
        ("13:00", 30),
    ]
    assert [(f"{level.at:%H:%M}", level.wanted) for level in pool.worst][:3] == [
        ("09:00", 30),
        ("13:00", 60),
        ("13:30", 30),
    ]
    assert [(each.name, each.modules) for each in pool.sessions] == [
        ("Group A", 30),
        ("Group B", 30),
    ]


def test_without_a_timetable_there_is_no_pool_over_time() -> None:
    assert of(NETWORK + static("TG-01", "10.20.0.31")).pool is None


def test_who_is_set_otherwise_than_most() -> None:
    file = read_fleet(FLEET, environment={}, within=FOLDER)
    differing = {each.setting: each for each in overview(file).differences}
    rate = differing["serial_rate"]
    assert (rate.usual, rate.agree, rate.others[0].value) == ("9600", 29, "19200")
    assert rate.others[0].modules == ("TG-07",)
    assert "parity" not in differing


def test_a_passphrase_is_only_said_to_be_another() -> None:
    file = read_fleet(FLEET, environment={}, within=FOLDER)
    (secret,) = [each for each in overview(file).differences if each.setting == "passphrase"]
    assert (secret.usual, secret.others[0].value) == ("the same one", "another one")
    assert secret.others[0].modules == ("TG-19",)
    said = repr(overview(file))
    known = [each.reveal() for each in file.secrets]
    assert len(known) >= 2
    assert not any(each in said for each in known)


def test_a_passphrase_in_a_name_is_masked() -> None:
    passphrase = "kelp-lantern-otter-9"
    text = NETWORK.replace('name = "logger"', f'name = "{passphrase}"').replace(
        "[network]", f'[network]\npassphrase = "{passphrase}"'
    )
    file = fleet_of_text(text + static("TG-01", "10.20.0.31"), "kit.toml", {})
    assert passphrase not in repr(redacted(overview(file), file.secrets))


def test_the_clean_kit_has_no_odd_ones() -> None:
    found = overview(fleet_of(""))
    assert found.addresses is not None
    assert {each.trouble for each in found.addresses.held} == {None}
    assert {each.setting for each in found.differences} <= {"destination"}
