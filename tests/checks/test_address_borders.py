"""Address: the sentences, figures and places of findings, and what is said of nobody."""

from typing import Any

import pytest

from auditor.audit import audit
from auditor.findings import Stage
from auditor.reading.fleet import fleet_of_text
from tests.checks.kits import TODAY, findings, fired, module, severities
from tests.checks.test_address import BEYOND, DIRECTED, TO_LOGGER, at


class TestHolders:
    CHECK = "duplicate-static-address"

    @pytest.mark.parametrize(
        ("holders", "named", "more"), [(20, 19, ""), (21, 20, ""), (22, 20, " and 1 more")]
    )
    def test_twenty_others_are_named_and_the_rest_counted(
        self, holders: int, named: int, more: str
    ) -> None:
        lines = "".join(module(f"G{n:03}", address="10.20.0.77") for n in range(0, 2 * holders, 2))
        found = findings(lines, self.CHECK)
        assert len(found) == holders
        assert {each.figures["holders"] for each in found} == {holders}
        assert {len(each.where) for each in found} == {1 + named}
        assert all(f"{more}. Broadcast" in each.message for each in found)
        assert all((" more. " in each.message) is bool(more) for each in found)
        assert found[-1].figures["with"] == [f"G{n:03}" for n in range(0, 2 * named, 2)]
        assert found[0].remedy.endswith(", or change that of G002.")


class TestFigures:
    @pytest.mark.parametrize(
        ("lines", "check", "figures", "columns"),
        [
            (
                at("10.20.0.120"),
                "static-address-in-pool",
                {"address": "10.20.0.120", "first": "10.20.0.100", "last": "10.20.0.149"},
                ["address", "pool"],
            ),
            (
                at("169.254.10.2"),
                "special-use-address",
                {"address": "169.254.10.2", "block": "169.254.0.0/16"},
                ["address"],
            ),
            (
                at("10.21.0.32"),
                "static-address-off-subnet",
                {"address": "10.21.0.32", "subnet": "10.20.0.0/24"},
                ["address", "subnet"],
            ),
            (
                at("10.20.0.1"),
                "reserved-address",
                {"address": "10.20.0.1", "belongs_to": "the address of the gateway"},
                ["address"],
            ),
            (
                module("TG-02", prefix_length=28),
                "prefix-mismatch",
                {"prefix_length": 28, "subnet": "10.20.0.0/24"},
                ["prefix_length", "subnet"],
            ),
            (
                module("TG-02", gateway="10.21.0.1"),
                "gateway-off-subnet",
                {"gateway": "10.21.0.1", "subnet": "10.20.0.0/24"},
                ["gateway"],
            ),
            (
                module("TG-02", gateway="none"),
                "gateway-missing",
                {"planned": "10.20.0.1"},
                ["gateway"],
            ),
            (
                module("TG-02", gateway="10.20.0.2"),
                "gateway-differs",
                {"gateway": "10.20.0.2", "planned": "10.20.0.1"},
                ["gateway", "gateway"],
            ),
            (
                '[network.ipv4]\ngateway = "10.20.0.100"\n',
                "gateway-in-pool",
                {"gateway": "10.20.0.100", "first": "10.20.0.100", "last": "10.20.0.149"},
                ["gateway", "pool"],
            ),
            (
                module("TG-03", addressing="static"),
                "static-without-address",
                {},
                ["addressing"],
            ),
            (
                module("TG-03", address="10.20.0.33"),
                "pooled-with-address",
                {"address": "10.20.0.33"},
                ["address"],
            ),
            (
                '[[network.host]]\nname = "logger"\naddress = "10.20.0.100"\n',
                "pool-overlaps-host",
                {"host": "logger", "address": "10.20.0.100"},
                ["address", "pool"],
            ),
            (
                '[network.ipv4.reservations]\n"00:00:5e:00:53:04" = "10.20.0.10"\n',
                "reservation-conflict",
                {"hardware_address": "00:00:5e:00:53:04", "address": "10.20.0.10"},
                ["00:00:5e:00:53:04", None],
            ),
        ],
    )
    def test_each_check(
        self, lines: str, check: str, figures: dict[str, Any], columns: list[str | None]
    ) -> None:
        (found,) = findings(lines, check)
        assert {**found.figures, **figures} == found.figures
        assert [place.column for place in found.where] == columns

    def test_a_pool_outside_is_said_in_full_to_whoever_leases(self) -> None:
        lines = (
            '[network.ipv4]\npool = { first = "10.21.0.100", last = "10.21.0.149" }\n'
            '[network.ipv4.reservations]\n"00:00:5e:00:53:04" = "10.20.0.40"\n'
        )
        found = findings(lines, "pool-off-subnet")
        assert [each.figures for each in found] == [
            {"first": "10.21.0.100", "last": "10.21.0.149", "subnet": "10.20.0.0/24"}
        ] * 2
        assert found[0].remedy == (
            "Choose a pool inside 10.20.0.0/24, such as 10.20.0.100 to 10.20.0.149, "
            "at the address server too."
        )
        assert [place.column for place in found[0].where] == ["pool", "subnet"]

    def test_a_pool_of_one_address_cannot_be_shortened(self) -> None:
        lines = (
            '[network.ipv4]\ngateway = "10.20.0.100"\n'
            'pool = { first = "10.20.0.100", last = "10.20.0.100" }\n'
        )
        assert (
            findings(lines, "gateway-in-pool")[0].remedy
            == "Choose another pool inside 10.20.0.1 to 10.20.0.254."
        )

    def test_of_two_equal_parts_of_a_pool_the_second_is_kept(self) -> None:
        lines = (
            '[network.ipv4]\ngateway = "10.20.0.101"\n'
            'pool = { first = "10.20.0.100", last = "10.20.0.102" }\n'
        )
        assert findings(lines, "gateway-in-pool")[0].remedy == "Let the pool begin at 10.20.0.102."

    def test_what_the_pool_is_set_aside_for_is_told(self) -> None:
        """RFC 3927: 169.254.0.0/16 is link-local."""
        lines = (
            '[network.ipv4]\nsubnet = "169.254.7.0/24"\ngateway = "none"\n'
            'pool = { first = "169.254.7.20", last = "169.254.7.90" }\n'
        )
        told = [f.message.lower() for f in findings(lines, "special-use-address")]
        leased = [each for each in told if each.startswith("the module leases an address")]
        assert len(leased) == 2
        assert all("which is set aside: link" in each for each in leased)

    def test_of_two_holders_of_a_reserved_address_the_first_is_told(self) -> None:
        lines = module("TG-05", address="10.20.0.32") + (
            '[network.ipv4.reservations]\n"00:00:5e:00:53:04" = "10.20.0.32"\n'
        )
        told = [f.message for f in findings(lines, "reservation-conflict")]
        assert any("TG-02 has it as its static address" in each for each in told)

    def test_an_address_that_is_written_and_not_used_belongs_to_nobody(self) -> None:
        assert set(fired(module("TG-03", address="10.20.0.1"))) == {"pooled-with-address"}

    def test_a_module_outside_is_not_told_that_its_gateway_is_too(self) -> None:
        lines = module("TG-02", address="10.21.0.32", gateway="10.21.0.1")
        checks = set(fired(lines))
        assert "static-address-off-subnet" in checks
        assert "gateway-off-subnet" not in checks

    def test_a_host_that_is_the_gateway_is_said_once(self) -> None:
        lines = (
            '[network.ipv4]\ngateway = "10.20.0.100"\n'
            '[[network.host]]\nname = "router"\naddress = "10.20.0.100"\n'
        )
        assert set(fired(lines)) == {"gateway-in-pool"}


class TestPrefix:
    CHECK = "prefix-mismatch"
    OTHER = "The prefix length is {}, and that of the subnet 24"

    # 10.20.0.32/28 is 10.20.0.32 to .47; 10.16.0.0/12 holds 10.20.0.32 and 10.30.0.9 (arithmetic).
    @pytest.mark.parametrize(
        ("traffic", "length", "lost"),
        [
            ("", 28, ""),
            (DIRECTED, 28, ": 10.20.0.255 is no broadcast address to it"),
            (
                TO_LOGGER,
                28,
                ": 10.20.0.10 is outside its slice 10.20.0.32/28, in which no gateway leads there",
            ),
            (BEYOND, 12, ": it looks for 10.30.0.9 on its own link, where that is not"),
            (
                TO_LOGGER.replace("10.20.0.10", "10.20.0.47"),
                28,
                ": it takes 10.20.0.47 for the broadcast address of 10.20.0.32/28",
            ),
        ],
    )
    def test_what_is_lost_is_told_and_otherwise_nothing(
        self, traffic: str, length: int, lost: str
    ) -> None:
        host = '[[network.host]]\nname = "printer"\naddress = "10.20.0.47"\nport = 4010\n'
        (found,) = findings(host + traffic + module("TG-02", prefix_length=length), self.CHECK)
        assert found.message == f"{self.OTHER.format(length)}{lost}."

    def test_who_is_without_a_gateway_and_sends_beyond_has_lost_nothing_by_its_prefix(
        self,
    ) -> None:
        lines = BEYOND + module("TG-02", prefix_length=28, gateway="none")
        assert severities(lines, self.CHECK) == {"TG-02": "risk"}
        assert severities(lines, "gateway-missing") == {"TG-02": "fault"}


class TestGateway:
    @pytest.mark.parametrize(
        ("gateway", "check", "told"),
        [
            ("none", "gateway-missing", "The module has no gateway{}."),
            (
                "10.20.0.2",
                "gateway-differs",
                "The gateway is 10.20.0.2, and the planned one is 10.20.0.1{}.",
            ),
        ],
    )
    def test_what_is_beyond_is_told_only_where_something_is(
        self, gateway: str, check: str, told: str
    ) -> None:
        lines = module("TG-02", gateway=gateway)
        (inside,) = findings(lines, check)
        (beyond,) = findings(BEYOND + lines, check)
        assert inside.message == told.format("")
        assert inside.shows_at is inside.stage
        assert "10.30.0.9 is beyond the subnet" in beyond.message

    def test_a_planned_one_that_is_outside_itself_is_not_named_as_the_way_out(self) -> None:
        lines = '[network.ipv4]\ngateway = "10.21.0.1"\n'
        assert {each.remedy for each in findings(lines, "gateway-off-subnet")} == {
            'Set a gateway inside 10.20.0.0/24, or "none" where nothing leaves the subnet.'
        }

    @pytest.mark.parametrize(("gateway", "outside"), [("10.20.0.2", False), ("10.21.0.1", True)])
    def test_where_none_is_planned_only_one_outside_is_wrong(
        self, gateway: str, outside: bool
    ) -> None:
        text = (
            '[network]\nname = "saltmarsh-gauges"\nsecurity = "open"\n'
            '[network.ipv4]\nsubnet = "10.20.0.0/24"\n'
            f'[[module]]\nid = "A"\naddress = "10.20.0.31"\ngateway = "{gateway}"\n'
        )
        result = audit(fleet_of_text(text, "kit.toml", {}), TODAY)
        found = [each for each in result.findings if each.stage is Stage.ADDRESS]
        assert [each.check for each in found] == ["gateway-off-subnet"] * outside
        assert all(each.remedy.startswith("Set a gateway inside 10.20.0.0/24") for each in found)

    def test_one_that_a_leasing_module_has_besides_is_not_used(self) -> None:
        assert fired(module("TG-03", gateway="10.20.0.2")) == {}
        assert fired(module("TG-03", gateway="none")) == {}

    def test_one_that_is_outside_is_not_said_to_differ_besides(self) -> None:
        assert fired(module("TG-02", gateway="10.21.0.1")) == {"gateway-off-subnet": {"TG-02"}}


class TestWithoutPlan:
    """A table without a plan is compared with itself; no check blames what nobody planned."""

    @staticmethod
    def found(*rows: str) -> set[str]:
        """Return the checks of this stage that fire on a bare table."""
        text = "\n".join(["id,IP,netmask,gateway,dest", *rows]) + "\n"
        found = audit(fleet_of_text(text, "kit.csv", {}), TODAY).findings
        return {each.check for each in found if each.stage is Stage.ADDRESS}

    def test_another_prefix_length_is_the_odd_one(self) -> None:
        rows = [f"A-{n},10.20.0.{n},255.255.255.0,10.20.0.1,10.20.0.9" for n in (31, 32)]
        odd = "A-33,10.20.0.33,255.255.255.240,10.20.0.34,10.20.0.9"
        assert self.found(*rows, odd) == {"odd-one-out"}

    def test_a_gateway_outside_the_module_s_own_subnet_is_a_fault_all_the_same(self) -> None:
        """RFC 1122, section 3.3.1.2: a gateway is on the host's own link."""
        rows = [f"A-{n},10.20.0.{n},255.255.255.0,10.20.0.1,10.20.0.9" for n in (31, 32)]
        odd = "A-33,10.21.0.33,255.255.255.0,10.20.0.1,10.20.0.9"
        assert self.found(*rows, odd) == {"odd-one-out", "gateway-off-subnet"}
