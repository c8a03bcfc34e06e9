"""Keys: forms and lengths, keys that agree, guessing, and secrets that are not there."""

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.compute.strength import GUESS_RATE_PER_S
from auditor.findings import AuditResult, Finding, Stage, State, Verdict
from auditor.models.words import Severity
from auditor.reading.fleet import read_fleet
from tests.checks.kits import THE_KIT, audited, findings, fired
from tests.checks.profiles import TODAY, found_in, with_profile, without

THE_NETWORKS = "Set the module to the network's passphrase, and remove this one here."
EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}
INDEXES = (0, 1, 2, 3)
ANY_KIND = {"security": (), "joins_mixed": None, "protected_management": None}
"""A profile that leaves every mode possible."""
CLEAN = "heron-tidal-ledger-quartz-41"
"""The passphrase of the clean kit."""


def written(secret: str, *, key: bool = False) -> str:
    """Return a passphrase, or a key of 64 digits, as it is written in TOML."""
    text = json.dumps(secret).replace("\x7f", "\\u007f")
    return f"{{ psk = {text} }}" if key else text


def own(secret: str, **settings: str) -> str:
    """Return lines that give TG-02 a passphrase, and settings written as texts."""
    more = "".join(f'{key} = "{value}"\n' for key, value in settings.items())
    return f'[[module]]\nid = "TG-02"\npassphrase = {written(secret)}\n{more}'


def network(secret: str | None, mode: str = "wpa2-personal", more: str = "") -> str:
    """Return lines that plan a mode and a passphrase; None leaves that of the clean kit."""
    passphrase = "" if secret is None else f"passphrase = {written(secret)}\n"
    return f'[network]\nsecurity = "{mode}"\n{passphrase}{more}'


def of_any_kind(lines: str, check: str) -> list[Finding]:
    """Return what a check finds where the modules' kind leaves every mode possible."""
    return found_in(with_profile(lines, **ANY_KIND), check)


def texts(result: AuditResult) -> str:
    """Return everything that any report could show."""
    return repr(result)


class TestForm:
    CHECK = "passphrase-invalid"

    # IEEE 802.11i-2004, H.4.1: 8 to 63 characters, each of code 32 to 126, or 64 hex digits.
    @pytest.mark.parametrize(
        ("secret", "legal"),
        [
            ("a" * 7, False),
            ("a" * 8, True),
            ("z" * 63, True),
            ("z" * 64, False),
            ("f" * 64, True),
            ("f" * 65, False),
            (" " * 8, True),
            ("~" * 8, True),
            ("abcdefg\x7f", False),
            ("abcdefg\t", False),
            ("pässwörter", False),
        ],
    )
    @pytest.mark.parametrize("mode", ["wpa-personal", "wpa2-personal", "wpa2-wpa3-personal"])
    def test_wpa_and_wpa2(self, mode: str, secret: str, legal: bool) -> None:
        found = of_any_kind(network(secret, mode), self.CHECK)
        assert len(found) == (0 if legal else 4)
        assert all(each.message.startswith("The network's passphrase has ") for each in found)
        assert all(each.where[0].column == "passphrase" for each in found)

    # hostapd.conf(5), wep_key0, with its examples: 5 or 13 characters, 10 or 26 hex digits.
    @pytest.mark.parametrize(
        ("secret", "bits"),
        [
            ("123456789a", 40),
            ("vwxyz", 40),
            ("0102030405060708090a0b0c0d", 104),
            (".2.4.6.8.0.23", 104),
            ("vwxy", None),
            ("vwxyzz", None),
            ("123456789", None),
            ("123456789g", None),
            (".2.4.6.8.0.2", None),
            ("0102030405060708090a0b0c0", None),
        ],
    )
    def test_wep(self, secret: str, bits: int | None) -> None:
        """Decision 6."""
        for size in (40, 104):
            found = of_any_kind(network(secret, f"wep-{size}"), self.CHECK)
            assert len(found) == (0 if size == bits else 4)
            assert all(each.remedy.startswith("Choose a key of") for each in found)

    def test_wpa3_takes_no_key(self) -> None:
        """Decision 6; hostapd.conf(5), sae_password."""
        (finding, *_) = of_any_kind(network("f" * 64, "wpa3-personal"), self.CHECK)
        assert finding.remedy == "Choose 8 to 63 plain characters, at the access point too."
        lines = '[[module]]\nid = "TG-02"\nsecurity = "wpa3-personal"\n'
        mixed = network("f" * 64, "wpa2-wpa3-personal")
        assert len(of_any_kind(mixed + lines, self.CHECK)) == 1

    def test_wpa3_alone_takes_a_short_password(self) -> None:
        """Decision 19; hostapd.conf(5): the limit holds where one passphrase serves WPA2 too."""
        assert not of_any_kind(network("heron-1", "wpa3-personal"), self.CHECK)
        only_wpa3 = '[defaults]\nsecurity = "wpa3-personal"\n'
        mixed = network("heron-1", "wpa2-wpa3-personal") + only_wpa3
        assert len(of_any_kind(mixed, self.CHECK)) == 4

    def test_a_key_that_is_none(self) -> None:
        lines = f'[[module]]\nid = "TG-02"\npassphrase = {written("heron-tidal", key=True)}\n'
        (finding,) = findings(lines, self.CHECK)
        assert finding.message == (
            "The passphrase is written as a key and is not 64 hexadecimal digits."
        )

    def test_the_way_out_is_the_networks(self) -> None:
        (finding,) = findings(own("heron-1"), self.CHECK)
        assert finding.remedy == THE_NETWORKS
        assert "passphrase-differs" not in fired(own("heron-1"))

    def test_a_passphrase_of_the_network_that_nobody_takes_is_judged_too(self) -> None:
        lines = network("heron-1") + f"[defaults]\npassphrase = {written(CLEAN)}\n"
        found = findings(lines, self.CHECK)
        assert len(found) == 4
        assert all(each.message.startswith("The network's passphrase") for each in found)

    def test_a_mode_that_does_not_meet_is_not_blamed_on_the_passphrase(self) -> None:
        lines = '[[module]]\nid = "TG-02"\nsecurity = "wep-40"\n'
        assert not of_any_kind(lines, self.CHECK)

    def test_the_form_that_is_named_is_that_of_the_networks_mode(self) -> None:
        """hostapd.conf(5), wep_key0: 5 characters or 10 hexadecimal digits."""
        lines = (
            network("heron-1", "wep-40") + '[[module]]\nid = "TG-02"\nsecurity = "wpa2-personal"'
        )
        remedies = {each.remedy for each in of_any_kind(lines, self.CHECK)}
        assert remedies == {
            "Choose a key of 5 characters or 10 hexadecimal digits, at the access point too."
        }

    def test_an_open_network_needs_none(self) -> None:
        assert not findings(network("x", "open"), self.CHECK)


class TestEmpty:
    CHECK = "passphrase-missing"

    def test_it_needs_to_be_written_as_empty(self) -> None:
        """Decision 20: an absent one leaves the stage unknown."""
        assert fired(own("")) == {self.CHECK: {"TG-02"}}
        result = audit(without(with_profile(""), "network", "passphrase"), TODAY)
        assert result.findings == ()
        assert {each.stages[Stage.KEYS] for each in result.modules} == {State.UNKNOWN}
        assert {each.verdict for each in result.modules} == {Verdict.UNKNOWN}

    def test_who_has_none_is_not_told_of_the_form_of_the_networks_besides(self) -> None:
        found = fired(network("heron-1") + own(""))
        assert found[self.CHECK] == {"TG-02"}
        assert found["passphrase-invalid"] == EVERYONE - {"TG-02"}

    def test_an_empty_one_of_the_network_stops_every_module(self) -> None:
        """Decision 4."""
        for more in ("", f"[defaults]\npassphrase = {{ env = {written('GAUGE_PASSPHRASE')} }}\n"):
            found = findings(network("") + more, self.CHECK)
            assert [each.message for each in found] == ["The network's passphrase is empty."] * 4
            assert found[0].remedy.startswith("Write it")

    def test_a_module_without_a_network_has_nothing_to_take(self) -> None:
        file = without(with_profile(own("")), "network", "passphrase")
        (finding,) = found_in(file, self.CHECK)
        assert finding.remedy.startswith("Write it")

    def test_an_open_network_needs_none(self) -> None:
        assert self.CHECK not in fired(network("", "open"))


class TestSameKey:
    CHECK = "passphrase-differs"

    # IEEE 802.11i-2004, H.4.3, cases 1 to 3: passphrase, network name, key.
    PUBLISHED = (
        (
            "password",
            "IEEE",
            "f42c6fc52df0ebef9ebb4b90b38a5f902e83fe1b135a70e23aed762e9710a12e",
        ),
        (
            "ThisIsAPassword",
            "ThisIsASSID",
            "0dc0d6eb90555ed6419756b9a15ec3e3209b63df707dd508d14581f8982721af",
        ),
        (
            "a" * 32,
            "Z" * 32,
            "becb93866bb8c3832cb777c2f559807c8c59afcb6eae734885001300a981cc62",
        ),
    )

    def kit(self, name: str, planned: str, own_key: str) -> str:
        """Return lines with a network's name and secrets as they are written in TOML."""
        return (
            f'[network]\nname = "{name}"\npassphrase = {planned}\n'
            f'[[module]]\nid = "TG-02"\npassphrase = {own_key}\n'
        )

    @pytest.mark.parametrize(("text", "name", "key"), PUBLISHED)
    def test_a_passphrase_and_the_key_that_it_gives_are_one(
        self, text: str, name: str, key: str
    ) -> None:
        passphrase, digits = written(text), written(key, key=True)
        for planned, other in ((passphrase, digits), (digits, passphrase)):
            assert not findings(self.kit(name, planned, other), self.CHECK)
        for spelling in (written(key.upper(), key=True), written(key)):
            assert not findings(self.kit(name, passphrase, spelling), self.CHECK)

    def test_the_key_of_another_name_is_another(self) -> None:
        """Decision 6. The key of "password" for "MySSID": wpa_passphrase 2.10."""
        digits = "8a98ace1117ee11811eb08759cb2bdc4d99f4cea433b86c4bcbd18ad0f9eed48"
        text, key = written("password"), written(digits, key=True)
        assert not findings(self.kit("MySSID", text, key), self.CHECK)
        (finding,) = findings(self.kit("IEEE", text, key), self.CHECK)
        assert finding.severity is Severity.FAULT

    def test_one_digit_more_or_less_is_another_key(self) -> None:
        text, name, key = self.PUBLISHED[0]
        other = key[:-1] + "f"
        assert findings(self.kit(name, written(text), written(other, key=True)), self.CHECK)

    def test_without_the_networks_name_the_two_are_not_compared(self) -> None:
        text, name, key = self.PUBLISHED[0]
        lines = self.kit(name, written(text), written(key[:-1] + "f", key=True))
        assert not found_in(without(with_profile(lines), "network", "name"), self.CHECK)
        two_texts = self.kit(name, written(text), written("Password"))
        assert found_in(without(with_profile(two_texts), "network", "name"), self.CHECK)

    def test_the_name_that_counts_is_the_networks(self) -> None:
        """Decision 6: a module that looks for a wrong name has no wrong key besides."""
        text, name, key = self.PUBLISHED[0]
        lines = self.kit(name, written(text), written(key, key=True))
        found = fired(lines + 'network_name = "iEEE"\n')
        assert found["network-name-differs"] == {"TG-02"}
        assert self.CHECK not in found

    @pytest.mark.parametrize(
        ("secret", "slip"),
        [
            (CLEAN + " ", ": only a blank at an end differs."),
            (CLEAN.capitalize(), ": only letter case differs."),
            (CLEAN[:-1], "."),
            ("plover-anchor-basalt-58", "."),
        ],
    )
    def test_a_slip_is_described_and_never_quoted(self, secret: str, slip: str) -> None:
        (finding,) = findings(own(secret), self.CHECK)
        assert finding.message == f"The module derives another key than the network{slip}"
        assert finding.remedy == THE_NETWORKS
        assert [place.column for place in finding.where] == ["passphrase", "passphrase"]
        everything = texts(audited(own(secret)))
        assert secret.strip() not in everything
        assert CLEAN not in everything

    def test_the_module_stops_there(self) -> None:
        module = audited(own("plover-anchor-basalt-58")).modules[1]
        assert (module.stops_at, module.shows_at) == (Stage.KEYS, Stage.KEYS)
        assert module.expected_indicator == "steady"

    def test_one_in_the_defaults_is_on_all_who_take_it(self) -> None:
        lines = '[defaults]\npassphrase = { env = "OTHER_PASSPHRASE" }\n'
        assert fired(lines) == {self.CHECK: EVERYONE}

    @pytest.mark.parametrize("mode", ["wpa2-personal", "wpa3-personal", "wpa2-wpa3-personal"])
    def test_every_mode_of_wpa_compares(self, mode: str) -> None:
        assert len(of_any_kind(network(None, mode) + own("plover-anchor-58"), self.CHECK)) == 1
        assert not of_any_kind(network(None, mode) + own(CLEAN), self.CHECK)

    @pytest.mark.parametrize(
        ("planned", "mode"), [("wpa2-personal", "open"), ("open", "wpa2-personal")]
    )
    def test_where_one_end_is_open_there_is_no_key_to_compare(
        self, planned: str, mode: str
    ) -> None:
        lines = network(None, planned) + own("plover-anchor-58", security=mode)
        assert not of_any_kind(lines, self.CHECK)

    def test_where_only_one_mode_is_known_the_lengths_are_not_compared(self) -> None:
        lines = network("abcde") + own("vwxyz", security="wep-40")
        (finding,) = found_in(
            without(with_profile(lines, **ANY_KIND), "network", "security"), self.CHECK
        )
        assert finding.message == "The module derives another key than the network."
        assert finding.shows_at is Stage.KEYS

    def test_where_the_families_differ_the_mode_is_the_cause(self) -> None:
        lines = own("vwxyz", security="wep-40")
        assert not of_any_kind(lines, self.CHECK)
        assert len(of_any_kind(lines, "security-mode-mismatch")) == 1


class TestWep:
    CHECK = "passphrase-differs"
    # The key of 40 bits as text and in digits: ASCII codes of v, w, x, y, z.
    TEXT, DIGITS = "vwxyz", "767778797A"

    def test_text_and_digits_are_one_key(self) -> None:
        lines = network(self.TEXT, "wep-40")
        assert not of_any_kind(lines + own(self.DIGITS), self.CHECK)
        assert not of_any_kind(lines + own(self.DIGITS.lower()), self.CHECK)
        assert len(of_any_kind(lines + own("767778797b"), self.CHECK)) == 1

    @pytest.mark.parametrize(
        ("addressing", "shows_at"),
        [
            ('addressing = "pooled"\n', Stage.ADDRESS),
            ('addressing = "static"\naddress = "10.20.0.32"\n', Stage.DELIVERY),
        ],
    )
    def test_another_key_associates_and_shows_later(self, addressing: str, shows_at: Stage) -> None:
        """Decision 18; observed on hostapd 2.10 / wpa_supplicant 2.10, November 2026."""
        lines = network(self.TEXT, "wep-40") + own("abcde") + addressing
        module = audit(with_profile(lines, **ANY_KIND), TODAY).modules[1]
        assert (module.stops_at, module.shows_at) == (Stage.KEYS, shows_at)
        assert module.stages[Stage.ADMISSION] is not State.BLOCKED
        assert module.expected_indicator == "blinking 1 Hz"

    @pytest.mark.parametrize("secret", [None, "vwxyz"])
    def test_another_length_is_another_key_at_the_keys_stage(self, secret: str | None) -> None:
        """Decision 18: 40 against 104 bits."""
        lines = network(".2.4.6.8.0.23", "wep-104")
        mode = 'security = "wep-40"\n'
        lines += own(secret) + mode if secret else f'[[module]]\nid = "TG-02"\n{mode}'
        (finding,) = of_any_kind(lines, self.CHECK)
        assert finding.message == "The module's key is for wep-40, the network's for wep-104."
        assert finding.remedy == "Set security to wep-104, with the network's key."
        assert finding.shows_at is Stage.DELIVERY
        assert [place.column for place in finding.where] == ["security", "security"]
        assert not of_any_kind(lines, "passphrase-invalid")


class TestLastTerm:
    CHECK = "passphrase-from-last-term"
    RETIRED = '[network]\nretired_passphrases = [{ env = "LAST_TERM_PASSPHRASE" }]\n'
    OLD = "curlew-brackish-lantern-harbour-77"

    def test_on_a_module_it_is_a_fault_and_the_only_one(self) -> None:
        lines = self.RETIRED + '[[module]]\nid = "TG-02"\npassphrase = { env = "OTHER_PASSPHRASE" }'
        assert fired(lines) == {"passphrase-differs": {"TG-02"}}
        lines = lines.replace("OTHER_PASSPHRASE", "LAST_TERM_PASSPHRASE")
        assert fired(lines) == {self.CHECK: {"TG-02"}}
        (finding,) = findings(lines, self.CHECK)
        assert finding.severity is Severity.FAULT
        assert [place.column for place in finding.where] == ["passphrase", "retired_passphrases"]
        assert self.OLD not in texts(audited(lines))

    def test_on_the_network_it_is_a_risk_of_all_who_have_it(self) -> None:
        old = '{ env = "LAST_TERM_PASSPHRASE" }'
        lines = (
            f'{self.RETIRED}passphrase = {old}\n[[module]]\nid = "TG-02"\npassphrase = {old}\n'
            '[[module]]\nid = "TG-03"\npassphrase = { env = "OTHER_PASSPHRASE" }\n'
        )
        (finding,) = findings(lines, self.CHECK)
        assert (finding.severity, finding.concerns) == (Severity.RISK, (0, 1, 3))
        assert fired(lines) == {self.CHECK: {THE_KIT}, "passphrase-differs": {"TG-03"}}
        assert audited(lines).modules[1].stages[Stage.KEYS] is State.AT_RISK

    def test_one_of_a_form_that_is_not_taken_is_not_said_to_be_retired_besides(self) -> None:
        lines = f"[network]\nretired_passphrases = [{written('heron-1')}]\n" + own("heron-1")
        assert set(fired(lines)) - {"passphrase-in-clear"} == {"passphrase-invalid"}

    def test_a_retired_key_is_that_of_its_passphrase(self) -> None:
        """IEEE 802.11i-2004, H.4.3, case 1."""
        _, _, key = TestSameKey.PUBLISHED[0]
        lines = (
            f'[network]\nname = "IEEE"\nretired_passphrases = [{written(key, key=True)}]\n'
            + own("password")
        )
        assert findings(lines, self.CHECK)

    def test_an_open_network_has_no_passphrase_to_retire(self) -> None:
        lines = self.RETIRED + 'security = "open"\npassphrase = { env = "LAST_TERM_PASSPHRASE" }\n'
        assert self.CHECK not in fired(lines)


def with_attack_time(lines: str, limit: timedelta) -> list[Finding]:
    """Return what is said of weak passphrases where the policy asks for so much time."""
    file = with_profile(lines)
    thresholds = file.policy.thresholds.model_copy(update={"attack_time": limit})
    policy = file.policy.model_copy(update={"thresholds": thresholds})
    return found_in(replace(file, policy=policy), "weak-passphrase")


class TestGuessing:
    CHECK = "weak-passphrase"

    # zxcvbn 4.5.0: guesses of each; hashcat 6.2.6, mode 22000, GeForce RTX 4090: 2533.3 kH/s.
    # Decision 10: teaching lab 30 days, strict 10 years.
    @pytest.mark.parametrize(
        ("secret", "guesses", "in_lab", "strict"),
        [
            ("password1", 190, True, True),
            ("letmein123", 15_000, True, True),
            ("Tr0ub4dour&3", 19_058_000, True, True),
            ("kX9vQ2mT7rLp", 1_000_000_000_001, True, True),
            ("correcthorsebatterystaple", 273_500_327_700_640, False, True),
            ("r7GhW2kQz9TbLm4V", 10_000_000_000_000_001, False, False),
        ],
    )
    def test_against_the_policy(
        self, secret: str, guesses: int, in_lab: bool, strict: bool
    ) -> None:
        lines = network(None) + f"passphrase = {written(secret)}\n"
        found = findings(lines, self.CHECK)
        assert len(found) == in_lab
        for finding in found:
            assert finding.figures["seconds"] == round(guesses / GUESS_RATE_PER_S, 3)
            assert finding.figures["limit_seconds"] == 30 * 86400
            assert (finding.severity, finding.concerns) == (Severity.RISK, INDEXES)
            assert secret not in texts(audited(lines))
        strictly = findings('[kit]\npolicy = "strict"\n' + lines, self.CHECK)
        assert [each.severity for each in strictly] == [Severity.FAULT] * strict

    @pytest.mark.parametrize(
        ("seconds", "told"),
        [
            (0.4, "a second"),
            (1.9, "a second"),
            (2, "2 seconds"),
            (119, "119 seconds"),
            (120, "2 minutes"),
            (7199, "120 minutes"),
            (7200, "2 hours"),
            (172_799, "48 hours"),
            (172_800, "2 days"),
        ],
    )
    def test_a_time_is_told_in_the_unit_of_which_there_are_two(
        self, seconds: float, told: str, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        time = timedelta(seconds=seconds)
        monkeypatch.setattr("auditor.checks.keys.attack_time", lambda *_: time)
        (finding,) = findings("", self.CHECK)
        assert f"would be guessed in about {told} by one card at 2.5 million" in finding.message

    def test_the_border_is_a_time(self) -> None:
        """10^10 + 1 guesses (zxcvbn 4.5.0) take 3947.42 s at the published rate."""
        lines = network("eheuczkqyq")
        time = timedelta(seconds=10_000_000_001 / GUESS_RATE_PER_S)
        assert with_attack_time(lines, time) == []
        (finding,) = with_attack_time(lines, time + timedelta(milliseconds=1))
        assert finding.message.startswith("The network's passphrase would be guessed in about 66 ")

    def test_the_words_of_the_kit_are_guessed_first(self) -> None:
        lines = '[network]\nname = "ploverbasalt"\n' + f"passphrase = {written('ploverbasalt1')}\n"
        (finding,) = findings(lines, self.CHECK)
        assert float(str(finding.figures["seconds"])) < 1
        assert "about a second" in finding.message

    def test_wpa3_is_not_guessed_offline(self) -> None:
        """Decision 19: there a password of fewer than 8 characters is named."""
        recent = '[kit]\nprofile = "generic-dual-band-wpa3"\n'
        assert not findings(recent + network("password1", "wpa3-personal"), self.CHECK)
        assert findings(recent + network("password1", "wpa2-wpa3-personal"), self.CHECK)
        (finding,) = findings(recent + network("heron-1", "wpa3-personal"), self.CHECK)
        assert "fewer than 8 characters, which most user interfaces refuse" in finding.message
        assert not findings(recent + network("heron-12", "wpa3-personal"), self.CHECK)

    def test_a_key_and_an_open_network_are_not_judged(self) -> None:
        key = f"[network]\npassphrase = {written('0' * 64, key=True)}\n"
        assert not findings(key, self.CHECK)
        assert not findings(network("password1", "open"), self.CHECK)

    def test_it_concerns_those_who_have_it(self) -> None:
        weak = '{ env = "WEAK_PASSPHRASE" }'
        lines = (
            f'[network]\npassphrase = {weak}\n[[module]]\nid = "TG-02"\npassphrase = {weak}\n'
            '[[module]]\nid = "TG-03"\npassphrase = { env = "OTHER_PASSPHRASE" }\n'
        )
        (finding,) = findings(lines, self.CHECK)
        assert finding.concerns == (0, 1, 3)

    def test_one_of_a_module_is_judged_where_none_is_planned(self) -> None:
        file = without(with_profile(own("password1")), "network", "passphrase")
        assert [each.where[0].column for each in found_in(file, self.CHECK)] == ["passphrase"]
        assert self.CHECK not in fired(own("password1"))


class TestInClear:
    CHECK = "passphrase-in-clear"

    def test_each_table_has_a_finding_of_its_own(self) -> None:
        lines = network(CLEAN) + own(CLEAN)
        assert fired(lines) == {self.CHECK: {THE_KIT, "TG-02"}}
        of_kit, of_module = findings(lines, self.CHECK)
        assert (of_kit.severity, of_kit.concerns) == (Severity.ADVICE, (0, 2, 3))
        assert of_module.concerns == ()
        assert CLEAN not in texts(audited(lines))

    def test_the_defaults(self) -> None:
        (finding,) = findings(f"[defaults]\npassphrase = {written(CLEAN)}\n", self.CHECK)
        assert finding.concerns == INDEXES

    def test_references_and_empty_ones_are_not_in_clear(self) -> None:
        assert self.CHECK not in fired("")
        assert self.CHECK not in fired(own(""))

    def test_a_strict_policy_puts_at_risk_whoever_takes_it(self) -> None:
        result = audited('[kit]\npolicy = "strict"\n' + network(CLEAN))
        assert {each.stages[Stage.KEYS] for each in result.modules} == {State.AT_RISK}


class TestNotThere:
    """Secrets that are referred to and cannot be had."""

    KIT = (
        '[kit]\nname = "Tide gauges"\n[network]\nname = "saltmarsh-gauges"\n'
        'security = "{mode}"\npassphrase = {passphrase}\n[network.ipv4]\n'
        'subnet = "10.20.0.0/24"\n[traffic]\ndestination = "255.255.255.255"\nport = 4010\n'
        '[[module]]\nid = "A"\naddress = "10.20.0.31"\n'
        '[[module]]\nid = "B"\naddress = "10.20.0.32"\n'
    )

    def audited(
        self,
        folder: Path,
        passphrase: str,
        *,
        mode: str = "wpa2-personal",
        more: str = "",
        with_secrets: bool = True,
        **environment: str,
    ) -> AuditResult:
        """Return the audit of a small kit with a passphrase that is written so."""
        fleet = folder / "kit.toml"
        fleet.write_text(self.KIT.format(mode=mode, passphrase=passphrase) + more)
        file = read_fleet(str(fleet), environment=environment, with_secrets=with_secrets)
        return audit(file, TODAY)

    @pytest.mark.parametrize(
        ("passphrase", "named"),
        [
            ('{ env = "GAUGE" }', "environment variable GAUGE is not set"),
            ('{ env = "EMPTY" }', "environment variable EMPTY is empty"),
            ('{ file = "secret.txt" }', "file secret.txt is not there"),
            ('{ file = "." }', "file . is a folder"),
        ],
    )
    def test_the_stage_is_unknown_and_it_is_said_once(
        self, passphrase: str, named: str, tmp_path: Path
    ) -> None:
        """Decisions 6 and 29."""
        result = self.audited(tmp_path, passphrase, EMPTY="")
        (gap,) = [gap for gap in result.not_checked if gap.stage is Stage.KEYS]
        assert gap.reason == f"[network] passphrase: {named}"
        assert gap.modules == ()
        assert {each.stages[Stage.KEYS] for each in result.modules} == {State.UNKNOWN}
        assert {each.verdict for each in result.modules} == {Verdict.UNKNOWN}
        assert result.findings == ()

    def test_what_is_there_is_read_without_its_line_end(self, tmp_path: Path) -> None:
        """Decision 6: one line end, and nothing else."""
        (tmp_path / "secret.txt").write_bytes(CLEAN.encode() + b"\r\n")
        same = '[[module]]\nid = "C"\naddress = "10.20.0.33"\npassphrase = { env = "P" }\n'
        file = '{ file = "secret.txt" }'
        assert self.audited(tmp_path, file, more=same, P=CLEAN + "\n").findings == ()
        result = self.audited(tmp_path, file, more=same, P=CLEAN + " \n")
        assert [each.check for each in result.findings] == ["passphrase-differs"]

    def test_left_out_on_purpose_it_does_not_count(self, tmp_path: Path) -> None:
        """Decision 6: --without-secrets."""
        other = '[[module]]\nid = "C"\naddress = "10.20.0.33"\npassphrase = "password1"\n'
        for passphrase in (written(CLEAN), written("x"), '{ env = "GAUGE" }', '{ file = "no" }'):
            result = self.audited(tmp_path, passphrase, more=other, with_secrets=False)
            assert {each.stages[Stage.KEYS] for each in result.modules} == {State.UNKNOWN}
            assert {each.verdict for each in result.modules} == {Verdict.READY}
            reasons = [gap.reason for gap in result.not_checked if gap.stage is Stage.KEYS]
            assert reasons == ["passphrases are left out on purpose"]
            assert result.findings == ()

    def test_an_open_network_misses_nothing(self, tmp_path: Path) -> None:
        result = self.audited(tmp_path, '{ env = "GAUGE" }', mode="open")
        assert not [gap for gap in result.not_checked if gap.stage is Stage.KEYS]

    def test_one_module_that_cannot_be_told_is_named(self, tmp_path: Path) -> None:
        other = '[[module]]\nid = "C"\naddress = "10.20.0.33"\npassphrase = { env = "C" }\n'
        result = self.audited(tmp_path, '{ env = "P" }', more=other, P=CLEAN)
        (gap,) = [gap for gap in result.not_checked if gap.stage is Stage.KEYS]
        assert gap.modules == ("C",)
        assert [each.verdict for each in result.modules] == [
            Verdict.READY,
            Verdict.READY,
            Verdict.UNKNOWN,
        ]
