"""Who hears what: what destinations mean, and who receives a datagram.

What was really received stands in tests/observed; here are the rules of the standards, and the
checks held against the prediction.
"""

from datetime import date, datetime
from ipaddress import IPv4Address, IPv4Interface, IPv4Network

import netaddr
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.audit import audit
from auditor.findings import Stage
from auditor.models.fleet_file import FleetFile
from auditor.models.words import Intent, Severity
from auditor.reading.fleet import fleet_of_text
from auditor.survey.audience import (
    Endpoint,
    Reach,
    concerning,
    endpoint_of,
    endpoints,
    needs_gateway,
    needs_only_link_wide,
    own_address,
    reach_of,
    receivers,
    takes_part,
)
from auditor.survey.kit import Survey

TODAY = datetime(2026, 2, 1)
ROUTER = IPv4Address("10.20.0.1")
PORT = 4010


def endpoint(name: str, interface: str, **settings: object) -> Endpoint:
    """Return an endpoint at an address with a prefix length; by radio, unless said otherwise."""
    own = IPv4Interface(interface)
    usual = {"gateway": None, "is_wireless": True, "listen_port": PORT}
    return Endpoint(name, own.ip, own.network, **(usual | settings))  # type: ignore[arg-type]


def heard(sender: Endpoint, to: str, *others: Endpoint, **settings: object) -> set[str]:
    """Return who receives a datagram that is sent to the usual port."""
    usual = {"port": PORT}
    return set(receivers(sender, IPv4Address(to), others=others, **(usual | settings)))  # type: ignore[arg-type]


def survey_of(text: str) -> Survey:
    """Return the survey of a fleet file."""
    return Survey(fleet_of_text(text, "kit.toml", {}), date(2026, 2, 1))


A = endpoint("a", "10.20.0.31/24")
B = endpoint("b", "10.20.0.32/24")
WIRED = endpoint("wired", "10.20.0.10/24", is_wireless=False)
AP = endpoint("ap", "10.20.0.1/24", is_wireless=False)


class TestReceivers:
    # RFC 919, section 7 (limited and directed broadcast); RFC 1112, section 4 (all hosts).
    @pytest.mark.parametrize("to", ["255.255.255.255", "10.20.0.255", "224.0.0.1"])
    def test_a_broadcast_reaches_all_but_its_sender(self, to: str) -> None:
        assert heard(A, to, A, B, WIRED) == {"b", "wired"}

    @pytest.mark.parametrize("to", ["255.255.255.255", "10.20.0.255", "224.0.0.1"])
    def test_isolation_leaves_the_wired_side(self, to: str) -> None:
        assert heard(A, to, B, WIRED, isolated=True) == {"wired"}
        assert heard(WIRED, to, A, B, isolated=True) == {"a", "b"}

    def test_one_receiver(self) -> None:
        assert heard(A, "10.20.0.32", B, WIRED) == {"b"}
        assert heard(A, "10.20.0.32", B, WIRED, isolated=True) == set()
        assert heard(A, "10.20.0.10", B, WIRED, isolated=True) == {"wired"}

    def test_nobody_and_oneself(self) -> None:
        assert heard(A, "10.20.0.77", B, WIRED) == set()
        assert heard(A, "10.20.0.31", A, B, WIRED) == set()

    @pytest.mark.parametrize(("port", "reached"), [(PORT, {"b"}), (PORT + 1, set())])
    def test_only_who_listens_on_the_port(self, port: int, reached: set[str]) -> None:
        assert heard(A, "10.20.0.32", B, port=port) == reached
        assert heard(A, "255.255.255.255", B, port=port) == reached

    def test_a_port_that_is_not_known_hinders_nobody(self) -> None:
        quiet = endpoint("c", "10.20.0.33/24", listen_port=None)
        assert heard(A, "10.20.0.33", quiet) == {"c"}
        assert heard(A, "10.20.0.32", B, port=None) == {"b"}

    # RFC 1122, section 3.3.1.1: what is not on the own network goes to a gateway on it.
    def test_beyond_the_own_slice_only_by_the_router(self) -> None:
        settings = {"router": ROUTER}
        near = endpoint("n", "10.20.0.5/28", gateway=ROUTER)
        assert heard(near, "10.20.0.32", AP, B, **settings) == {"b"}
        far = endpoint("f", "10.20.0.50/28", gateway=ROUTER)
        assert heard(far, "10.20.0.32", AP, B, **settings) == set()
        lone = endpoint("l", "10.20.0.5/28")
        assert heard(lone, "10.20.0.32", AP, B, **settings) == set()

    # RFC 922, section 7; by netaddr for each length.
    @pytest.mark.parametrize("length", range(8, 31))
    def test_a_directed_broadcast_is_heard_by_those_of_its_prefix(self, length: int) -> None:
        to = str(netaddr.IPNetwork(f"10.20.0.31/{length}").broadcast)
        sender = endpoint("s", f"10.20.0.31/{length}")
        same = endpoint("same", f"10.20.0.30/{length}")
        others = [endpoint(f"/{n}", f"10.20.0.30/{n}") for n in range(8, 31) if n != length]
        agree = {
            f"/{n}" for n in range(8, 31)
            if n != length and str(netaddr.IPNetwork(f"10.20.0.30/{n}").broadcast) == to
        }  # fmt: skip
        assert heard(sender, to, same, *others) == {"same"} | agree

    def test_a_31_has_none(self) -> None:
        """RFC 3021, section 2: both addresses are hosts."""
        six, seven = endpoint("six", "10.20.0.6/31"), endpoint("seven", "10.20.0.7/31")
        assert six.broadcast is None
        assert heard(six, "10.20.0.7", seven) == {"seven"}


KIT = """
[network]
name = "saltmarsh-gauges"
security = "open"
[network.ipv4]
subnet = "10.20.0.0/24"
gateway = "10.20.0.1"
pool = {{ first = "10.20.0.100", last = "10.20.0.149" }}
[network.ipv4.reservations]
"00:00:5e:00:53:03" = "10.20.0.110"
[[network.host]]
name = "ap"
address = "10.20.0.1"
[[network.host]]
name = "printer"
address = "10.20.0.63"
[traffic]
{traffic}
[[module]]
id = "TG-01"
address = "10.20.0.31"
[[module]]
id = "TG-02"
address = "10.20.0.32"
prefix_length = 26
[[module]]
id = "TG-03"
addressing = "pooled"
hardware_address = "00:00:5e:00:53:03"
"""


class TestReach:
    # RFC 919, section 7; RFC 922, section 7; RFC 5771, section 3; the rest by the subnet.
    @pytest.mark.parametrize(
        ("address", "reach"),
        [
            ("255.255.255.255", Reach.LIMITED),
            ("10.20.0.255", Reach.DIRECTED),
            ("224.0.0.0", Reach.MULTICAST),
            ("239.255.255.255", Reach.MULTICAST),
            ("223.255.255.254", Reach.UNICAST),
            ("10.20.0.10", Reach.UNICAST),
            ("10.20.0.254", Reach.UNICAST),
            ("10.20.0.127", Reach.UNICAST),
            ("10.20.255.255", Reach.OTHER_PREFIX),
            ("10.255.255.255", Reach.OTHER_PREFIX),
            ("10.21.0.255", Reach.OTHER_SUBNET),
            ("10.21.0.254", Reach.UNICAST),
        ],
    )
    def test_what_an_address_means(self, address: str, reach: Reach) -> None:
        survey = survey_of(KIT.format(traffic=""))
        assert reach_of(IPv4Address(address), survey.modules[0], survey) is reach

    def test_inside_the_subnet_a_plan_to_broadcast_tells_a_broadcast_from_a_host(self) -> None:
        survey = survey_of(KIT.format(traffic='intent = "broadcast"'))
        first = survey.modules[0]
        assert reach_of(IPv4Address("10.20.0.127"), first, survey) is Reach.OTHER_PREFIX
        assert reach_of(IPv4Address("10.20.0.126"), first, survey) is Reach.UNICAST

    def test_an_address_that_somebody_has_is_nobody_s_broadcast(self) -> None:
        survey = survey_of(KIT.format(traffic='intent = "broadcast"'))
        assert reach_of(IPv4Address("10.20.0.63"), survey.modules[1], survey) is Reach.UNICAST

    def test_a_module_s_own_prefix_tells_its_own_broadcast(self) -> None:
        text = KIT.format(traffic="").replace("10.20.0.63", "10.20.0.62")
        survey = survey_of(text)
        address = IPv4Address("10.20.0.63")
        reaches = [reach_of(address, module, survey) for module in survey.modules]
        assert reaches == [Reach.UNICAST, Reach.OTHER_PREFIX, Reach.UNICAST]

    @pytest.mark.parametrize("reach", Reach)
    def test_all_but_unicast_mean_everybody(self, reach: Reach) -> None:
        expected = Intent.UNICAST if reach is Reach.UNICAST else Intent.BROADCAST
        assert reach.intent is expected


class TestConcern:
    def test_a_reserved_address_is_known(self) -> None:
        survey = survey_of(KIT.format(traffic=""))
        assert own_address(survey.modules[2], survey) == IPv4Address("10.20.0.110")
        assert endpoint_of(survey.modules[2], survey).network == IPv4Network("10.20.0.0/24")

    def test_hosts_and_modules_are_endpoints(self) -> None:
        survey = survey_of(KIT.format(traffic=""))
        found = {each.name: each.is_wireless for each in endpoints(survey)}
        assert found == {
            "ap": False, "printer": False, "TG-01": True, "TG-02": True, "TG-03": True
        }  # fmt: skip

    @pytest.mark.parametrize(
        ("traffic", "concern", "link_wide"),
        [
            ('destination = "255.255.255.255"', {"255.255.255.255"}, True),
            ('destination = "10.20.0.255"', {"10.20.0.255"}, False),
            ('destination = "10.20.0.63"\ntalkers = ["TG-02"]', set(), False),
            ('destination = "10.20.0.31"\ntalkers = ["TG-02"]', {"10.20.0.31"}, False),
            ('destination = "10.20.0.63"', {"10.20.0.63"}, False),
            ("", set(), False),
        ],
    )
    def test_what_matters_to_a_module(
        self, traffic: str, concern: set[str], link_wide: bool
    ) -> None:
        survey = survey_of(KIT.format(traffic=traffic))
        assert concerning(survey.modules[0], survey) == set(map(IPv4Address, concern))
        assert needs_only_link_wide(survey.modules[0], survey) is link_wide

    @pytest.mark.parametrize(
        ("traffic", "parts"),
        [
            ('destination = "255.255.255.255"\ntalkers = ["TG-02"]', [True, True, True]),
            ('destination = "10.20.0.63"\ntalkers = ["TG-02"]', [False, True, False]),
            ('destination = "10.20.0.31"\ntalkers = ["TG-02"]', [True, True, False]),
            ('destination = "10.20.0.63"', [True, True, True]),
            ('talkers = ["TG-02"]', [True, True, True]),
        ],
    )
    def test_who_takes_part(self, traffic: str, parts: list[bool]) -> None:
        survey = survey_of(KIT.format(traffic=traffic))
        assert [takes_part(module, survey) for module in survey.modules] == parts

    @pytest.mark.parametrize(
        ("address", "needed"),
        [
            ("10.19.255.254", True),
            ("10.20.0.0", False),
            ("10.20.0.254", False),
            ("10.20.1.1", True),
            ("255.255.255.255", False),
            ("169.254.1.1", False),  # RFC 3927, section 2.7: never forwarded
        ],
    )
    def test_who_needs_a_gateway(self, address: str, needed: bool) -> None:
        survey = survey_of(KIT.format(traffic=f'destination = "{address}"'))
        assert needs_gateway(survey.modules[0], survey) is needed


PLACES = [f"10.20.0.{n}" for n in (2, 5, 31, 62, 97, 130, 200, 254)]
AWAY = ["10.20.1.31", "10.21.0.9", "192.168.4.7"]
TARGETS = ["255.255.255.255", "10.20.0.255", "10.20.0.10", "10.20.0.77", "10.20.0.240", "224.0.0.1"]
SUBNET = IPv4Network("10.20.0.0/24")


def sending(address: str, length: int, gateway: str, destination: str, isolated: bool) -> FleetFile:
    """Return a kit in which TG-01 sends to a wired host, to a module, to all or to nobody."""
    return fleet_of_text(
        f"""
[network]
name = "saltmarsh-gauges"
security = "open"
client_isolation = {str(isolated).lower()}
[network.ipv4]
subnet = "{SUBNET}"
gateway = "10.20.0.1"
address_server = false
[[network.host]]
name = "ap"
address = "10.20.0.1"
[[network.host]]
name = "logger"
address = "10.20.0.10"
[traffic]
destination = "{destination}"
port = {PORT}
talkers = ["TG-01"]
[[module]]
id = "TG-01"
address = "{address}"
prefix_length = {length}
gateway = "{gateway}"
[[module]]
id = "TG-02"
address = "10.20.0.240"
""",
        "kit.toml",
        {},
    )


@given(
    st.sampled_from(PLACES + AWAY),
    st.integers(0, 32),
    st.sampled_from(["10.20.0.1", "10.20.0.10", "none", "10.21.0.1"]),
    st.sampled_from(TARGETS),
    st.booleans(),
)
def test_what_does_not_arrive_is_a_fault_and_what_arrives_is_none(
    address: str, length: int, gateway: str, destination: str, isolated: bool
) -> None:
    """A gateway off the subnet is a fault in itself; a wrong subnet is at least a risk."""
    file = sending(address, length, gateway, destination, isolated)
    survey = Survey(file, TODAY.date())
    to = IPv4Address(destination)
    everyone = {"ap", "logger", "TG-02"}
    wanted = {"10.20.0.10": {"logger"}, "10.20.0.240": {"TG-02"}, "10.20.0.77": {"nobody"}}
    reached = receivers(
        endpoint_of(survey.modules[0], survey),
        to,
        PORT,
        endpoints(survey),
        isolated=isolated,
        router=ROUTER,
    )
    arrives = wanted.get(destination, everyone) <= reached
    findings = audit(file, TODAY).modules[0].findings
    grave = {f.check for f in findings if f.severity is Severity.FAULT}
    at_fault = {
        f.check
        for f in findings
        if f.severity is Severity.FAULT and f.stage in (Stage.ADDRESS, Stage.DELIVERY)
    }
    assert at_fault == grave
    if not arrives:
        assert at_fault
    elif IPv4Address(address) in SUBNET:
        assert at_fault <= {"gateway-off-subnet"}
