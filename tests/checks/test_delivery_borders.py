"""Delivery: what is said once and not twice, with its figures and its places."""

from typing import Any

import pytest

from tests.checks.kits import audited, findings, module
from tests.checks.test_delivery import bare, found_in, of_delivery, to_one, traffic

ON = "[network]\nclient_isolation = true\n"


class TestOnce:
    """A message that is meant for everybody and sent to one: nothing else is said of it."""

    @pytest.mark.parametrize("address", ["10.20.0.31", "127.0.0.1", "10.20.0.77", "10.20.0.120"])
    def test_whoever_is_there_or_not(self, address: str) -> None:
        """Its own address, one that is set aside, one that nobody has, one of the pool."""
        lines = module("TG-01", destination=address)
        assert of_delivery(lines) == {"intent-differs": {"TG-01"}}

    def test_a_port_and_a_transport_of_another_receiver(self) -> None:
        host = '[[network.host]]\nname = "logger"\nport = 4020\ntransport = "tcp"\n'
        lines = host + module("TG-01", destination="10.20.0.10")
        assert of_delivery(lines) == {"intent-differs": {"TG-01"}}

    def test_isolation_from_that_one(self) -> None:
        lines = ON + traffic(talkers='["TG-01", "logger"]')
        own = module("TG-01", destination="10.20.0.32")
        assert set(of_delivery(lines)) == {"isolation-blocks-peers"}
        assert of_delivery(lines + own) == {"intent-differs": {"TG-01"}}


class TestFigures:
    @pytest.mark.parametrize(
        ("lines", "check", "figures", "columns"),
        [
            (
                to_one("10.20.0.31"),
                "destination-is-self",
                {"destination": "10.20.0.31"},
                ["destination", "address"],
            ),
            (
                to_one("127.0.0.1"),
                "destination-unreachable",
                {"destination": "127.0.0.1"},
                ["destination"],
            ),
            (
                to_one("10.20.0.77"),
                "destination-unassigned",
                {"destination": "10.20.0.77"},
                ["destination"],
            ),
            (
                to_one("10.20.0.120"),
                "destination-is-pooled",
                {"destination": "10.20.0.120", "first": "10.20.0.100", "last": "10.20.0.149"},
                ["destination", "pool"],
            ),
            (
                module("TG-01", destination="10.20.0.127"),
                "broadcast-address-mismatch",
                {"destination": "10.20.0.127", "broadcast": "10.20.0.255"},
                ["destination", "subnet"],
            ),
            (
                module("TG-01", destination="10.21.0.255"),
                "broadcast-leaves-subnet",
                {"destination": "10.21.0.255", "subnet": "10.20.0.0/24"},
                ["destination", "subnet"],
            ),
            (
                module("TG-01", transport="tcp"),
                "broadcast-needs-datagrams",
                {"destination": "255.255.255.255", "transport": "tcp"},
                ["transport", "destination"],
            ),
            (
                module("TG-01", destination="10.20.0.10"),
                "intent-differs",
                {"intent": "broadcast", "destination": "10.20.0.10"},
                ["destination", "intent"],
            ),
            (
                module("TG-01", port=4011),
                "port-mismatch",
                {"port": 4011, "listens_on": 4010},
                ["port"],
            ),
            (
                module("TG-02", listen_port=4011),
                "port-mismatch",
                {"listen_port": 4011, "port": 4010},
                ["listen_port"],
            ),
            (
                module("TG-02", transport="tcp"),
                "transport-mismatch",
                {"transport": "tcp", "other": "udp"},
                ["transport"],
            ),
        ],
    )
    def test_each_check(
        self, lines: str, check: str, figures: dict[str, Any], columns: list[str]
    ) -> None:
        (found,) = findings(lines, check)
        assert {**found.figures, **figures} == found.figures
        assert [place.column for place in found.where] == columns


class TestUnicastWithoutPlan:
    CHECK = "port-mismatch"

    def test_the_port_of_a_receiver_of_its_own_is_not_voted_on(self) -> None:
        """Nothing says on which port that one host listens, and the kit has no say in it."""
        host = '[[network.host]]\nname = "logger"\naddress = "10.20.0.10"\n'
        kit = [
            f'[[module]]\nid = "TG-{n}"\naddress = "10.20.0.{n}"\nport = 4010\n'
            f'listen_port = 4010\ndestination = "255.255.255.255"\n'
            for n in (31, 32, 33)
        ]
        odd = '[[module]]\nid = "TG-34"\naddress = "10.20.0.34"\nport = 4020\nlisten_port = 4010\n'
        to_all, to_host = 'destination = "255.255.255.255"\n', 'destination = "10.20.0.10"\n'
        assert found_in(bare(host, *kit, odd + to_all), self.CHECK) == {"TG-34": "fault"}
        assert found_in(bare(host, *kit, odd + to_host), self.CHECK) == {}
        assert found_in(bare(host, *kit, odd), self.CHECK) == {}

    def test_of_two_with_one_address_the_first_by_its_id_is_named(self) -> None:
        sender = (
            '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\nport = 4010\n'
            'destination = "10.20.0.32"\n'
        )
        twins = [
            f'[[module]]\nid = "{id}"\naddress = "10.20.0.32"\n'
            f"listen_port = {port}\ntalks = false\n"
            for id, port in (("TG-03", 4012), ("TG-02", 4011))
        ]
        result = bare(sender, *twins)
        (found,) = [each for each in result.modules[0].findings if each.check == self.CHECK]
        assert found.remedy == "Set port to 4011."
        assert "TG-02 listens on 4011" in found.message


class TestIsolation:
    CHECK = "isolation-blocks-peers"

    @pytest.mark.parametrize(
        ("lines", "told"),
        [
            (ON + to_one("10.20.0.32"), "what it sends to TG-02 is not passed on."),
            (ON, "its broadcast does not reach the other wireless stations."),
        ],
    )
    def test_it_is_said_what_is_blocked(self, lines: str, told: str) -> None:
        (found, *_) = audited(lines).modules[0].findings
        assert found.check == self.CHECK
        assert found.message == f"Client isolation is on: {told}"
        assert [place.column for place in found.where] == ["client_isolation", None]
