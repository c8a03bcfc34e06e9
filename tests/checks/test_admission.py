"""Admission: modes that meet, frame protection, basic rates, the accept list."""

from itertools import product

import pytest

from auditor.audit import audit
from auditor.findings import Stage, State, Verdict
from auditor.models.words import Protection, Security, Severity, Standard
from tests.checks.kits import THE_KIT, audited, findings, fired
from tests.checks.profiles import TODAY, found_in, with_profile, without

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}
INDEXES = (0, 1, 2, 3)

# Which personal modes meet: follows from the RSN and WPA elements of IEEE 802.11 and the status
# of the modes (from memory, unverified; the cells of WPA3 agree with hostapd.conf(5)). WEP with
# another length of key associates: observed on hostapd 2.10 / wpa_supplicant 2.10, November 2026.
MEETS = {
    "open": {"open"},
    "wep-40": {"wep-40", "wep-104"},
    "wep-104": {"wep-40", "wep-104"},
    "wpa-personal": {"wpa-personal", "wpa-wpa2-personal"},
    "wpa2-personal": {"wpa2-personal", "wpa-wpa2-personal", "wpa2-wpa3-personal"},
    "wpa3-personal": {"wpa3-personal", "wpa2-wpa3-personal"},
    "wpa-wpa2-personal": {
        "wpa-personal",
        "wpa2-personal",
        "wpa-wpa2-personal",
        "wpa2-wpa3-personal",
    },
    "wpa2-wpa3-personal": {
        "wpa2-personal",
        "wpa3-personal",
        "wpa-wpa2-personal",
        "wpa2-wpa3-personal",
    },
}
OF_NO_KIND = {"security": (), "joins_mixed": None, "protected_management": None}
"""A profile that leaves every mode possible."""


def modes(network: str, own: str | None = None, more: str = "") -> str:
    """Return lines that set the network's mode and that of TG-02."""
    lines = f'[network]\nsecurity = "{network}"\n{more}'
    return lines if own is None else f'{lines}[[module]]\nid = "TG-02"\nsecurity = "{own}"\n'


class TestModesThatMeet:
    CHECK = "security-mode-mismatch"

    @pytest.mark.parametrize(("own", "network"), list(product(MEETS, MEETS)))
    def test_every_pair(self, own: str, network: str) -> None:
        found = found_in(with_profile(modes(network, own), **OF_NO_KIND), self.CHECK)
        assert len(found) == (network not in MEETS[own])
        for finding in found:
            assert finding.figures == {"module": own, "network": network}
            assert finding.remedy == f"Set security to {network}."
            assert finding.severity is Severity.FAULT
            assert [place.column for place in finding.where] == ["security", "security"]

    @pytest.mark.parametrize("network", MEETS)
    def test_what_is_inherited_meets(self, network: str) -> None:
        """Decision 1: a module that says nothing is set as planned."""
        assert not found_in(with_profile(modes(network), **OF_NO_KIND), self.CHECK)

    def test_a_secured_module_does_not_join_an_open_network_of_its_name(self) -> None:
        result = audited(modes("open", "wpa2-personal")).modules[1]
        assert result.stops_at is Stage.ADMISSION
        assert result.expected_indicator == "steady"

    def test_the_way_out_is_a_mode_that_the_module_knows(self) -> None:
        lines = modes("wpa2-wpa3-personal", "open")
        (finding,) = findings(lines, self.CHECK)
        assert finding.remedy == "Set security to wpa2-personal."
        mended = modes("wpa2-wpa3-personal", "wpa2-personal")
        assert set(fired(mended)) == {"transition-mode"}

    @pytest.mark.parametrize("mode", ["wpa-enterprise", "wpa2-enterprise", "wpa3-enterprise"])
    def test_enterprise_modes_are_outside_what_is_checked(self, mode: str) -> None:
        result = audited(modes(mode))
        assert {each.stages[Stage.ADMISSION] for each in result.modules} == {State.UNKNOWN}
        assert {each.verdict for each in result.modules} == {Verdict.UNKNOWN}
        reasons = {(gap.stage, gap.reason) for gap in result.not_checked}
        outside = "802.1X (enterprise) modes are outside what is checked"
        assert reasons == {(Stage.ADMISSION, outside), (Stage.KEYS, outside)}
        assert not findings(modes(mode, "wpa2-personal"), self.CHECK)


class TestMixedNetworks:
    CHECK = "security-mode-mismatch"

    # Observed on hostapd 2.10 / wpa_supplicant 2.10, November 2026: a WPA/WPA2 network has TKIP
    # for groups, and a station that insists on CCMP there does not join.
    @pytest.mark.parametrize(
        ("own", "joins", "stops"),
        [
            ("wpa2-personal", (Security.WPA_WPA2,), False),
            ("wpa2-personal", (), True),
            ("wpa2-personal", (Security.WPA2_WPA3,), True),
            ("wpa-wpa2-personal", (), True),
            ("wpa-personal", (), False),
            ("wpa2-personal", None, False),
        ],
    )
    def test_a_kind_that_insists_on_ccmp_for_groups(
        self, own: str, joins: tuple[Security, ...] | None, stops: bool
    ) -> None:
        file = with_profile(modes("wpa-wpa2-personal", own), security=(), joins_mixed=joins)
        module = audit(file, TODAY).modules[1]
        found = [finding for finding in module.findings if finding.check == self.CHECK]
        assert len(found) == stops
        assert (module.stops_at is Stage.ADMISSION) is stops
        assert all("which its kind does not join" in finding.message for finding in found)

    def test_the_way_out_works(self) -> None:
        recent = '[kit]\nprofile = "generic-dual-band-wpa3"\n'
        found = findings(recent + modes("wpa-wpa2-personal"), self.CHECK)
        assert {each.remedy for each in found} == {
            "Open the network in wpa2-personal alone, and set security to that."
        }
        assert fired(recent + modes("wpa2-personal")) == {}

    @pytest.mark.parametrize(
        ("own", "plain"),
        [("wpa2-wpa3-personal", "wpa2-personal"), ("wpa3-personal", "wpa3-personal")],
    )
    def test_the_plain_mode_is_one_that_the_module_is_set_to(self, own: str, plain: str) -> None:
        """Modules that know no WPA3 can join WPA2, so that one is named where it can be."""
        file = with_profile(modes("wpa2-wpa3-personal", own), security=(), joins_mixed=())
        found = audit(file, TODAY).modules[1].findings
        assert [each.remedy for each in found if each.check == self.CHECK] == [
            f"Open the network in {plain} alone, and set security to that."
        ]


class TestModesOfTheKind:
    CHECK = "security-unsupported"

    @pytest.mark.parametrize(
        ("own", "fires"),
        [
            ("wpa2-personal", False),
            ("wpa3-personal", True),
            ("wpa-personal", True),
            ("wep-40", True),
            ("wpa2-wpa3-personal", False),
        ],
    )
    def test_what_the_shipped_module_can_be_set_to(self, own: str, fires: bool) -> None:
        found = findings(modes("wpa2-personal", own), self.CHECK)
        assert [each.remedy for each in found] == ["Set security to wpa2-personal."] * fires

    def test_nothing_that_follows_is_said_besides(self) -> None:
        assert fired(modes("wpa2-personal", "wpa3-personal")) == {self.CHECK: {"TG-02"}}

    @pytest.mark.parametrize(
        ("known", "remedy"),
        [
            ((Security.WPA2,), "Set security to wpa2-personal, at the module and at the access"),
            ((Security.WPA_WPA2,), "Set security to wpa2-personal, at the module and"),
            ((Security.OPEN, Security.WEP_40), "Use another module"),
        ],
    )
    def test_ways_out_of_a_network_that_the_kind_does_not_know(
        self, known: tuple[Security, ...], remedy: str
    ) -> None:
        found = found_in(with_profile(modes("wpa3-personal"), security=known), self.CHECK)
        assert len(found) == 4
        assert all(each.remedy.startswith(remedy) for each in found)

    def test_without_a_list_nothing_is_said(self) -> None:
        assert not found_in(with_profile(modes("wpa3-personal"), security=()), self.CHECK)


OFF, OPTIONAL, REQUIRED = Protection
RECENT = (Security.WPA2, Security.WPA3, Security.WPA2_WPA3)


class TestFrameProtection:
    CHECK = "protected-management-mismatch"

    # hostapd.conf(5), ieee80211w: 0 disabled, 1 optional, 2 required; WPA3 alone needs required,
    # and transition optional; WPA3 Specification v3.0, section 2.3: a station that joins by WPA3
    # negotiates it. Optional meets required: observed on hostapd 2.10, November 2026.
    @pytest.mark.parametrize(
        ("network", "planned", "own_mode", "own", "clashes"),
        [
            ("wpa2-personal", None, None, OFF, False),
            ("wpa2-personal", None, None, REQUIRED, False),
            ("wpa2-personal", "off", None, OFF, False),
            ("wpa2-personal", "off", None, OPTIONAL, False),
            ("wpa2-personal", "off", None, REQUIRED, True),
            ("wpa2-personal", "optional", None, OFF, False),
            ("wpa2-personal", "optional", None, REQUIRED, False),
            ("wpa2-personal", "required", None, OFF, True),
            ("wpa2-personal", "required", None, OPTIONAL, False),
            ("wpa2-personal", "required", None, REQUIRED, False),
            ("wpa2-personal", "required", None, None, False),
            ("wpa3-personal", None, None, OFF, True),
            ("wpa3-personal", None, None, OPTIONAL, False),
            ("wpa3-personal", "off", None, OPTIONAL, True),
            ("wpa3-personal", "required", None, REQUIRED, False),
            ("wpa2-wpa3-personal", None, None, OFF, False),
            ("wpa2-wpa3-personal", None, "wpa2-personal", OFF, False),
            ("wpa2-wpa3-personal", None, "wpa3-personal", OFF, True),
            ("wpa2-wpa3-personal", None, "wpa3-personal", OPTIONAL, False),
            ("wpa2-wpa3-personal", "required", "wpa2-personal", OFF, True),
            ("wpa2-wpa3-personal", "off", "wpa3-personal", OPTIONAL, True),
            ("wpa2-wpa3-personal", "off", "wpa2-personal", OPTIONAL, False),
            ("open", "required", None, OFF, False),
            ("wep-40", "required", None, OFF, False),
        ],
    )
    def test_every_pair(
        self,
        network: str,
        planned: str | None,
        own_mode: str | None,
        own: Protection | None,
        clashes: bool,
    ) -> None:
        lines = modes(network, own_mode, f'protected_management = "{planned or "off"}"\n')
        file = with_profile(lines, **OF_NO_KIND | {"protected_management": own})
        if planned is None:
            file = without(file, "network", "protected_management")
        module = audit(file, TODAY).modules[1]
        checks = {finding.check for finding in module.findings}
        assert (self.CHECK in checks) is clashes
        assert "security-mode-mismatch" not in checks

    @pytest.mark.parametrize(
        ("network", "planned", "own", "clash", "remedy"),
        [
            (
                "wpa2-personal",
                "required",
                OFF,
                "The network requires protected management frames, and the module has none.",
                'Set protected_management = "optional"',
            ),
            (
                "wpa2-personal",
                "off",
                REQUIRED,
                "The module insists on protected management frames, and the network has them off.",
                'Set protected_management = "optional"',
            ),
            (
                "wpa3-personal",
                "off",
                OPTIONAL,
                "WPA3 needs protected management frames, and the network has them off.",
                'Set protected_management = "required"',
            ),
            (
                "wpa3-personal",
                "required",
                OFF,
                "WPA3 needs protected management frames, and the module has them off.",
                "Set the module to wpa2-personal, and the network",
            ),
        ],
    )
    def test_each_way_out(
        self, network: str, planned: str, own: Protection, clash: str, remedy: str
    ) -> None:
        lines = modes(network, None, f'protected_management = "{planned}"\n')
        found = found_in(with_profile(lines, security=RECENT, protected_management=own), self.CHECK)
        assert len(found) == 4
        assert {each.message for each in found} == {clash}
        assert all(each.remedy.startswith(remedy) for each in found)
        assert found[0].figures == {"network": planned, "module": own.value}
        assert [place.column for place in found[0].where] == ["protected_management", "profile"]

    def test_the_way_out_of_wpa3_without_protection_works(self) -> None:
        lines = modes("wpa2-wpa3-personal", None, 'protected_management = "optional"\n')
        own = '[defaults]\nsecurity = "wpa2-personal"\n'
        file = with_profile(lines + own, security=RECENT, protected_management=OFF)
        assert {each.check for each in audit(file, TODAY).findings} == {"transition-mode"}

    def test_where_the_modes_do_not_meet_nothing_is_said_besides(self) -> None:
        lines = modes("wpa2-personal", "wpa3-personal", 'protected_management = "required"\n')
        file = with_profile(lines, security=(), protected_management=OFF)
        checks = {finding.check for finding in audit(file, TODAY).modules[1].findings}
        assert checks == {"security-mode-mismatch"}

    def test_beside_a_mixed_mode_that_the_kind_refuses_nothing_is_said(self) -> None:
        lines = modes("wpa2-wpa3-personal", None, 'protected_management = "required"\n')
        refuses = {"security": (), "joins_mixed": (), "protected_management": OFF}
        checks = {each.check for each in audit(with_profile(lines, **refuses), TODAY).findings}
        assert checks == {"security-mode-mismatch", "transition-mode"}


class TestBasicRates:
    CHECK = "basic-rates-unsupported"

    # IEEE 802.11: a station supports every basic rate. 802.11b has 1, 2, 5.5 and 11 Mb/s; OFDM
    # has 6, 9, 12, 18, 24, 36, 48 and 54.
    @pytest.mark.parametrize(
        ("standards", "rate", "way_out"),
        [
            ((Standard.B,), "11 Mb/s", None),
            ((Standard.B,), "5.5 Mb/s", None),
            ((Standard.B,), "12 Mb/s", "11 Mb/s"),
            ((Standard.B,), "6 Mb/s", "5.5 Mb/s"),
            ((Standard.B, Standard.G), "12 Mb/s", None),
            ((Standard.N,), "1 Mb/s", None),
            ((Standard.B, Standard.G), "13 Mb/s", "12 Mb/s"),
            ((Standard.A,), "5.5 Mb/s", "6 Mb/s"),
            ((Standard.A,), "6 Mb/s", None),
            ((), "13 Mb/s", None),
        ],
    )
    def test_both_sides(
        self, standards: tuple[Standard, ...], rate: str, way_out: str | None
    ) -> None:
        lines = f'[network]\nlowest_basic_rate = "{rate}"\n'
        found = found_in(with_profile(lines, standards=standards), self.CHECK)
        assert len(found) == (4 if way_out else 0)
        said = f'Set lowest_basic_rate to "{way_out}", here and at the access point.'
        assert all(each.remedy == said for each in found)

    def test_on_a_band_that_the_module_does_not_hear_no_rate_is_told(self) -> None:
        """IEEE 802.11: channel 36 is one of 5 GHz, and no standard has a rate of 14 Mb/s."""
        lines = '[network]\nband = "5 GHz"\nchannel = 36\nlowest_basic_rate = "14 Mb/s"\n'
        assert fired(lines) == {"band-unsupported": EVERYONE}

    def test_the_way_out_is_a_rate_of_every_module(self) -> None:
        lines = '[network]\nlowest_basic_rate = "13 Mb/s"\n[[module]]\nid = "TG-02"\n'
        early = "generic-24ghz-early"
        file = with_profile(f'{lines}profile = "{early}"\n', early, standards=(Standard.B,))
        found = found_in(file, self.CHECK)
        assert {each.remedy for each in found} == {
            'Set lowest_basic_rate to "11 Mb/s", here and at the access point.'
        }


class TestWeakModes:
    CHECK = "weak-security"

    @pytest.mark.parametrize("mode", MEETS)
    def test_open_wep_and_tkip(self, mode: str) -> None:
        """IEEE 802.11-2020 (WEP obsolete, TKIP deprecated); decision 23 for the mixed mode."""
        weak = mode in ("open", "wep-40", "wep-104", "wpa-personal", "wpa-wpa2-personal")
        found = found_in(with_profile(modes(mode), **OF_NO_KIND), self.CHECK)
        assert [each.concerns for each in found] == [INDEXES] * weak
        assert all(each.severity is Severity.RISK for each in found)

    def test_a_weak_network_puts_all_at_risk_who_take_its_mode(self) -> None:
        """Decision 24."""
        result = audited(modes("open"))
        assert [finding.check for finding in result.kit_findings] == [self.CHECK]
        assert {each.stages[Stage.ADMISSION] for each in result.modules} == {State.AT_RISK}
        assert {each.verdict for each in result.modules} == {Verdict.AT_RISK}

    def test_it_is_said_of_both_ends_whether_or_not_they_agree(self) -> None:
        """Decision 11."""
        assert fired(modes("open", "open"))[self.CHECK] == {THE_KIT, "TG-02"}
        assert fired(modes("open", "wpa2-personal"))[self.CHECK] == {THE_KIT}
        assert fired(modes("wpa2-personal", "open"))[self.CHECK] == {"TG-02"}
        (finding,) = findings(modes("open", "wpa2-personal"), self.CHECK)
        assert finding.concerns == (0, 2, 3)

    def test_a_weak_mode_of_the_defaults_is_on_the_modules_that_take_it(self) -> None:
        """Decision 30."""
        lines = modes("wpa2-personal", "wpa2-personal") + '[defaults]\nsecurity = "open"\n'
        assert fired(lines)[self.CHECK] == EVERYONE - {"TG-02"}


class TestTransition:
    CHECK = "transition-mode"
    RECENT = '[kit]\nprofile = "generic-dual-band-wpa3"\n'

    @pytest.mark.parametrize("mode", MEETS)
    def test_it_is_for_wpa2_beside_wpa3_alone(self, mode: str) -> None:
        """Decision 23."""
        found = found_in(with_profile(modes(mode), **OF_NO_KIND), self.CHECK)
        assert len(found) == (mode == "wpa2-wpa3-personal")

    def test_the_advice_hangs_on_what_the_modules_know(self) -> None:
        (old,) = findings(modes("wpa2-wpa3-personal"), self.CHECK)
        assert (old.figures["know_wpa3"], old.severity) == (0, Severity.ADVICE)
        assert old.remedy == "Keep it while modules need WPA2."
        (new,) = findings(self.RECENT + modes("wpa2-wpa3-personal"), self.CHECK)
        assert new.remedy == "Set it to wpa3-personal."
        assert fired(self.RECENT + modes("wpa3-personal")) == {}

    def test_a_strict_policy_puts_every_module_at_risk(self) -> None:
        lines = '[kit]\npolicy = "strict"\n' + modes("wpa2-wpa3-personal")
        result = audited(lines)
        assert findings(lines, self.CHECK)[0].severity is Severity.RISK
        assert {each.stages[Stage.ADMISSION] for each in result.modules} == {State.AT_RISK}


class TestAcceptList:
    CHECK = "not-on-accept-list"

    def listed(self, *numbers: int) -> str:
        """Return lines with an accept list of the kit's hardware addresses."""
        addresses = ", ".join(f'"00-00-5E-00-53-{number:02}"' for number in numbers)
        return f"[network]\naccept_list = [{addresses}]\n"

    @pytest.mark.parametrize(
        ("numbers", "refused"),
        [((1, 2, 3, 4), set()), ((1, 2, 4), {"TG-03"}), ((), EVERYONE)],
    )
    def test_who_is_not_on_it_is_refused(self, numbers: tuple[int, ...], refused: set[str]) -> None:
        """hostapd.conf(5), macaddr_acl 1: only listed addresses are taken."""
        assert fired(self.listed(*numbers)) == ({self.CHECK: refused} if refused else {})

    def test_the_way_out_is_the_address(self) -> None:
        (finding,) = findings(self.listed(1, 2, 4), self.CHECK)
        assert finding.remedy.startswith('Add "00:00:5e:00:53:03" to accept_list')
        assert [place.column for place in finding.where] == ["accept_list", "hardware_address"]
        assert finding.figures["listed"] == 3

    def test_a_module_without_an_address_cannot_be_looked_up(self) -> None:
        nameless = '[[module]]\nid = "TG-05"\naddressing = "static"\naddress = "10.20.0.35"\n'
        result = audited(self.listed(1, 2, 3, 4) + nameless)
        assert result.modules[4].stages[Stage.ADMISSION] is State.UNKNOWN
        assert result.modules[4].verdict is Verdict.UNKNOWN
