"""Delivery: broadcast and unicast, to whom, over what, and what stands between."""

from datetime import datetime
from typing import ClassVar

import netaddr
import pytest

from auditor.audit import audit
from auditor.examples import fleet_of
from auditor.findings import AuditResult, Stage, Verdict
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from tests.checks.kits import THE_KIT, audited, findings, fired, module, severities

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}
TODAY = datetime(2026, 2, 1)


def traffic(**settings: str) -> str:
    """Return lines that plan the traffic otherwise; values as TOML writes them."""
    return "\n".join(["[traffic]", *(f"{key} = {value}" for key, value in settings.items()), ""])


def to_one(address: str, talker: str = "TG-01") -> str:
    """Return lines in which one module sends to one address."""
    return traffic(intent='"unicast"', destination=f'"{address}"', talkers=f'["{talker}"]')


def of_delivery(lines: str) -> dict[str, set[str]]:
    """Return the checks of this stage that fire, and on whom."""
    stage = {f.check for f in audited(lines).findings if f.stage is Stage.DELIVERY}
    return {check: whom for check, whom in fired(lines).items() if check in stage}


def bare(*lines: str, ipv4: str = 'gateway = "none"', network: str = "") -> AuditResult:
    """Return the audit of a small kit in 10.20.0.0/24 that plans nothing else."""
    plan = (
        '[network]\nname = "saltmarsh-gauges"\nsecurity = "open"\n',
        network,
        '[network.ipv4]\nsubnet = "10.20.0.0/24"\n',
        f"{ipv4}\n",
    )
    return audit(fleet_of_text("".join((*plan, *lines)), "kit.toml", {}), TODAY)


def found_in(result: AuditResult, check: str) -> dict[str, str]:
    """Return how grave one check finds each module."""
    return {
        each.id: finding.severity.value
        for each in result.modules
        for finding in each.findings
        if finding.check == check
    }


class TestIntent:
    CHECK = "intent-differs"

    def test_meant_for_all_and_sent_to_one(self) -> None:
        lines = module("TG-01", destination="10.20.0.10")
        assert fired(lines) == {self.CHECK: {"TG-01"}}
        found = findings(lines, self.CHECK)[0]
        assert found.severity is Severity.FAULT
        assert found.remedy == "Set destination to 255.255.255.255."
        assert "everybody" in found.message
        assert "10.20.0.10 is the address of one receiver" in found.message

    # RFC 919, section 7; RFC 922; RFC 5771, section 3: what means more than one.
    @pytest.mark.parametrize("address", ["255.255.255.255", "10.20.0.255", "224.0.0.1"])
    def test_meant_for_one_and_sent_to_all(self, address: str) -> None:
        lines = to_one("10.20.0.10") + module("TG-01", destination=address)
        assert of_delivery(lines) == {self.CHECK: {"TG-01"}}
        assert findings(lines, self.CHECK)[0].remedy == "Set destination to 10.20.0.10."

    @pytest.mark.parametrize("address", ["255.255.255.255", "10.20.0.255", "224.0.0.1"])
    def test_every_broadcast_is_one(self, address: str) -> None:
        assert fired(module("TG-01", destination=address)) == {}

    def test_where_the_plan_names_no_intent_its_destination_tells_it(self) -> None:
        plan = '[traffic]\ndestination = "10.20.0.255"\nport = 4010\n'
        modules = (
            '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\ndestination = "10.20.0.32"\n',
            '[[module]]\nid = "TG-02"\naddress = "10.20.0.32"\n',
        )
        assert found_in(bare(plan, *modules), self.CHECK) == {"TG-01": "fault"}

    # RFC 922: by 28 bits 10.20.0.15 is a broadcast address, by 24 the address of one.
    @pytest.mark.parametrize(("address", "expected"), [(15, {}), (14, {"TG-01": "fault"})])
    def test_where_no_subnet_is_known_the_plan_tells_what_may_be_a_broadcast(
        self, address: int, expected: dict[str, str]
    ) -> None:
        text = (
            f'[traffic]\nintent = "broadcast"\ndestination = "10.20.0.{address}"\n'
            '[[module]]\nid = "TG-01"\naddressing = "pooled"\n'
        )
        result = audit(fleet_of_text(text, "kit.toml", {}), TODAY)
        assert found_in(result, self.CHECK) == expected

    def test_the_own_destination_of_a_listener_is_an_advice(self) -> None:
        """Decision 7."""
        lines = module("TG-02", destination="10.20.0.10")
        assert severities(lines, self.CHECK) == {"TG-02": "advice"}
        assert audited(lines).modules[1].verdict is Verdict.READY

    def test_a_listener_s_advice_hides_no_fault_of_its_own(self) -> None:
        """Decision 7: the listener's own destination need not be right, its port must."""
        lines = module("TG-02", destination="10.20.0.10", listen_port=4011)
        assert severities(lines, "port-mismatch") == {"TG-02": "fault"}

    def test_where_anyone_may_talk_every_destination_counts(self) -> None:
        """Decision 7: talkers absent."""
        plan = '[traffic]\nintent = "broadcast"\ndestination = "10.20.0.255"\nport = 4010\n'
        listener = '[[module]]\nid = "TG-02"\naddress = "10.20.0.32"\ndestination = "10.20.0.31"\n'
        talker = '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\n'
        assert found_in(bare(plan, talker, listener), self.CHECK) == {"TG-02": "fault"}
        silent = bare(plan, talker, listener + "talks = false\n")
        assert found_in(silent, self.CHECK) == {"TG-02": "advice"}

    def test_without_talkers_no_destination_is_a_fault(self) -> None:
        """Decision 7: talkers empty."""
        lines = traffic(talkers="[]") + module("TG-01", destination="10.20.0.10")
        assert severities(lines, self.CHECK) == {"TG-01": "advice"}
        assert "talker-missing" in fired(lines)

    def test_a_host_that_sends_to_one_leaves_everybody_waiting(self) -> None:
        """Decision 4: what stops every module is a finding on each."""
        lines = traffic(destination='"10.20.0.32"', talkers='["logger"]')
        assert of_delivery(lines) == {self.CHECK: EVERYONE}
        assert findings(lines, self.CHECK)[0].where[0].column == "destination"


class TestUnicast:
    def test_to_a_listed_host_to_a_static_module_and_to_a_reserved_one(self) -> None:
        for address in ("10.20.0.10", "10.20.0.32", "10.20.0.110", "10.20.0.1"):
            assert of_delivery(to_one(address)) == {}

    def test_to_itself(self) -> None:
        lines = to_one("10.20.0.31")
        assert of_delivery(lines) == {"destination-is-self": {"TG-01"}}
        found = findings(lines, "destination-is-self")[0]
        assert found.remedy == 'Set destination to the receiver, such as 10.20.0.10 ("logger").'
        assert [place.column for place in found.where] == ["destination", "address"]

    def test_to_the_address_that_is_reserved_for_itself(self) -> None:
        assert of_delivery(to_one("10.20.0.110", "TG-04")) == {"destination-is-self": {"TG-04"}}

    def test_a_listener_may_have_its_own_address_as_destination(self) -> None:
        """Decision 7."""
        lines = to_one("10.20.0.10") + module("TG-02", destination="10.20.0.32")
        assert of_delivery(lines) == {}

    # The pool is 10.20.0.100 to 10.20.0.149; RFC 2131, section 2.2: leases may move.
    @pytest.mark.parametrize("address", ["10.20.0.100", "10.20.0.149"])
    def test_to_a_leased_address(self, address: str) -> None:
        lines = to_one(address)
        assert of_delivery(lines) == {"destination-is-pooled": {"TG-01"}}
        assert severities(lines, "destination-is-pooled") == {"TG-01": "risk"}
        assert findings(lines, "destination-is-pooled")[0].remedy.startswith(f"Reserve {address} ")

    @pytest.mark.parametrize("address", ["10.20.0.99", "10.20.0.150", "10.20.0.77"])
    def test_to_nobody_in_a_plan_that_lists_its_hosts(self, address: str) -> None:
        lines = to_one(address)
        assert of_delivery(lines) == {"destination-unassigned": {"TG-01"}}
        assert severities(lines, "destination-unassigned") == {"TG-01": "fault"}

    @pytest.mark.parametrize(
        ("ipv4", "hosts", "severity"),
        [
            ('pool = { first = "10.20.0.100", last = "10.20.0.149" }', True, "fault"),
            ('pool = { first = "10.20.0.100", last = "10.20.0.149" }', False, "risk"),
            ("address_server = false", True, "fault"),
            ("address_server = false", False, "risk"),
            ("address_server = true", True, "risk"),
            ("", True, "risk"),
        ],
    )
    def test_to_nobody_is_a_fault_only_where_nobody_can_be(
        self, ipv4: str, hosts: bool, severity: str
    ) -> None:
        """Decision 29: a pool that is not given is not known."""
        host = '[[network.host]]\nname = "logger"\naddress = "10.20.0.10"\n' if hosts else ""
        plan = '[traffic]\ndestination = "10.20.0.77"\nport = 4010\n'
        sender = '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\n'
        result = bare(host, plan, sender, ipv4=ipv4)
        assert found_in(result, "destination-unassigned") == {"TG-01": severity}

    def test_a_pool_that_nobody_leases_from_holds_nobody(self) -> None:
        lines = "[network.ipv4]\naddress_server = false\n" + to_one("10.20.0.120")
        assert of_delivery(lines) == {"destination-unassigned": {"TG-01"}}

    @pytest.mark.parametrize("talker", ["TG-01", "TG-03"])
    def test_beyond_the_subnet_by_the_gateway(self, talker: str) -> None:
        assert of_delivery(to_one("10.30.0.9", talker)) == {}

    @pytest.mark.parametrize("talker", ["TG-01", "TG-03"])
    def test_beyond_the_subnet_without_a_gateway(self, talker: str) -> None:
        """Decision 29: "none" says that there is none."""
        lines = '[network.ipv4]\ngateway = "none"\n' + to_one("10.30.0.9", talker)
        assert of_delivery(lines) == {"destination-unreachable": {talker}}
        remedy = findings(lines, "destination-unreachable")[0].remedy
        assert 'such as 10.20.0.10 ("logger"), or name the gateway' in remedy

    def test_a_planned_host_beyond_is_not_offered_as_the_way_out(self) -> None:
        lines = '[network.ipv4]\ngateway = "none"\n' + to_one("10.30.0.9")
        lines += '[[network.host]]\nname = "archive"\naddress = "10.30.0.9"\n'
        assert "10.20.0.10" in findings(lines, "destination-unreachable")[0].remedy

    def test_a_wrong_prefix_does_not_hide_that_no_way_leads_there(self) -> None:
        lines = '[network.ipv4]\ngateway = "none"\n' + to_one("10.30.0.9")
        lines += module("TG-01", prefix_length=28)
        assert severities(lines, "destination-unreachable") == {"TG-01": "fault"}

    def test_a_gateway_that_nobody_names_is_unknown(self) -> None:
        """Decision 29: the verdict is unknown, and the gap is named."""
        plan = '[traffic]\ndestination = "10.30.0.9"\nport = 4010\n'
        network = '[network]\nname = "g"\nsecurity = "wpa3-personal"\n'
        network += 'passphrase = { env = "GAUGE" }\n[network.ipv4]\nsubnet = "10.20.0.0/24"\n'
        sender = '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\n'
        secret = {"GAUGE": "heron-tidal-ledger-quartz-41"}
        result = audit(fleet_of_text(network + plan + sender, "kit.toml", secret), TODAY)
        assert [f.check for f in result.findings] == []
        assert result.modules[0].verdict is Verdict.UNKNOWN
        gaps = [entry for entry in result.not_checked if "gateway" in entry.reason]
        assert [entry.stage for entry in gaps] == [Stage.ADDRESS]

    # RFC 6890, section 2.2.2; RFC 3927, section 2.7 (link-local is not forwarded).
    @pytest.mark.parametrize("address", ["127.0.0.1", "169.254.9.9", "0.0.0.0", "240.0.0.1"])
    def test_to_what_no_network_carries(self, address: str) -> None:
        lines = to_one(address)
        assert of_delivery(lines) == {"destination-unreachable": {"TG-01"}}
        assert "set aside" in findings(lines, "destination-unreachable")[0].message


class TestBroadcastAddresses:
    # 10.20.0.0/24 has the broadcast 10.20.0.255: RFC 919, section 7; RFC 922, section 7.
    # The others by netaddr, for 10.20.0.31 with another prefix length.
    @pytest.mark.parametrize("length", [8, 12, 16, 20, 23, 25, 26, 27, 28, 29, 30])
    def test_of_another_prefix_length(self, length: int) -> None:
        address = str(netaddr.IPNetwork(f"10.20.0.32/{length}").broadcast)
        lines = module("TG-01", address="10.20.0.33", destination=address)
        assert of_delivery(lines) == {"broadcast-address-mismatch": {"TG-01"}}
        found = findings(lines, "broadcast-address-mismatch")[0]
        assert found.severity is Severity.FAULT
        assert found.figures["broadcast"] == "10.20.0.255"

    def test_what_the_plan_says_is_set(self) -> None:
        lines = module("TG-01", destination="10.20.0.127")
        remedy = findings(lines, "broadcast-address-mismatch")[0].remedy
        assert remedy == "Set destination to 255.255.255.255."
        directed = traffic(destination='"10.20.0.255"')
        remedy = findings(directed + lines, "broadcast-address-mismatch")[0].remedy
        assert remedy == "Set destination to 10.20.0.255."

    # Observed on hostapd 2.10 / wpa_supplicant 2.10, November 2026: it works between those who
    # agree on the address, whatever the plan says.
    def test_those_who_agree_on_it_hear_it(self) -> None:
        plan = '[traffic]\ndestination = "10.20.0.47"\nport = 4010\n'
        agree = [
            f'[[module]]\nid = "TG-{n}"\naddress = "10.20.0.{n}"\nprefix_length = 28\n'
            for n in (33, 34)
        ]
        other = '[[module]]\nid = "TG-60"\naddress = "10.20.0.60"\n'
        check = "broadcast-address-mismatch"
        assert found_in(bare(plan, *agree), check) == {}
        assert set(found_in(bare(plan, *agree, other), check)) >= {"TG-33", "TG-34"}

    @pytest.mark.parametrize("address", ["10.21.0.255", "10.19.255.255", "192.168.7.255"])
    def test_of_another_subnet(self, address: str) -> None:
        lines = module("TG-01", destination=address)
        assert of_delivery(lines) == {"broadcast-leaves-subnet": {"TG-01"}}
        assert findings(lines, "broadcast-leaves-subnet")[0].remedy == (
            "Set destination to 255.255.255.255."
        )

    @pytest.mark.parametrize(
        ("address", "check"),
        [
            ("10.20.0.127", "broadcast-address-mismatch"),
            ("10.21.0.255", "broadcast-leaves-subnet"),
        ],
    )
    def test_a_host_that_sends_there_is_heard_by_nobody(self, address: str, check: str) -> None:
        """Decision 4: what stops every module is a finding on each."""
        lines = traffic(destination=f'"{address}"', talkers='["logger"]')
        assert of_delivery(lines) == {check: EVERYONE}

    def test_one_talker_s_own_mistake_is_its_own(self) -> None:
        lines = traffic(talkers='["TG-01", "TG-02"]') + module("TG-02", destination="10.20.0.127")
        assert of_delivery(lines) == {"broadcast-address-mismatch": {"TG-02"}}

    def test_a_31_has_no_directed_broadcast(self) -> None:
        """RFC 3021, section 2."""
        text = (
            '[network]\nname = "g"\nsecurity = "open"\n[network.ipv4]\nsubnet = "10.20.0.6/31"\n'
            'gateway = "none"\n[traffic]\ndestination = "{}"\nport = 4010\n'
            '[[module]]\nid = "TG-06"\naddress = "10.20.0.6"\n'
            '[[module]]\nid = "TG-07"\naddress = "10.20.0.7"\ntalks = false\n'
        )
        for destination in ("10.20.0.7", "255.255.255.255"):
            result = audit(fleet_of_text(text.format(destination), "kit.toml", {}), TODAY)
            assert [f.check for f in result.findings if f.stage is Stage.DELIVERY] == []


class TestWords:
    """The figures and the places of findings about broadcasts."""

    @pytest.mark.parametrize(
        ("planned", "remedy"),
        [("255.255.255.255", "255.255.255.255"), ("10.20.0.10", "10.20.0.255")],
    )
    def test_the_right_broadcast_is_named_and_a_planned_one_first(
        self, planned: str, remedy: str
    ) -> None:
        """By hand: the first half of the /24 is a /25, whose last address is 10.20.0.127."""
        plan = f'[traffic]\nintent = "broadcast"\ndestination = "{planned}"\n'
        lines = plan + module("TG-01", destination="10.20.0.127")
        (found,) = findings(lines, "broadcast-address-mismatch")
        assert found.message == (
            "10.20.0.127 is a broadcast address by another prefix length; "
            "that of 10.20.0.0/24 is 10.20.0.255."
        )
        assert found.remedy == f"Set destination to {remedy}."
        assert found.where[0] == fleet_of(lines).places.of("module", 0, "destination")

    def test_nobody_is_planned_there(self) -> None:
        lines = to_one("10.20.0.77")
        (found,) = findings(lines, "destination-unassigned")
        assert found.remedy == (
            'Set destination to the receiver, such as 10.20.0.10 ("logger"), '
            "or list the host that has it."
        )

    def test_a_block_that_a_host_may_have_lies_behind_the_gateway(self) -> None:
        """RFC 5737, section 3: 198.51.100.0/24 is for documentation, and a host may have it."""
        assert of_delivery(to_one("198.51.100.7")) == {}

    def test_what_is_meant_for_one_is_not_also_said_to_leave_the_subnet(self) -> None:
        lines = '[traffic]\nintent = "unicast"\ndestination = "10.20.0.10"\n'
        lines += module("TG-01", destination="10.21.0.255")
        assert of_delivery(lines) == {"intent-differs": {"TG-01"}}
        stream = lines.replace("10.21.0.255", "255.255.255.255") + 'transport = "tcp"\n'
        assert of_delivery(stream) == {"intent-differs": {"TG-01"}}

    def test_a_stream_to_many_is_mended_where_it_is_set(self) -> None:
        own = module("TG-01", transport="tcp")
        (found,) = findings(own, "broadcast-needs-datagrams")
        assert found.where[0] == audited(own).modules[0].findings[0].where[0]
        assert found.where[0].column == "transport"
        planned = '[traffic]\ntransport = "tcp"\n'
        places = {each.where[0] for each in findings(planned, "broadcast-needs-datagrams")}
        assert places == {fleet_of(planned).places.of("traffic", "transport")}
        assert found.where[0] not in places


class TestStreams:
    # RFC 1122, section 4.2.3.10: no connection to a broadcast or multicast address.
    @pytest.mark.parametrize("address", ["255.255.255.255", "10.20.0.255", "224.0.0.1"])
    def test_no_stream_to_many(self, address: str) -> None:
        lines = module("TG-01", transport="tcp", destination=address)
        assert of_delivery(lines) == {"broadcast-needs-datagrams": {"TG-01"}}
        found = findings(lines, "broadcast-needs-datagrams")[0]
        assert found.remedy == 'Set transport to "udp".'

    def test_a_planned_stream_to_many_stops_everybody(self) -> None:
        """Decision 4; the logger talks too, so that the listeners hear nothing either."""
        lines = traffic(transport='"tcp"')
        assert of_delivery(lines)["broadcast-needs-datagrams"] == EVERYONE

    def test_a_stream_to_one(self) -> None:
        host = '[[network.host]]\nname = "logger"\ntransport = "tcp"\n'
        lines = to_one("10.20.0.10") + traffic(transport='"tcp"').replace("[traffic]\n", "") + host
        assert of_delivery(lines) == {}

    def test_one_end_waits_for_a_stream(self) -> None:
        lines = module("TG-02", transport="tcp")
        assert of_delivery(lines) == {"transport-mismatch": {"TG-02"}}
        assert findings(lines, "transport-mismatch")[0].remedy == 'Set transport to "udp".'

    def test_the_host_at_the_other_end_decides(self) -> None:
        host = '[[network.host]]\nname = "logger"\ntransport = "tcp"\n'
        lines = to_one("10.20.0.10") + host
        assert of_delivery(lines) == {"transport-mismatch": {"TG-01"}}
        assert findings(lines, "transport-mismatch")[0].remedy == 'Set transport to "tcp".'

    def test_a_receiver_with_another_transport_than_planned_is_found_itself(self) -> None:
        lines = to_one("10.20.0.32") + module("TG-02", transport="tcp")
        assert severities(lines, "transport-mismatch") == {"TG-02": "fault"}

    def test_who_takes_no_part_is_advised(self) -> None:
        """Decision 7."""
        lines = to_one("10.20.0.10") + module("TG-02", transport="tcp")
        assert severities(lines, "transport-mismatch") == {"TG-02": "advice"}

    def test_without_a_plan_the_receiver_decides(self) -> None:
        sender = (
            '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\ntransport = "udp"\nport = 4010\n'
            'destination = "10.20.0.32"\n'
        )
        peer = '[[module]]\nid = "TG-02"\naddress = "10.20.0.32"\ntransport = "{}"\ntalks = false\n'
        check = "transport-mismatch"
        assert found_in(bare(sender, peer.format("tcp")), check) == {"TG-01": "fault"}
        assert found_in(bare(sender, peer.format("udp")), check) == {}

    def test_what_the_plan_says_counts_where_the_host_does_not_say(self) -> None:
        plan = '[traffic]\ndestination = "10.20.0.10"\nport = 4010\ntransport = "udp"\n'
        host = '[[network.host]]\nname = "logger"\naddress = "10.20.0.10"\n'
        sender = '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\ntransport = "tcp"\n'
        assert found_in(bare(host, plan, sender), "transport-mismatch") == {"TG-01": "fault"}


class TestPorts:
    CHECK = "port-mismatch"

    def test_a_listener_on_another_port(self) -> None:
        lines = module("TG-02", listen_port=4011)
        assert fired(lines) == {self.CHECK: {"TG-02"}}
        assert findings(lines, self.CHECK)[0].remedy == "Set listen_port to 4010."

    def test_a_talker_to_another_port(self) -> None:
        lines = module("TG-01", port=4011)
        assert fired(lines) == {self.CHECK: {"TG-01"}}
        assert findings(lines, self.CHECK)[0].remedy == "Set port to 4010."

    def test_the_port_of_a_listener_is_an_advice(self) -> None:
        """Decision 7."""
        assert severities(module("TG-02", port=4011), self.CHECK) == {"TG-02": "advice"}

    def test_the_host_at_the_other_end_decides(self) -> None:
        host = '[[network.host]]\nname = "logger"\nport = 4020\n'
        lines = to_one("10.20.0.10") + host
        assert severities(lines, self.CHECK) == {"TG-01": "fault"}
        assert findings(lines, self.CHECK)[0].message == (
            'Messages go to port 4010, and "logger" listens on 4020.'
        )
        assert of_delivery(lines + module("TG-01", port=4020)) == {}

    def test_a_receiver_that_listens_elsewhere_than_planned_is_found_itself(self) -> None:
        lines = to_one("10.20.0.32") + module("TG-02", listen_port=4011)
        assert severities(lines, self.CHECK) == {"TG-02": "fault"}

    def test_where_one_is_meant_the_ports_of_others_do_not_matter(self) -> None:
        """Decision 7."""
        assert of_delivery(to_one("10.20.0.10") + module("TG-02", listen_port=4011)) == {}

    def test_without_a_plan_the_receiver_decides(self) -> None:
        sender = (
            '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\nport = 4010\n'
            'destination = "10.20.0.32"\n'
        )
        peer = '[[module]]\nid = "TG-02"\naddress = "10.20.0.32"\nlisten_port = {}\ntalks = false\n'
        assert found_in(bare(sender, peer.format(4011)), self.CHECK) == {"TG-01": "fault"}
        assert found_in(bare(sender, peer.format(4010)), self.CHECK) == {}

    def kit_without_plan(self, *ports: tuple[int, int]) -> AuditResult:
        """Return the audit of modules that broadcast to one port and listen on another each."""
        return bare(
            *(
                f'[[module]]\nid = "TG-{n}"\naddress = "10.20.0.{n}"\nport = {port}\n'
                f'listen_port = {listen_port}\ndestination = "255.255.255.255"\n'
                for n, (port, listen_port) in enumerate(ports, start=30)
            )
        )

    def test_without_a_plan_the_odd_listener_is_found_and_not_the_others(self) -> None:
        result = self.kit_without_plan((4010, 4010), (4010, 4010), (4010, 4010), (4010, 4011))
        assert found_in(result, self.CHECK) == {"TG-33": "fault"}

    def test_without_a_plan_the_odd_talker_is_found(self) -> None:
        result = self.kit_without_plan((4010, 4010), (4010, 4010), (4010, 4010), (4011, 4010))
        assert found_in(result, self.CHECK) == {"TG-33": "fault"}

    def test_without_a_plan_all_may_send_where_nobody_listens(self) -> None:
        result = self.kit_without_plan((4010, 4011), (4010, 4011))
        assert found_in(result, self.CHECK) == {"TG-30": "fault", "TG-31": "fault"}
        assert [len(each.findings) for each in result.modules] == [1, 1]

    def test_without_a_plan_all_may_agree(self) -> None:
        assert found_in(self.kit_without_plan((4010, 4010), (4010, 4010)), self.CHECK) == {}


class TestIsolation:
    # Observed on hostapd 2.10 (ap_isolate=1), November 2026: unicast, broadcast and multicast
    # between clients are blocked, those to and from the wired side are not.
    CHECK = "isolation-blocks-peers"
    ON = "[network]\nclient_isolation = true\n"
    WIRELESS = '[[network.host]]\nname = "logger"\nlink = "wireless"\n'

    @pytest.mark.parametrize("address", ["255.255.255.255", "10.20.0.255", "224.0.0.1"])
    def test_broadcast_between_modules(self, address: str) -> None:
        lines = self.ON + module("TG-01", destination=address)
        assert severities(lines, self.CHECK) == {"TG-01": "fault"}

    def test_whoever_hears_only_modules_is_cut_off(self) -> None:
        assert severities(self.ON + traffic(talkers='["TG-01"]'), self.CHECK) == dict.fromkeys(
            EVERYONE, "fault"
        )

    def test_a_wired_talker_is_heard(self) -> None:
        lines = self.ON + traffic(talkers='["logger"]') + module("TG-01", talks=False)
        assert self.CHECK not in fired(lines)

    def test_a_wireless_talker_is_not(self) -> None:
        lines = self.ON + self.WIRELESS + traffic(talkers='["logger"]')
        assert fired(lines)[self.CHECK] == EVERYONE

    @pytest.mark.parametrize(
        ("address", "blocked"),
        [
            ("10.20.0.10", False),
            ("10.20.0.1", False),
            ("10.20.0.32", True),
            ("10.20.0.110", True),
            ("10.30.0.9", False),
        ],
    )
    def test_one_receiver(self, address: str, blocked: bool) -> None:
        """Wired, the gateway, a static module, a reserved one, beyond the gateway."""
        found = severities(self.ON + to_one(address), self.CHECK)
        assert ("TG-01" in found) == blocked
        assert found.get("TG-03") is None

    def test_the_receiver_at_the_other_end_waits_in_vain_too(self) -> None:
        assert set(severities(self.ON + to_one("10.20.0.32"), self.CHECK)) == {"TG-01", "TG-02"}

    def test_a_wireless_host_as_receiver(self) -> None:
        lines = self.ON + self.WIRELESS + to_one("10.20.0.10")
        assert severities(lines, self.CHECK) == {"TG-01": "fault"}

    def test_a_module_alone_blocks_nobody(self) -> None:
        isolated = "client_isolation = true\n"
        plan = '[traffic]\ndestination = "255.255.255.255"\nport = 4010\n{}'
        one = '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\n'
        two = '[[module]]\nid = "TG-02"\naddress = "10.20.0.32"\n'
        both = {"TG-01": "fault", "TG-02": "fault"}
        anyone, named = plan.format(""), plan.format('talkers = ["TG-01"]\n')
        assert found_in(bare(anyone, one, network=isolated), self.CHECK) == {}
        assert found_in(bare(named, one, network=isolated), self.CHECK) == {}
        assert found_in(bare(anyone, one, two, network=isolated), self.CHECK) == both

    def test_the_switch_is_named(self) -> None:
        found = findings(self.ON, self.CHECK)[0]
        assert found.where[0].column == "client_isolation"
        assert found.remedy == "Set client_isolation = false, here and at the access point."

    def test_off(self) -> None:
        assert fired("[network]\nclient_isolation = false\n") == {}


class TestMessageSize:
    """RFC 791, section 3.1, and RFC 768: 65,535 - 20 - 8 bytes; RFC 894: 1500 - 20 - 8."""

    OVER, CUT = "message-over-datagram", "message-in-fragments"

    TO_ONE: ClassVar = {"intent": '"unicast"', "destination": '"10.20.0.10"'}

    def lines(self, size: int, **settings: str) -> str:
        """Return lines that plan a message so seldom that neither line nor air is full."""
        return traffic(message_bytes=str(size), message_interval='"20 min"', **settings)

    @pytest.mark.parametrize(
        ("size", "expected"),
        [
            (1472, {}),
            (1473, {CUT: {THE_KIT}}),
            (65_507, {CUT: {THE_KIT}}),
            (65_508, {OVER: EVERYONE}),
        ],
    )
    def test_both_sides_of_both_borders(self, size: int, expected: dict[str, set[str]]) -> None:
        """The host of the clean kit sends too, so everybody waits for a message like that."""
        assert fired(self.lines(size)) == expected

    @pytest.mark.parametrize("size", [1473, 65_508])
    def test_a_stream_has_no_such_borders(self, size: int) -> None:
        one = self.lines(size, **self.TO_ONE, transport='"tcp"')
        assert {self.OVER, self.CUT}.isdisjoint(fired(one))

    def test_only_those_who_send_it_are_blocked_where_no_host_does(self) -> None:
        lines = self.lines(70_000, talkers='["TG-01"]')
        assert fired(lines) == {self.OVER: {"TG-01"}}
        (found,) = findings(lines, self.OVER)
        assert found.severity is Severity.FAULT
        assert found.message == (
            "A message of 70000 bytes is to go over udp, and the largest datagram carries 65507."
        )
        assert found.remedy == "Set message_bytes to 65507 or less: send it as 2 messages."
        assert [place.column for place in found.where] == ["message_bytes"]
        assert found.figures == {"message_bytes": 70_000, "largest": 65_507}

    def test_to_one_receiver_a_stream_is_a_way_out(self) -> None:
        lines = self.lines(70_000, **self.TO_ONE, talkers='["TG-01"]')
        assert fired(lines) == {self.OVER: {"TG-01"}}
        (found,) = findings(lines, self.OVER)
        assert found.remedy.endswith('2 messages, or set transport to "tcp" at both ends.')

    def test_what_a_host_sends_to_one_concerns_its_receiver_alone(self) -> None:
        to_module = self.TO_ONE | {"destination": '"10.20.0.32"'}
        lines = self.lines(70_000, **to_module, talkers='["logger"]')
        assert fired(lines)[self.OVER] == {"TG-02"}

    def test_a_broadcast_is_a_datagram_though_no_transport_is_given(self) -> None:
        plan = (
            '[traffic]\ndestination = "255.255.255.255"\nmessage_bytes = 70000\n'
            '[[module]]\nid = "TG-01"\naddress = "10.20.0.31"\n'
        )
        assert found_in(bare(plan), self.OVER) == {"TG-01": "fault"}
        to_host = plan.replace("255.255.255.255", "10.20.0.10")
        assert found_in(bare(to_host), self.OVER) == {}

    def test_each_length_is_one_finding_of_the_kit_with_those_who_send_it(self) -> None:
        lines = self.lines(2953) + module("TG-01", message_bytes=1473)
        own, planned = findings(lines, self.CUT)
        assert (own.severity, own.figures["talkers"]) == (Severity.ADVICE, ["TG-01"])
        assert planned.figures == {"message_bytes": 2953, "fragments": 3, "talkers": ["logger"]}
        assert planned.message == (
            "A message of 2953 bytes travels in 3 fragments, and is lost with any of them: logger."
        )
        assert planned.remedy == "Set message_bytes to 1472 or less: send it as 3 messages."
        assert [place.column for place in planned.where] == ["message_bytes"]
        assert planned.where != own.where

    def test_modules_come_before_hosts_in_one_finding(self) -> None:
        (found,) = findings(self.lines(1473, talkers='["logger", "TG-03", "TG-01"]'), self.CUT)
        assert found.figures["talkers"] == ["TG-01", "TG-03", "logger"]

    def test_an_advice_changes_no_verdict(self) -> None:
        assert {each.verdict for each in audited(self.lines(1473)).modules} == {Verdict.READY}


class TestFollowUps:
    def test_who_has_the_receivers_address_is_not_told_that_it_sends_to_itself(self) -> None:
        """The destination is right, and the address is not."""
        lines = (
            '[traffic]\nintent = "unicast"\ndestination = "10.20.0.10"\ntalkers = ["TG-01"]\n'
            '[[module]]\nid = "TG-01"\naddress = "10.20.0.10"\n'
        )
        assert fired(lines)["reserved-address"] == {"TG-01"}
        assert "destination-is-self" not in fired(lines)

    def test_without_a_plan_nobody_can_say_that_a_destination_is_nobodys(self) -> None:
        entry = '[[module]]\nid = "TG-0{0}"\naddress = "10.20.0.3{0}"\nprefix_length = 24\n'
        to = 'destination = "10.20.0.10"\nport = 4010\n'
        text = "".join(entry.format(number) + to for number in range(1, 5))
        result = audit(fleet_of_text(text, "kit.toml", {}), TODAY)
        assert not [each for each in result.findings if each.check == "destination-unassigned"]
