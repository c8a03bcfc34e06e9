"""Agreement: a bare table, each module against the majority."""

import pytest

from auditor.audit import audit
from auditor.checks import CHECKS
from auditor.findings import AuditResult, Finding, Stage, State, Verdict
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text
from auditor.survey.kit import Survey
from auditor.survey.majority import STAGE_OF
from tests.checks.profiles import TODAY

CHECK = "odd-one-out"
# Setting, trade header of its column, what most say, what one says, the places where it stands.
COLUMNS = {
    "network_name": ("SSID", "saltmarsh", "Saltmarsh"),
    "security": ("encryption", "wpa2-personal", "open"),
    "passphrase": ("password", "heron-tidal-41", "plover-anchor-58"),
    "subnet": ("IP", "10.20.0.{}", "10.21.0.{}"),
    "prefix_length": ("netmask", "255.255.255.0", "255.255.0.0"),
    "gateway": ("gw", "10.20.0.1", "none"),
    "destination": ("dest", "10.20.0.10", "10.20.0.11"),
    "port": ("port", "4010", "4011"),
    "listen_port": ("listen_port", "4010", "4011"),
    "transport": ("transport", "udp", "tcp"),
    "serial_rate": ("baud", "9600", "19200"),
    "data_bits": ("bits", "8", "7"),
    "parity": ("parity", "N", "E"),
    "stop_bits": ("stop", "1", "1.5"),
    "flow_control": ("flow", "none", "rts-cts"),
    "message_bytes": ("message_bytes", "24", "25"),
}


def table(key: str, *cells: str) -> str:
    """Return a table of modules A, B, C ... with static addresses and one more column."""
    header, _, _ = COLUMNS[key]
    extra = "" if header == "IP" else ",IP"
    rows = [f"id,{header}{extra}"]
    for number, cell in enumerate(cells, start=31):
        address = "" if header == "IP" else f",10.20.0.{number}"
        rows.append(f"{chr(34 + number)},{cell.format(number)}{address}")
    return "\n".join(rows) + "\n"


def audited(text: str, file: str = "kit.csv") -> AuditResult:
    """Return the audit of a bare table, or of a fleet file."""
    return audit(fleet_of_text(text, file, {}), TODAY)


def odd(result: AuditResult) -> list[Finding]:
    """Return who is the odd one out, and what is tied."""
    return [finding for finding in result.findings if finding.check == CHECK]


class TestTheOddOne:
    def test_every_setting_that_is_shared_is_here(self) -> None:
        assert set(COLUMNS) == set(STAGE_OF)
        assert CHECKS[CHECK].stage is None

    @pytest.mark.parametrize("key", COLUMNS)
    def test_each_setting_at_its_stage_and_place(self, key: str) -> None:
        header, most, other = COLUMNS[key]
        assert odd(audited(table(key, most, most, most))) == []
        result = audited(table(key, most, most, other))
        (finding,) = odd(result)
        assert (finding.stage, finding.severity) == (STAGE_OF[key], Severity.RISK)
        assert finding.figures == {"key": key, "agree": 2, "modules": 3}
        assert "2 of 3 modules" in finding.message
        (place,) = finding.where
        assert (place.file, place.line, place.column) == ("kit.csv", 4, header)
        assert result.modules[2].stages[STAGE_OF[key]] in (State.AT_RISK, State.BLOCKED)

    @pytest.mark.parametrize("key", COLUMNS)
    def test_an_even_division_is_said_to_be_one(self, key: str) -> None:
        _, one, other = COLUMNS[key]
        result = audited(table(key, one, other, one, other))
        (finding,) = odd(result)
        assert finding in result.kit_findings
        assert finding.message.startswith(f"{key} is tied: ")
        assert finding.figures["key"] == key
        assert finding.concerns == (0, 1, 2, 3)
        assert finding.stage is STAGE_OF[key]
        assert [place.line for place in finding.where] == [2, 3, 4, 5]

    def test_whoever_says_nothing_has_no_vote(self) -> None:
        (finding,) = odd(audited(table("serial_rate", "9600", "", "19200", "")))
        assert finding.message.startswith(
            'serial_rate is tied: 1 says "9600", 1 says "19200". Nobody can say'
        )
        assert finding.concerns == (0, 2)
        assert odd(audited(table("serial_rate", "9600", "", "", ""))) == []

    def test_one_camp_more_than_is_listed(self) -> None:
        (finding,) = odd(audited(table("port", "1", "1", "2", "2", "3", "4")))
        assert '1 says "3" and 1 more value. Nobody' in finding.message

    def test_more_camps_than_are_listed(self) -> None:
        (finding,) = odd(audited(table("port", "1", "1", "2", "2", "3", "4", "5")))
        assert finding.message.startswith(
            'port is tied: 2 say "1", 2 say "2", 1 says "3" and 2 more values.'
        )
        assert finding.figures["counts"] == ["2", "2", "1", "1", "1"]
        (three,) = odd(audited(table("port", "1", "1", "2", "2", "3")))
        assert three.message.startswith('port is tied: 2 say "1", 2 say "2", 1 says "3". Nobody')

    def test_the_largest_camp_wins_without_half_of_the_votes(self) -> None:
        found = odd(audited(table("port", "1", "2", "1", "3")))
        assert [finding.message for finding in found] == [
            'port is "2", and 2 of 4 modules say "1".',
            'port is "3", and 2 of 4 modules say "1".',
        ]
        assert {finding.remedy for finding in found} == {'Set port to "1".'}

    def test_one_module_agrees_with_itself(self) -> None:
        assert odd(audited(table("port", "1"))) == []

    def test_how_a_name_differs_is_told(self) -> None:
        (finding,) = odd(audited(table("network_name", "saltmarsh", "saltmarsh", "saltmarsh ")))
        assert "it ends in a blank" in finding.message

    def test_fractions_are_written_as_people_do(self) -> None:
        (finding,) = odd(audited(table("stop_bits", "1.5", "1.5", "2")))
        assert finding.message == 'stop_bits is "2", and 2 of 3 modules say "1.5".'

    def test_the_report_says_that_the_network_is_inferred(self) -> None:
        result = audited(table("network_name", "saltmarsh", "saltmarsh", "heron"))
        assert (result.network_inferred, result.network_name) == (True, "saltmarsh")
        tied = audited(table("network_name", "saltmarsh", "heron"))
        assert (tied.network_inferred, tied.network_name) == (True, None)
        reasons = [gap.reason for gap in tied.not_checked if gap.stage is Stage.DISCOVERY]
        assert reasons == [
            "which network_name is right: no network is planned, and no value has a majority"
        ]

    def test_the_odd_one_is_at_risk_and_not_blocked(self) -> None:
        result = audited(table("network_name", "saltmarsh", "saltmarsh", "heron"))
        assert result.modules[2].verdict is Verdict.AT_RISK
        assert {finding.check for finding in result.findings} == {CHECK}


class TestSubnets:
    def rows(self, *pairs: tuple[str, str]) -> str:
        """Return a table of addresses and masks."""
        lines = [f"{chr(65 + n)},{ip},{mask}" for n, (ip, mask) in enumerate(pairs)]
        return "\n".join(["id,IP,netmask", *lines]) + "\n"

    def test_a_prefix_length_that_differs_is_said_once(self) -> None:
        text = self.rows(
            ("10.20.0.31", "255.255.255.0"),
            ("10.20.0.32", "255.255.255.0"),
            ("10.20.0.33", "255.255.0.0"),
        )
        assert [finding.figures["key"] for finding in odd(audited(text))] == ["prefix_length"]

    def test_an_address_outside_by_the_usual_mask(self) -> None:
        """Without a mask /24 is taken: common practice, no source."""
        (finding,) = odd(audited(table("subnet", "10.20.0.{}", "10.20.0.{}", "10.20.1.{}")))
        assert finding.message == "10.20.1.33 is outside 10.20.0.0/24, where 2 of 3 modules are."
        assert finding.remedy == "Choose a free address inside 10.20.0.0/24."

    def test_addresses_of_one_wide_subnet_agree(self) -> None:
        text = self.rows(
            ("10.20.0.31", "255.255.0.0"),
            ("10.20.1.32", "255.255.0.0"),
            ("10.20.2.33", "255.255.0.0"),
        )
        assert odd(audited(text)) == []


class TestSecrets:
    # IEEE 802.11i-2004, H.4.3, case 1.
    KEY = "f42c6fc52df0ebef9ebb4b90b38a5f902e83fe1b135a70e23aed762e9710a12e"

    def fleet(self, *passphrases: str, name: str = "IEEE") -> str:
        """Return a fleet file without a network; passphrases as they are written in TOML."""
        return f'[defaults]\nnetwork_name = "{name}"\nsecurity = "wpa2-personal"\n' + "".join(
            f'[[module]]\nid = "{number}"\npassphrase = {written}\n'
            for number, written in enumerate(passphrases)
        )

    def odd_in(self, *passphrases: str, name: str = "IEEE") -> list[Finding]:
        """Return the odd ones among passphrases in a fleet file without a network."""
        return odd(audited(self.fleet(*passphrases, name=name), "kit.toml"))

    def test_they_are_counted_and_never_shown(self) -> None:
        _, one, other = COLUMNS["passphrase"]
        majority = audited(table("passphrase", one, one, other))
        (finding,) = odd(majority)
        assert finding.message == "The passphrase is not the one that 2 of 3 modules have."
        assert finding.remedy == "Set the passphrase that the other modules have."
        tied = audited(table("passphrase", one, other))
        assert odd(tied)[0].message.startswith(
            "passphrase is tied: there are 2 passphrases, on 1 and 1 modules."
        )
        four = odd(audited(table("passphrase", *(f"{one}-{n}" for n in range(4)))))
        assert four[0].message.startswith(
            "passphrase is tied: there are 4 passphrases, on 1 and 1 and 1 and so on modules."
        )
        (three,) = odd(audited(table("passphrase", *(f"{one}-{n}" for n in range(3)))))
        assert three.message.startswith(
            "passphrase is tied: there are 3 passphrases, on 1 and 1 and 1 modules."
        )
        for result in (majority, tied):
            assert one not in repr(result)
            assert other not in repr(result)

    def test_no_vote_holds_the_text_of_one(self) -> None:
        _, one, other = COLUMNS["passphrase"]
        survey = Survey(fleet_of_text(table("passphrase", one, other), "kit.csv", {}), TODAY.date())
        assert one not in repr(survey.votes)

    def test_a_passphrase_and_the_key_that_it_gives_are_one(self) -> None:
        """Decision 6."""
        key = f'{{ psk = "{self.KEY}" }}'
        assert self.odd_in('"password"', '"password"', key) == []
        assert self.odd_in(key, f'"{self.KEY.upper()}"', '"password"') == []
        assert len(self.odd_in('"password"', '"password"', key, name="MySSID")) == 1

    def test_one_that_is_not_there_has_no_vote(self) -> None:
        missing = '{ env = "NOT_THERE" }'
        assert self.odd_in(missing, missing, '"heron-tidal-41"') == []
        (finding,) = self.odd_in(missing, '"heron-tidal-41"', '"plover-anchor-58"')
        assert finding.concerns == (1, 2)

    def test_a_form_that_no_mode_takes_has_nothing_of_the_networks_to_take(self) -> None:
        result = audited(self.fleet('"short"', '"heron-tidal-41"', '"heron-tidal-41"'), "kit.toml")
        (invalid,) = [f for f in result.findings if f.check == "passphrase-invalid"]
        assert invalid.remedy.startswith("Choose 8 to 63 plain characters")


class TestPlans:
    def test_with_a_network_nothing_is_voted_on(self) -> None:
        text = '[network]\nname = "saltmarsh"\n' + "".join(
            f'[[module]]\nid = "{number}"\nport = {port}\n'
            for number, port in enumerate((4010, 4010, 4011))
        )
        assert odd(audited(text, "kit.toml")) == []

    def test_what_is_planned_is_not_voted_on(self) -> None:
        """A plan without a network: two of three against [serial] are not in the right."""
        text = "[serial]\nrate = 9600\n" + "".join(
            f'[[module]]\nid = "{number}"\nserial_rate = {rate}\nport = {port}\n'
            for number, (rate, port) in enumerate(((9600, 4010), (19200, 4010), (19200, 4011)))
        )
        result = audited(text, "kit.toml")
        assert [finding.figures["key"] for finding in odd(result)] == ["port"]
        wrong = [f.check for module in result.modules[1:] for f in module.findings]
        assert wrong.count("serial-rate-differs") == 2
