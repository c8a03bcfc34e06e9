"""Address: who may have which address, and what each prefix, gateway, pool and reservation does."""

from ipaddress import IPv4Address, IPv4Network

import netaddr
import pytest

from auditor.audit import audit
from auditor.findings import AuditResult, Stage, State, Verdict
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from tests.checks.kits import THE_KIT, TODAY, audited, findings, fired, module, severities

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}
LEASING = {"TG-03", "TG-04"}
DIRECTED = '[traffic]\ndestination = "10.20.0.255"\n'
TO_LOGGER = '[traffic]\nintent = "unicast"\ndestination = "10.20.0.10"\ntalkers = ["TG-02"]\n'
BEYOND = '[traffic]\nintent = "unicast"\ndestination = "10.30.0.9"\ntalkers = ["TG-02"]\n'


def at(address: str) -> str:
    """Return lines that give TG-02 another address."""
    return module("TG-02", address=address)


def with_subnet(subnet: str, address: str, prefix_length: int | None = None) -> AuditResult:
    """Return the audit of one static module in a subnet, and nothing else planned."""
    own = "" if prefix_length is None else f"prefix_length = {prefix_length}\n"
    text = (
        '[network]\nname = "saltmarsh-gauges"\nsecurity = "open"\n'
        f'[network.ipv4]\nsubnet = "{subnet}"\ngateway = "none"\n'
        '[traffic]\ndestination = "255.255.255.255"\nport = 4010\n'
        f'[[module]]\nid = "TG-01"\naddress = "{address}"\n{own}'
    )
    return audit(fleet_of_text(text, "kit.toml", {}), TODAY)


def of_stage(result: AuditResult, stage: Stage = Stage.ADDRESS) -> dict[str, Severity]:
    """Return the checks of a stage that fire on anybody, with their severity."""
    return {f.check: f.severity for f in result.findings if f.stage is stage}


class TestDuplicates:
    CHECK = "duplicate-static-address"

    def test_both_holders_are_named(self) -> None:
        assert fired(at("10.20.0.31")) == {self.CHECK: {"TG-01", "TG-02"}}

    def test_neighbouring_addresses_are_none(self) -> None:
        assert fired(at("10.20.0.33")) == {}

    def test_the_message_says_that_broadcast_works_and_the_verdict_stays(self) -> None:
        """Decision 26."""
        result = audited(at("10.20.0.31"))
        found = result.modules[0].findings[0]
        assert "Broadcast still reaches each of them" in found.message
        assert "TG-02" in found.message
        assert result.modules[0].verdict is Verdict.BLOCKED
        assert result.modules[0].stops_at is Stage.ADDRESS

    def test_each_holder_is_told_another_free_address(self) -> None:
        lines = at("10.20.0.31") + module("TG-05", address="10.20.0.31")
        told = [f.remedy.split()[3].rstrip(",") for f in findings(lines, self.CHECK)]
        assert len(set(told)) == 3
        for address in map(IPv4Address, told):
            assert address in IPv4Network("10.20.0.0/24")
            assert not IPv4Address("10.20.0.100") <= address <= IPv4Address("10.20.0.149")
            assert str(address) not in ("10.20.0.1", "10.20.0.10", "10.20.0.31")

    def test_every_place_is_named(self) -> None:
        found = findings(at("10.20.0.31"), self.CHECK)[0]
        assert [place.column for place in found.where] == ["address", "address"]
        assert len({place.line for place in found.where}) == 2

    def test_a_written_address_that_is_not_used_is_no_double(self) -> None:
        assert set(fired(module("TG-03", address="10.20.0.32"))) == {"pooled-with-address"}

    def test_many_holders_are_counted_and_not_all_listed(self) -> None:
        lines = "".join(module(f"G{n:03}", address="10.20.0.32") for n in range(1, 60, 2))
        found = findings(lines, self.CHECK)
        assert len(found) == 31
        assert {each.figures["holders"] for each in found} == {31}
        assert all("and 10 more" in each.message for each in found)


class TestStaticInPool:
    CHECK = "static-address-in-pool"

    # The pool is 10.20.0.100 to 10.20.0.149, both ends leased.
    @pytest.mark.parametrize("address", ["10.20.0.100", "10.20.0.149", "10.20.0.120"])
    def test_inside(self, address: str) -> None:
        assert severities(at(address), self.CHECK) == {"TG-02": "risk"}

    @pytest.mark.parametrize("address", ["10.20.0.99", "10.20.0.150"])
    def test_just_outside(self, address: str) -> None:
        assert fired(at(address)) == {}

    def test_it_works_until_the_day(self) -> None:
        result = audited(at("10.20.0.120")).modules[1]
        assert (result.verdict, result.stops_at) == (Verdict.AT_RISK, None)
        assert result.stages[Stage.ADDRESS] is State.AT_RISK

    def test_a_reservation_for_this_module_makes_it_safe(self) -> None:
        mine = '[network.ipv4.reservations]\n"00:00:5e:00:53:02" = "10.20.0.120"\n'
        assert fired(mine + at("10.20.0.120")) == {}

    def test_where_nothing_is_leased_there_is_no_risk(self) -> None:
        off = "[network.ipv4]\naddress_server = false\n"
        assert self.CHECK not in fired(off + at("10.20.0.120"))

    def test_the_remedy_is_the_nearest_free_address_outside_the_pool(self) -> None:
        remedy = findings(at("10.20.0.101"), self.CHECK)[0].remedy
        assert remedy == "Set address to 10.20.0.99, or reserve 10.20.0.101 for this module."


class TestSpecialUse:
    CHECK = "special-use-address"

    # RFC 6890, section 2.2.2: block by block; RFC 1122, section 3.2.1.3: (a) this network,
    # (c) limited broadcast, (g) loopback; RFC 3927, section 2.1; RFC 5771, section 3; RFC 1112,
    # section 4: first and last address of each.
    @pytest.mark.parametrize(
        "address",
        [
            "0.0.0.0",
            "0.255.255.255",
            "127.0.0.0",
            "127.255.255.255",
            "169.254.0.0",
            "169.254.255.255",
            "224.0.0.0",
            "239.255.255.255",
            "240.0.0.0",
            "255.255.255.255",
        ],
    )
    def test_no_station_may_have_it(self, address: str) -> None:
        block = netaddr.IPAddress(address)
        assert (
            block.is_reserved()
            or block.is_loopback()
            or block.is_link_local()
            or block.is_multicast()
            or int(block) >> 24 == 0
        )
        assert fired(at(address)) == {self.CHECK: {"TG-02"}}

    # RFC 1918, section 3, and the neighbours of the blocks above.
    @pytest.mark.parametrize(
        "address", ["1.0.0.0", "126.255.255.255", "128.0.0.0", "169.253.255.255", "172.16.0.1",
                    "169.255.0.0", "192.168.1.77", "223.255.255.255", "10.20.0.33"]
    )  # fmt: skip
    def test_a_station_may_have_it(self, address: str) -> None:
        assert self.CHECK not in fired(at(address))

    def test_the_remedy_is_an_address_of_the_subnet(self) -> None:
        """It keeps its host's number; were that taken, the next one."""
        assert findings(at("169.254.10.2"), self.CHECK)[0].remedy == "Set address to 10.20.0.2."

    # RFC 5737, section 3: for documentation; RFC 2544: benchmarks; RFC 6598, section 7.
    @pytest.mark.parametrize("subnet", ["192.0.2.0/24", "198.18.0.0/24", "100.64.0.0/24"])
    def test_a_set_aside_subnet_that_works_is_an_advice(self, subnet: str) -> None:
        result = with_subnet(subnet, str(IPv4Network(subnet)[5]))
        assert of_stage(result) == {self.CHECK: Severity.ADVICE}

    def test_who_is_alright_in_such_a_subnet_keeps_the_address(self) -> None:
        """A spare address is only for those who need one."""
        result = with_subnet("192.0.2.0/24", "192.0.2.255")
        assert result.modules[0].findings[0].remedy == "Set address to 192.0.2.254."

    def test_a_subnet_that_no_station_may_be_in_is_to_be_changed(self) -> None:
        remedy = with_subnet("169.254.7.0/24", "169.254.7.9").modules[0].findings[0].remedy
        assert "private subnet (RFC 1918)" in remedy

    def test_whoever_leases_a_set_aside_address_is_stopped_too(self) -> None:
        """Decision 4: what stops every module is a finding on each."""
        lines = (
            '[network.ipv4]\nsubnet = "169.254.7.0/24"\ngateway = "none"\n'
            'pool = { first = "169.254.7.20", last = "169.254.7.90" }\n'
        )
        assert fired(lines)[self.CHECK] == LEASING


class TestOffSubnet:
    CHECK = "static-address-off-subnet"

    @pytest.mark.parametrize("address", ["10.19.255.255", "10.20.1.0", "10.21.0.32"])
    def test_just_outside(self, address: str) -> None:
        assert set(fired(at(address))) == {self.CHECK}

    @pytest.mark.parametrize("address", ["10.20.0.2", "10.20.0.254"])
    def test_just_inside(self, address: str) -> None:
        assert fired(at(address)) == {}

    @pytest.mark.parametrize("id", ["TG-01", "TG-02"])
    def test_limited_broadcast_alone_makes_it_a_risk(self, id: str) -> None:
        """Decisions 26 and 30: for talkers (TG-01) as for listeners (TG-02)."""
        lines = module(id, address="10.21.0.32")
        assert severities(lines, self.CHECK) == {id: "risk"}
        assert "limited broadcast" in findings(lines, self.CHECK)[0].message

    # All-hosts multicast gets through too: observed on hostapd 2.10, November 2026.
    def test_multicast_makes_it_a_risk(self) -> None:
        lines = '[traffic]\ndestination = "224.0.0.1"\n' + at("10.21.0.32")
        assert severities(lines, self.CHECK) == {"TG-02": "risk"}

    @pytest.mark.parametrize("traffic", [DIRECTED, TO_LOGGER])
    def test_whoever_needs_more_is_blocked_and_sees_it_at_delivery(self, traffic: str) -> None:
        result = audited(traffic + at("10.21.0.32")).modules[1]
        found = next(f for f in result.findings if f.check == self.CHECK)
        assert (found.severity, found.shows_at) == (Severity.FAULT, Stage.DELIVERY)
        assert (result.stops_at, result.shows_at) == (Stage.ADDRESS, Stage.DELIVERY)

    def test_a_talker_with_a_directed_broadcast_of_its_own_is_blocked(self) -> None:
        lines = module("TG-01", address="10.21.0.31", destination="10.20.0.255")
        assert severities(lines, self.CHECK) == {"TG-01": "fault"}

    def test_a_listener_waits_for_what_the_talkers_really_send(self) -> None:
        lines = module("TG-01", destination="10.20.0.255") + at("10.21.0.32")
        assert severities(lines, self.CHECK) == {"TG-02": "fault"}

    def test_the_destination_of_a_listener_is_nothing_to_it(self) -> None:
        """Decision 7."""
        lines = module("TG-02", address="10.21.0.32", destination="10.20.0.255")
        assert severities(lines, self.CHECK) == {"TG-02": "risk"}

    def test_in_the_module_s_own_slice_of_a_wider_prefix_it_is_off_all_the_same(self) -> None:
        lines = module("TG-02", address="10.20.9.32", prefix_length=16)
        assert set(fired(lines)) == {self.CHECK}

    def test_both_places_are_named(self) -> None:
        found = findings(at("10.21.0.32"), self.CHECK)[0]
        assert [place.column for place in found.where] == ["address", "subnet"]


class TestReserved:
    CHECK = "reserved-address"

    # RFC 1122, section 3.2.1.3 (d) and RFC 919: the highest address of a subnet is its broadcast;
    # RFC 3021, section 3.1 (h): the lowest is no host's source address.
    @pytest.mark.parametrize(
        ("address", "severity"),
        [
            ("10.20.0.1", "fault"),
            ("10.20.0.10", "fault"),
            ("10.20.0.255", "fault"),
            ("10.20.0.0", "risk"),
        ],
    )
    def test_who_else_has_it(self, address: str, severity: str) -> None:
        assert fired(at(address)) == {self.CHECK: {"TG-02"}}
        assert severities(at(address), self.CHECK) == {"TG-02": severity}

    def test_the_owner_and_the_way_out_are_named(self) -> None:
        found = findings(at("10.20.0.10"), self.CHECK)[0]
        assert 'the host "logger"' in found.message
        assert found.remedy == "Set address to 10.20.0.11."

    # Subnets of every length that a class C holds, against ipaddress and netaddr.
    @pytest.mark.parametrize("length", range(16, 31))
    def test_the_first_and_the_last_address_by_prefix_length(self, length: int) -> None:
        network = IPv4Network(("192.168.0.0", length))
        outside = netaddr.IPNetwork(str(network))
        lowest, highest = str(outside.network), str(outside.broadcast)
        assert (lowest, highest) == (str(network.network_address), str(network.broadcast_address))
        assert of_stage(with_subnet(str(network), lowest)) == {self.CHECK: Severity.RISK}
        assert of_stage(with_subnet(str(network), highest)) == {self.CHECK: Severity.FAULT}
        assert of_stage(with_subnet(str(network), str(network[1]))) == {}
        assert of_stage(with_subnet(str(network), str(network[-2]))) == {}

    # RFC 3021, sections 2 and 3.1: both addresses of a /31 are hosts, there is no broadcast.
    @pytest.mark.parametrize("address", ["192.168.2.6", "192.168.2.7"])
    def test_a_31_has_two_hosts(self, address: str) -> None:
        assert netaddr.IPNetwork("192.168.2.6/31").broadcast is None
        assert of_stage(with_subnet("192.168.2.6/31", address)) == {}

    def test_a_32_has_one_host(self) -> None:
        assert of_stage(with_subnet("192.168.2.6/32", "192.168.2.6")) == {}
        assert "static-address-off-subnet" in of_stage(with_subnet("192.168.2.6/32", "192.168.2.7"))


class TestPrefix:
    CHECK = "prefix-mismatch"

    # Narrow prefixes: 10.20.0.32/28 is 10.20.0.32 to .47. Observed on hostapd 2.10, November 2026:
    # the own slice directly, the rest by the gateway, and that only if it is in the slice.
    @pytest.mark.parametrize(
        ("traffic", "settings", "severity"),
        [
            ("", {"prefix_length": 28}, "risk"),
            ("", {"netmask": "255.255.255.240"}, "risk"),
            (DIRECTED, {"prefix_length": 28}, "fault"),
            (TO_LOGGER, {"prefix_length": 28}, "fault"),
            (TO_LOGGER, {"prefix_length": 28, "gateway": "none"}, "fault"),
            (TO_LOGGER, {"prefix_length": 28, "address": "10.20.0.12"}, "risk"),
            (TO_LOGGER, {"prefix_length": 29, "address": "10.20.0.5"}, "risk"),
            (TO_LOGGER, {"prefix_length": 29, "address": "10.20.0.5", "gateway": "none"}, "fault"),
            (BEYOND, {"prefix_length": 28}, "fault"),
            (BEYOND, {"prefix_length": 26}, "risk"),
        ],
    )
    def test_too_long(self, traffic: str, settings: dict[str, str | int], severity: str) -> None:
        lines = traffic + module("TG-02", **settings)
        assert severities(lines, self.CHECK) == {"TG-02": severity}

    # Wide prefixes: only destinations wrongly believed local fail, observed as above.
    @pytest.mark.parametrize(
        ("traffic", "length", "severity"),
        [
            ("", 16, "risk"),
            (TO_LOGGER, 16, "risk"),
            (BEYOND, 16, "risk"),
            (BEYOND, 13, "risk"),
            (BEYOND, 12, "fault"),
            (BEYOND, 8, "fault"),
            (DIRECTED, 16, "fault"),
        ],
    )
    def test_too_short(self, traffic: str, length: int, severity: str) -> None:
        """10.30.0.9 and 10.20.0.32 are both in 10.16.0.0/12, and in no smaller block."""
        inside = IPv4Address("10.30.0.9") in IPv4Network(("10.20.0.32", length), strict=False)
        assert inside == (severity == "fault" and traffic == BEYOND)
        lines = traffic + module("TG-02", prefix_length=length)
        assert severities(lines, self.CHECK) == {"TG-02": severity}

    # The upper half of a /24 has the same broadcast address: observed as above.
    def test_a_directed_broadcast_that_happens_to_agree(self) -> None:
        lines = DIRECTED + module("TG-02", address="10.20.0.200", prefix_length=25)
        assert severities(lines, self.CHECK) == {"TG-02": "risk"}
        lines = DIRECTED + module("TG-02", address="10.20.0.99", prefix_length=25)
        assert severities(lines, self.CHECK) == {"TG-02": "fault"}

    # RFC 1122, section 3.3.6: what comes as a broadcast and is addressed to one is not taken.
    def test_a_host_at_the_broadcast_address_of_the_slice_is_not_reached(self) -> None:
        host = '[[network.host]]\nname = "printer"\naddress = "10.20.0.47"\nport = 4010\n'
        lines = host + TO_LOGGER.replace("10.20.0.10", "10.20.0.47")
        lines += module("TG-02", prefix_length=28, gateway="none")
        assert severities(lines, self.CHECK) == {"TG-02": "fault"}

    def test_it_shows_at_delivery_and_names_the_right_prefix(self) -> None:
        found = findings(module("TG-02", prefix_length=28), self.CHECK)[0]
        assert found.shows_at is Stage.DELIVERY
        assert found.remedy == "Set prefix_length to 24 (netmask 255.255.255.0)."
        assert found.where[0].column == "prefix_length"

    def test_a_gateway_that_nobody_names_is_unknown_and_not_missing(self) -> None:
        """Decision 29."""
        text = (
            '[network]\nname = "saltmarsh-gauges"\nsecurity = "open"\n'
            '[network.ipv4]\nsubnet = "10.20.0.0/24"\n'
            '[[network.host]]\nname = "logger"\naddress = "10.20.0.10"\nport = 4010\n'
            '[traffic]\ndestination = "10.20.0.10"\nport = 4010\n'
            '[[module]]\nid = "TG-01"\naddress = "10.20.0.32"\nprefix_length = 28\n'
        )
        assert of_stage(audit(fleet_of_text(text, "kit.toml", {}), TODAY)) == {
            self.CHECK: Severity.RISK
        }

    def test_the_planned_prefix_is_none(self) -> None:
        assert fired(module("TG-02", prefix_length=24)) == {}
        assert fired(module("TG-02", netmask="255.255.255.0")) == {}

    @pytest.mark.parametrize("length", [0, 31, 32])
    def test_no_length_breaks_it(self, length: int) -> None:
        assert set(fired(module("TG-02", prefix_length=length))) == {self.CHECK}


class TestGateway:
    def test_outside_the_subnet(self) -> None:
        lines = module("TG-02", gateway="10.21.0.1")
        assert fired(lines) == {"gateway-off-subnet": {"TG-02"}}
        found = findings(lines, "gateway-off-subnet")[0]
        assert found.remedy == "Set gateway to 10.20.0.1."
        assert found.shows_at is Stage.DELIVERY

    @pytest.mark.parametrize("gateway", ["10.20.1.0", "10.19.255.255"])
    def test_just_outside_stops_everybody(self, gateway: str) -> None:
        """Decision 4: a planned gateway outside stops every module."""
        assert fired(f'[network.ipv4]\ngateway = "{gateway}"\n') == {"gateway-off-subnet": EVERYONE}

    @pytest.mark.parametrize("gateway", ["10.20.0.2", "10.20.0.254"])
    def test_just_inside(self, gateway: str) -> None:
        assert fired(f'[network.ipv4]\ngateway = "{gateway}"\n') == {}

    @pytest.mark.parametrize(
        ("gateway", "check"), [("none", "gateway-missing"), ("10.20.0.2", "gateway-differs")]
    )
    def test_another_or_none_is_an_advice_inside_and_a_fault_beyond(
        self, gateway: str, check: str
    ) -> None:
        lines = module("TG-02", gateway=gateway)
        assert fired(lines) == {check: {"TG-02"}}
        assert severities(lines, check) == {"TG-02": "advice"}
        assert audited(lines).modules[1].verdict is Verdict.READY
        assert severities(TO_LOGGER + lines, check) == {"TG-02": "advice"}
        assert severities(BEYOND + lines, check) == {"TG-02": "fault"}
        assert of_stage(audited(BEYOND + lines)) == {check: Severity.FAULT}
        assert of_stage(audited(BEYOND + lines), Stage.DELIVERY) == {}
        found = findings(BEYOND + lines, check)[0]
        assert (found.remedy, found.shows_at) == ("Set gateway to 10.20.0.1.", Stage.DELIVERY)

    def test_a_listener_s_destination_needs_no_gateway(self) -> None:
        """Decision 7."""
        lines = BEYOND.replace("TG-02", "TG-01") + module("TG-02", gateway="none")
        assert severities(lines, "gateway-missing") == {"TG-02": "advice"}

    def test_a_destination_that_nothing_reaches_needs_no_gateway(self) -> None:
        lines = BEYOND.replace("10.30.0.9", "127.0.0.1") + module("TG-02", gateway="none")
        assert severities(lines, "gateway-missing") == {"TG-02": "advice"}
        assert severities(lines, "destination-unreachable") == {"TG-02": "fault"}

    def test_none_planned_and_none_set_agree(self) -> None:
        """Decision 29: "none" says that there is none."""
        assert fired('[network.ipv4]\ngateway = "none"\n' + module("TG-02", gateway="none")) == {}

    def test_a_kit_without_a_plan_is_compared_with_itself_alone(self) -> None:
        table = (
            "id,IP,netmask,gateway\n"
            "TG-01,10.20.0.31,255.255.255.0,10.20.0.1\n"
            "TG-02,10.20.0.32,255.255.255.0,10.20.0.1\n"
            "TG-03,10.21.0.33,255.255.255.0,10.21.0.1\n"
            "TG-04,10.20.0.34,255.255.255.0,none\n"
        )
        assert fired(table) == {"odd-one-out": {"TG-03", "TG-04"}}

    def test_in_the_pool(self) -> None:
        lines = '[network.ipv4]\ngateway = "10.20.0.{}"\n'
        assert fired(lines.format(100))["gateway-in-pool"] == {THE_KIT}
        assert fired(lines.format(149))["gateway-in-pool"] == {THE_KIT}
        assert fired(lines.format(99)) == {}
        assert fired(lines.format(150)) == {}

    @pytest.mark.parametrize(
        ("last_octet", "remedy"),
        [
            (100, "Let the pool begin at 10.20.0.101."),
            (124, "Let the pool begin at 10.20.0.125."),
            (125, "Let the pool end at 10.20.0.124."),
            (149, "Let the pool end at 10.20.0.148."),
        ],
    )
    def test_the_longer_part_of_the_pool_is_kept(self, last_octet: int, remedy: str) -> None:
        lines = f'[network.ipv4]\ngateway = "10.20.0.{last_octet}"\n'
        assert findings(lines, "gateway-in-pool")[0].remedy == remedy

    def test_a_reservation_keeps_the_gateway_s_address(self) -> None:
        lines = (
            '[network.ipv4]\ngateway = "10.20.0.120"\n'
            '[network.ipv4.reservations]\n"02:00:00:00:00:01" = "10.20.0.120"\n'
        )
        assert fired(lines) == {}


class TestGatewayNotAHost:
    CHECK = "gateway-not-a-host"

    # RFC 1122, section 3.2.1.3 (d), and RFC 919: the highest address is everybody's; RFC 3021,
    # section 3.1 (h): the lowest is no host's. Observed on Linux 6.18, 2026: the highest is refused
    # as a gateway ("Nexthop has invalid gateway"), the lowest is taken.
    @pytest.mark.parametrize(
        ("gateway", "meaning"),
        [("10.20.0.255", "the broadcast address"), ("10.20.0.0", "the network address")],
    )
    def test_neither_end_of_the_subnet_is_a_gateway(self, gateway: str, meaning: str) -> None:
        lines = module("TG-02", gateway=gateway)
        assert fired(lines) == {self.CHECK: {"TG-02"}}
        found = findings(lines, self.CHECK)[0]
        assert (found.severity, found.shows_at) == (Severity.RISK, Stage.ADDRESS)
        assert f"{gateway} is {meaning} of 10.20.0.0/24" in found.message
        assert found.remedy == "Set gateway to 10.20.0.1."
        assert [place.column for place in found.where] == ["gateway", "subnet"]

    @pytest.mark.parametrize("gateway", ["10.20.0.254", "10.20.0.2"])
    def test_the_hosts_beside_them_are_others_but_possible_gateways(self, gateway: str) -> None:
        assert set(fired(module("TG-02", gateway=gateway))) == {"gateway-differs"}

    @pytest.mark.parametrize("gateway", ["10.20.0.0", "10.20.0.255"])
    def test_whoever_needs_it_is_blocked_and_sees_it_at_delivery(self, gateway: str) -> None:
        lines = BEYOND + module("TG-02", gateway=gateway)
        assert of_stage(audited(lines)) == {self.CHECK: Severity.FAULT}
        assert of_stage(audited(lines), Stage.DELIVERY) == {}
        result = audited(lines).modules[1]
        assert (result.stops_at, result.shows_at) == (Stage.ADDRESS, Stage.DELIVERY)
        assert "10.30.0.9 is beyond the subnet" in result.findings[0].message

    def test_a_planned_one_is_a_finding_on_everybody_and_a_free_one_is_named(self) -> None:
        """Decision 4."""
        lines = '[network.ipv4]\ngateway = "10.20.0.255"\n'
        assert fired(lines) == {self.CHECK: EVERYONE}
        for found in findings(lines, self.CHECK):
            assert found.where[0].column == "gateway"
            assert found.remedy == (
                "Set gateway to the address that the router has; 10.20.0.254 is free for it."
            )
        assert severities(BEYOND + lines, self.CHECK)["TG-02"] == "fault"
        assert severities(BEYOND + lines, self.CHECK)["TG-01"] == "risk"

    def test_a_planned_one_that_nobody_uses_is_the_kit_s_and_is_never_advised(self) -> None:
        lines = '[network.ipv4]\ngateway = "10.20.0.255"\n'
        for number in range(1, 5):
            own = "10.20.0.1" if number < 4 else "none"
            lines += module(
                f"TG-0{number}", addressing="static", address=f"10.20.0.3{number}", gateway=own
            )
        lines += '[network.ipv4.reservations]\n"00:00:5e:00:53:04" = "10.20.0.34"\n'
        assert fired(lines) == {self.CHECK: {THE_KIT}}
        away = BEYOND.replace("TG-02", "TG-04") + lines
        assert severities(away, "destination-unreachable") == {"TG-04": "fault"}

    # RFC 3021, sections 2 and 3.1: both addresses of a /31 are hosts.
    @pytest.mark.parametrize(
        ("subnet", "address", "gateway", "fires"),
        [
            ("192.168.2.6/31", "192.168.2.6", "192.168.2.7", False),
            ("192.168.2.6/31", "192.168.2.7", "192.168.2.6", False),
            ("192.168.2.6/32", "192.168.2.6", "192.168.2.6", False),
            ("192.168.2.4/30", "192.168.2.5", "192.168.2.7", True),
            ("192.168.2.4/30", "192.168.2.5", "192.168.2.4", True),
            ("192.168.2.4/30", "192.168.2.5", "192.168.2.6", False),
        ],
    )
    def test_the_smallest_subnets(
        self, subnet: str, address: str, gateway: str, fires: bool
    ) -> None:
        text = (
            f'[network]\n[network.ipv4]\nsubnet = "{subnet}"\ngateway = "{gateway}"\n'
            f'[[module]]\nid = "TG-01"\naddress = "{address}"\n'
        )
        found = of_stage(audit(fleet_of_text(text, "kit.toml", {}), TODAY))
        assert (self.CHECK in found) is fires

    def test_without_a_plan_it_is_the_module_s_own_subnet_that_counts(self) -> None:
        table = "id,IP,netmask,gateway\nTG-01,10.20.0.31,255.255.255.0,10.20.0.255\n"
        assert set(fired(table)) == {self.CHECK}
        assert fired(table.replace("255.255.255.0", "255.255.254.0")) == {}


class TestHosts:
    HOST = '[[network.host]]\nname = "{}"\naddress = "{}"\n'

    # RFC 1122, section 3.2.1.3 (d), RFC 919, RFC 3021, section 3.1 (h).
    @pytest.mark.parametrize(
        ("address", "free"), [("10.20.0.255", "10.20.0.254"), ("10.20.0.0", "10.20.0.2")]
    )
    def test_one_at_an_end_of_the_subnet(self, address: str, free: str) -> None:
        lines = self.HOST.format("printer", address)
        assert fired(lines) == {"host-address-reserved": {THE_KIT}}
        (found,) = findings(lines, "host-address-reserved")
        assert (found.severity, found.concerns) == (Severity.RISK, ())
        assert found.remedy == f"Give the host {free}, here and at the host itself."
        assert found.where[0].column == "address"

    @pytest.mark.parametrize("address", ["10.20.0.254", "10.20.0.2"])
    def test_one_beside_an_end_is_none(self, address: str) -> None:
        assert fired(self.HOST.format("printer", address)) == {}

    def test_a_32_has_a_host_at_its_only_address(self) -> None:
        """RFC 3021 speaks of /31; of a /32 nothing is left over either."""
        text = (
            '[network]\n[network.ipv4]\nsubnet = "192.168.2.6/{}"\n'
            '[[network.host]]\nname = "logger"\naddress = "192.168.2.6"\n[[module]]\nid = "A"\n'
        )
        for length in (31, 32):
            file = fleet_of_text(text.format(length), "kit.toml", {})
            assert "host-address-reserved" not in of_stage(audit(file, TODAY))

    @pytest.mark.parametrize("address", ["10.20.0.255", "10.20.0.0"])
    def test_whoever_sends_to_it_is_blocked(self, address: str) -> None:
        lines = self.HOST.format("logger", address) + TO_LOGGER.replace("10.20.0.10", address)
        assert severities(lines, "host-address-reserved") == {"TG-02": "fault"}
        found = findings(lines, "host-address-reserved")[0]
        assert found.shows_at is Stage.DELIVERY
        assert [place.column for place in found.where] == ["destination", "address", "subnet"]

    def test_a_broadcast_is_not_for_the_host(self) -> None:
        lines = self.HOST.format("printer", "10.20.0.255") + DIRECTED
        assert severities(lines, "host-address-reserved") == {THE_KIT: "risk"}

    def test_two_at_one_address_may_be_one_machine(self) -> None:
        lines = self.HOST.format("printer", "10.20.0.10")
        (found,) = findings(lines, "hosts-share-address")
        assert found.message == (
            'The hosts "logger" and "printer" have the same address, 10.20.0.10.'
        )
        assert found.remedy == 'Give "printer" 10.20.0.11, unless they are services of one machine.'
        assert (found.severity, found.concerns) == (Severity.ADVICE, ())
        assert {each.verdict for each in audited(lines).modules} == {Verdict.READY}
        assert fired(self.HOST.format("printer", "10.20.0.11")) == {}

    def test_a_wired_and_a_wireless_one_are_hardly_one(self) -> None:
        lines = self.HOST.format("printer", "10.20.0.10") + 'link = "wireless"\n'
        (found,) = findings(lines, "hosts-share-address")
        assert (found.severity, found.concerns) == (Severity.RISK, ())
        assert found.remedy == 'Give "printer" 10.20.0.11.'
        (sent_to,) = findings(TO_LOGGER + lines, "hosts-share-address")
        assert sent_to.concerns == (1,)

    def test_a_gateway_that_is_listed_as_a_host_is_one_machine(self) -> None:
        assert fired(self.HOST.format("access point", "10.20.0.1")) == {}

    def test_of_very_many_the_first_are_named(self) -> None:
        lines = "".join(self.HOST.format(f"logger {n}", "10.20.0.11") for n in range(23))
        (found,) = findings(lines, "hosts-share-address")
        assert '"logger 19" and 3 more have the same address' in found.message
        assert len(found.where) == 20


class TestAddressing:
    def test_static_without_an_address(self) -> None:
        lines = module("TG-03", addressing="static")
        assert fired(lines) == {"static-without-address": {"TG-03"}}
        assert findings(lines, "static-without-address")[0].remedy == "Set address to 10.20.0.2."

    def test_two_without_are_told_different_addresses(self) -> None:
        lines = module("TG-03", addressing="static") + module("TG-05", addressing="static")
        told = {found.remedy for found in findings(lines, "static-without-address")}
        assert told == {"Set address to 10.20.0.2.", "Set address to 10.20.0.3."}

    def test_a_full_subnet_has_none_to_tell(self) -> None:
        lines = (
            '[network.ipv4]\nsubnet = "10.20.0.0/30"\ngateway = "10.20.0.1"\n'
            'pool = { first = "10.20.0.2", last = "10.20.0.2" }\n' + at("10.20.0.1")
        )
        assert findings(lines, "reserved-address")[0].remedy == (
            "Give it a free address of the subnet."
        )

    def test_pooled_with_an_address(self) -> None:
        lines = module("TG-03", address="10.20.0.33")
        assert severities(lines, "pooled-with-address") == {"TG-03": "advice"}
        assert audited(lines).modules[2].verdict is Verdict.READY

    def test_the_reserved_address_may_be_written_down(self) -> None:
        assert fired(module("TG-04", address="10.20.0.110")) == {}
        assert set(fired(module("TG-04", address="10.20.0.111"))) == {"pooled-with-address"}


class TestPool:
    def pool(self, first: str, last: str) -> str:
        """Return lines with another pool, and the reservation in the subnet."""
        return (
            f'[network.ipv4]\npool = {{ first = "{first}", last = "{last}" }}\n'
            '[network.ipv4.reservations]\n"00:00:5e:00:53:04" = "10.20.0.40"\n'
        )

    @pytest.mark.parametrize(
        ("first", "last"),
        [
            ("10.20.0.200", "10.20.1.0"),
            ("10.19.255.255", "10.20.0.5"),
            ("10.21.0.100", "10.21.0.149"),
            ("10.19.0.0", "10.21.0.0"),
        ],
    )
    def test_not_inside_the_subnet(self, first: str, last: str) -> None:
        """Decision 4: on every module that leases."""
        found = fired(self.pool(first, last))
        assert found["pool-off-subnet"] == LEASING

    @pytest.mark.parametrize(
        ("first", "last"), [("10.20.0.200", "10.20.0.254"), ("10.20.0.50", "10.20.0.254")]
    )
    def test_inside_the_subnet(self, first: str, last: str) -> None:
        assert fired(self.pool(first, last)) == {}

    def test_where_nobody_leases_it_is_the_kit_s(self) -> None:
        lines = self.pool("10.21.0.100", "10.21.0.149")
        lines += module("TG-03", addressing="static", address="10.20.0.33")
        lines += module("TG-04", addressing="static", address="10.20.0.40")
        assert fired(lines) == {"pool-off-subnet": {THE_KIT}}

    def test_no_server_stops_whoever_leases(self) -> None:
        lines = "[network.ipv4]\naddress_server = false\n"
        assert fired(lines) == {"no-address-server": LEASING}
        found = findings(lines, "no-address-server")[0]
        assert [place.column for place in found.where] == ["addressing", "address_server"]

    def test_a_pool_that_is_not_given_is_not_known(self) -> None:
        """Decision 29."""
        text = (
            '[network]\nname = "saltmarsh-gauges"\nsecurity = "open"\n'
            '[network.ipv4]\nsubnet = "10.20.0.0/24"\ngateway = "none"\n{}'
            '[traffic]\ndestination = "255.255.255.255"\nport = 4010\n'
            '[[module]]\nid = "TG-01"\naddressing = "pooled"\n'
        )
        unknown = audit(fleet_of_text(text.format(""), "kit.toml", {}), TODAY)
        assert of_stage(unknown) == {}
        assert unknown.modules[0].stages[Stage.ADDRESS] is State.UNKNOWN
        said = "address_server = true\n"
        known = audit(fleet_of_text(text.format(said), "kit.toml", {}), TODAY)
        assert known.modules[0].stages[Stage.ADDRESS] is State.CLEAR

    # RFC 1122, section 3.2.1.3 (d), RFC 919, RFC 3021, section 3.1 (h).
    @pytest.mark.parametrize(
        ("first", "last", "remedy"),
        [
            ("10.20.0.100", "10.20.0.255", "Let the pool end at 10.20.0.254"),
            ("10.20.0.0", "10.20.0.99", "Let the pool begin at 10.20.0.1"),
            (
                "10.20.0.0",
                "10.20.0.255",
                "Let the pool begin at 10.20.0.11 and end at 10.20.0.254.",
            ),
            ("10.20.0.255", "10.20.0.255", "Choose another pool inside 10.20.0.1 to 10.20.0.254."),
        ],
    )
    def test_an_end_of_the_subnet_in_it(self, first: str, last: str, remedy: str) -> None:
        (found,) = findings(self.pool(first, last), "pool-beyond-host-addresses")
        assert found.remedy.startswith(remedy)
        assert (found.severity, found.concerns) == (Severity.RISK, (2, 3))
        assert ("network address" in found.message) == (first == "10.20.0.0")
        assert ("broadcast address" in found.message) == (last == "10.20.0.255")

    @pytest.mark.parametrize(
        ("first", "last"), [("10.20.0.100", "10.20.0.254"), ("10.20.0.200", "10.20.1.0")]
    )
    def test_neither_end_in_it_or_not_in_the_subnet_at_all(self, first: str, last: str) -> None:
        assert "pool-beyond-host-addresses" not in fired(self.pool(first, last))

    def test_a_pool_that_nobody_leases_from_may_hold_them(self) -> None:
        lines = self.pool("10.20.0.100", "10.20.0.255").replace(
            "pool =", "address_server = false\npool ="
        )
        assert "pool-beyond-host-addresses" not in fired(lines)

    def test_both_of_a_31_can_be_leased(self) -> None:
        """RFC 3021, section 2."""
        text = (
            '[network]\n[network.ipv4]\nsubnet = "192.168.2.6/31"\n'
            'pool = { first = "192.168.2.6", last = "192.168.2.7" }\n'
            '[[module]]\nid = "TG-01"\naddressing = "pooled"\n'
        )
        assert of_stage(audit(fleet_of_text(text, "kit.toml", {}), TODAY)) == {}

    def test_a_host_in_it(self) -> None:
        """Decision 4: hygiene of the file is a kit finding alone."""
        host = '[[network.host]]\nname = "logger"\naddress = "10.20.0.{}"\n'
        assert fired(host.format(100)) == {"pool-overlaps-host": {THE_KIT}}
        assert fired(host.format(149)) == {"pool-overlaps-host": {THE_KIT}}
        assert fired(host.format(99)) == {}
        assert fired(host.format(150)) == {}
        assert {each.verdict for each in audited(host.format(149)).modules} == {Verdict.READY}
        assert findings(host.format(149), "pool-overlaps-host")[0].remedy == (
            "Let the pool end at 10.20.0.148, or reserve the address for the host."
        )

    def test_nothing_is_in_a_pool_that_nobody_leases_from(self) -> None:
        off = '[network.ipv4]\naddress_server = false\ngateway = "10.20.0.120"\n'
        host = '[[network.host]]\nname = "logger"\naddress = "10.20.0.130"\n'
        assert set(fired(off + host)) == {"no-address-server"}


class TestReservations:
    CHECK = "reservation-conflict"

    def reserve(self, address: str, owner: str = "00:00:5e:00:53:04") -> str:
        """Return lines that reserve an address, for TG-04 unless somebody else is named."""
        return f'[network.ipv4.reservations]\n"{owner}" = "{address}"\n'

    @pytest.mark.parametrize(
        ("address", "why"),
        [
            ("10.20.0.10", 'the host "logger"'),
            ("10.20.0.1", "the gateway"),
            ("10.20.0.255", "the broadcast address"),
            ("10.20.0.0", "the network address"),
            ("10.20.0.32", "TG-02 has it as its static address"),
            ("10.21.0.40", "outside the subnet 10.20.0.0/24"),
        ],
    )
    def test_the_owner_gets_nothing_usable(self, address: str, why: str) -> None:
        found = findings(self.reserve(address), self.CHECK)
        assert why in found[-1].message
        assert {each.severity for each in found} == {Severity.FAULT}
        assert "TG-04" in fired(self.reserve(address))[self.CHECK]

    @pytest.mark.parametrize("address", ["10.20.0.2", "10.20.0.254", "10.20.0.100", "10.20.0.149"])
    def test_a_free_address_inside_or_outside_the_pool_is_good(self, address: str) -> None:
        assert fired(self.reserve(address)) == {}

    def test_two_owners_of_one_address(self) -> None:
        lines = self.reserve("10.20.0.110", "00:00:5e:00:53:03")
        assert fired(lines) == {self.CHECK: LEASING}
        remedies = [found.remedy for found in findings(lines, self.CHECK)]
        assert remedies == [
            "Reserve 10.20.0.99 for 00:00:5e:00:53:03.",
            "Reserve 10.20.0.98 for 00:00:5e:00:53:04.",
        ]

    def test_a_static_address_that_is_reserved_for_another(self) -> None:
        lines = self.reserve("10.20.0.32", "02:00:00:00:00:77")
        assert fired(lines) == {self.CHECK: {"TG-02"}}
        found = findings(lines, self.CHECK)[0]
        assert found.remedy == "Set address to 10.20.0.33."
        assert "02:00:00:00:00:77" in found.message

    def test_a_module_whose_hardware_address_is_not_given_may_be_the_owner(self) -> None:
        lines = self.reserve("10.20.0.50", "02:00:00:00:00:77") + module(
            "TG-05", address="10.20.0.50"
        )
        result = audited(lines)
        assert result.findings == ()
        assert result.modules[4].verdict is Verdict.UNKNOWN
        assert ("the module's hardware_address, for the reservations", ("TG-05",)) in [
            (entry.reason, entry.modules) for entry in result.not_checked
        ]

    def test_but_not_where_the_owner_is_another_module(self) -> None:
        lines = module("TG-05", address="10.20.0.110")
        assert fired(lines)[self.CHECK] == {"TG-04", "TG-05"}
