"""Discovery: names, bands and channels, both sides of every border."""

import json
from dataclasses import replace
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.compute.radio import Band
from auditor.findings import Stage, State, Verdict
from auditor.models.words import Severity, Standard
from auditor.reading.fleet import read_fleet
from tests.checks.kits import THE_KIT, audited, findings, fired
from tests.checks.profiles import TODAY, found_in, with_profile

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}


def network(name: str) -> str:
    """Return lines that plan a network name, whatever characters it has."""
    return f"[network]\nname = {json.dumps(name, ensure_ascii=False)}\n"


def looks_for(name: str) -> str:
    """Return lines in which TG-02 looks for a name."""
    return f'[[module]]\nid = "TG-02"\nnetwork_name = {json.dumps(name, ensure_ascii=False)}\n'


class TestLengthOfAName:
    CHECK = "network-name-invalid"

    # IEEE 802.11, SSID element: 0 to 32 octets, 0 being the wildcard; octets, not characters.
    @pytest.mark.parametrize(
        ("name", "octets"),
        [("a" * 33, 33), ("ä" * 17, 34), ("潮" * 11, 33), ("", 0), ("a" * 31 + "é", 33)],
    )
    def test_names_that_cannot_exist_stop_every_module(self, name: str, octets: int) -> None:
        """Decision 4."""
        found = findings(network(name), self.CHECK)
        assert [each.figures["octets"] for each in found] == [octets] * 4
        assert {each.severity for each in found} == {Severity.FAULT}
        assert found[0].where[0].column == "name"

    @pytest.mark.parametrize("name", ["a" * 32, "ä" * 16, "潮" * 10, "a", " "])
    def test_names_that_can(self, name: str) -> None:
        assert not findings(network(name), self.CHECK)

    def test_one_fault_is_not_said_twice(self) -> None:
        assert fired(looks_for("a" * 33)) == {self.CHECK: {"TG-02"}}

    def test_a_planned_name_that_cannot_exist_is_no_name_to_set(self) -> None:
        lines = network("a" * 33) + '[defaults]\nnetwork_name = "saltmarsh-gauges"\n'
        assert set(fired(lines)) == {self.CHECK}


class TestAnotherName:
    CHECK = "network-name-differs"
    PLANNED = "saltmarsh-gauges"

    # Each is another network: observed on hostapd 2.10 / wpa_supplicant 2.10, November 2026
    # (case, blanks, a prefix, composed against decomposed accents).
    @pytest.mark.parametrize(
        ("name", "kind", "told"),
        [
            ("Saltmarsh-gauges", "letter case", 'the case of "S" at position 1'),
            ("saltmarsh-gauges ", "a blank at an end", "it ends in a blank"),
            (" saltmarsh-gauges", "a blank at an end", "it begins with a blank"),
            ("sаltmarsh-gauges", "a look-alike letter", "CYRILLIC SMALL LETTER A"),
            ("saltmarsh-gauge", "spelling", '"s" is missing at position 16'),
            ("saltmarsh_gauges", "spelling", '"_" instead of "-" at position 10'),
            ("heron-colony", "all of it", None),
        ],
    )
    def test_it_is_said_how_it_differs(self, name: str, kind: str, told: str | None) -> None:
        assert fired(looks_for(name)) == {self.CHECK: {"TG-02"}}
        (finding,) = findings(looks_for(name), self.CHECK)
        assert finding.figures["differs_in"] == kind
        assert (told or f'the network is "{self.PLANNED}".') in finding.message
        assert finding.remedy == f'Set network_name to "{self.PLANNED}".'
        assert [place.column for place in finding.where] == ["network_name", "name"]

    def test_accents_composed_in_two_ways(self) -> None:
        """UAX #15: U+00FC against u with U+0308."""
        lines = network("k\u00fcste-gauges") + looks_for("ku\u0308ste-gauges")
        (finding,) = findings(lines, self.CHECK)
        assert "U+0075 U+0308 instead of U+00FC" in finding.message

    def test_the_module_stops_there_with_its_indicator_searching(self) -> None:
        result = audited(looks_for("saltmarsh-gauge")).modules[1]
        assert (result.verdict, result.stops_at) == (Verdict.BLOCKED, Stage.DISCOVERY)
        assert result.shows_at is Stage.DISCOVERY
        assert result.expected_indicator == "steady"

    def test_a_name_in_the_defaults_is_on_all_who_take_it(self) -> None:
        lines = '[defaults]\nnetwork_name = "saltmarsh"\n' + looks_for(self.PLANNED)
        assert fired(lines) == {self.CHECK: EVERYONE - {"TG-02"}}

    def test_the_planned_name_written_out_is_no_difference(self) -> None:
        assert fired(looks_for(self.PLANNED)) == {}


class TestFragileNames:
    # UTS #39 (look-alikes), UAX #15 (two encodings).
    @pytest.mark.parametrize(
        ("name", "reason"),
        [
            ("saltmarsh-gauges ", "ends in a blank"),
            (" saltmarsh", "begins with a blank"),
            ("salt  marsh", "2 blanks in a row at position 5"),
            ("salt\tmarsh", "control character U+0009"),
            ("sаltmarsh", "CYRILLIC SMALL LETTER A"),
            ("salt\u200bmarsh", "invisible character U+200B"),
            ("küste", "two encodings"),
        ],
    )
    def test_each_reason_is_told(self, name: str, reason: str) -> None:
        assert fired(network(name)) == {"network-name-fragile": {THE_KIT}}
        (finding,) = findings(network(name), "network-name-fragile")
        assert (finding.severity, finding.concerns) == (Severity.ADVICE, ())
        assert reason in finding.message

    @pytest.mark.parametrize("name", ["saltmarsh-gauges", "Salt Marsh 2", "salt_marsh.3"])
    def test_plain_names_are_not(self, name: str) -> None:
        assert fired(network(name)) == {}


FIVE_GHZ = '[network]\nband = "5 GHz"\nchannel = 36\nlowest_basic_rate = "6 Mb/s"\n'


class TestBands:
    def test_a_network_that_the_module_never_hears(self) -> None:
        assert fired(FIVE_GHZ) == {"band-unsupported": EVERYONE}
        (finding, *_) = findings(FIVE_GHZ, "band-unsupported")
        assert finding.figures == {"offered": ["5 GHz"], "known": ["2.4 GHz"]}
        assert finding.remedy == "Open the network on 2.4 GHz too."

    def test_the_channel_alone_tells_the_band(self) -> None:
        """IEEE 802.11: channel 36 is one of 5 GHz only."""
        file = with_profile("[network]\nchannel = 36\nband = []\n")
        (finding, *_) = found_in(file, "band-unsupported")
        assert finding.where[0].column == "channel"
        assert finding.figures["offered"] == ["5 GHz"]

    def test_one_band_in_common_is_enough(self) -> None:
        both = '[network]\nband = ["2.4 GHz", "5 GHz"]\n'
        assert fired(both) == {}
        assert fired(FIVE_GHZ + '[kit]\nprofile = "generic-dual-band-wpa3"\n') == {}

    def test_a_profile_that_names_no_band_is_not_judged(self) -> None:
        assert not found_in(with_profile(FIVE_GHZ, bands=()), "band-unsupported")


def channel(number: int, region: str = "GB") -> str:
    """Return lines that plan a channel in a region."""
    return f'[kit]\nregion = "{region}"\n[network]\nchannel = {number}\n'


class TestPermittedChannels:
    CHECK = "channel-not-permitted"

    # wireless-regdb 2026.05.30: US 2400 to 2472 MHz (1 to 11), GB 2400 to 2483.5 MHz (1 to 13),
    # JP 2402 to 2482 MHz (1 to 13), and 2474 to 2494 MHz without OFDM (14).
    @pytest.mark.parametrize(
        ("region", "last", "first_forbidden"), [("US", 11, 12), ("GB", 13, 14), ("JP", 13, 14)]
    )
    def test_both_sides_of_the_last_channel(
        self, region: str, last: int, first_forbidden: int
    ) -> None:
        assert fired(channel(last, region)) == {}
        found = findings(channel(first_forbidden, region), self.CHECK)
        assert len(found) == 4
        legal = ", ".join(str(number) for number in range(1, last + 1))
        assert found[0].remedy.startswith(f"Choose one of {legal}. Limits change")
        assert [place.column for place in found[0].where] == ["channel", "region"]

    def test_channel_14_is_for_802_11b_alone(self) -> None:
        """wireless-regdb 2026.05.30, JP: no OFDM."""
        only_b = with_profile(channel(14, "JP"), standards=(Standard.B,))
        assert not found_in(only_b, self.CHECK)
        with_g = with_profile(channel(14, "JP"), standards=(Standard.B, Standard.G))
        assert len(found_in(with_g, self.CHECK)) == 4

    # IEEE 802.11, channelisation: 1 to 14 at 2.4 GHz; 36, 40, 44, ... at 5 GHz.
    @pytest.mark.parametrize(
        ("band", "number"), [("2.4 GHz", 15), ("2.4 GHz", 36), ("5 GHz", 6), ("5 GHz", 37)]
    )
    def test_a_channel_that_there_is_not(self, band: str, number: int) -> None:
        lines = f'[network]\nband = "{band}"\nchannel = {number}\n'
        found = findings(lines, self.CHECK)
        assert [each.message for each in found] == [f"There is no channel {number} in {band}."] * 4
        assert not findings(lines, "channel-unsupported")

    def test_what_is_named_instead_is_permitted(self) -> None:
        (finding, *_) = findings('[network]\nband = "2.4 GHz"\nchannel = 15\n', self.CHECK)
        assert finding.remedy == f"Choose one of {', '.join(map(str, range(1, 14)))}."

    def test_a_number_in_neither_of_two_bands(self) -> None:
        lines = '[network]\nband = ["2.4 GHz", "5 GHz"]\nchannel = 200\n'
        (finding, *_) = findings(lines, self.CHECK)
        assert finding.message == "There is no channel 200 in 2.4 GHz and 5 GHz."


class TestChannelsOfTheModule:
    CHECK = "channel-unsupported"
    EARLY = '[[module]]\nid = "TG-02"\nprofile = "generic-24ghz-early"\n'

    @pytest.mark.parametrize(("number", "fires"), [(11, False), (12, True)])
    def test_both_sides_of_the_last_that_it_knows(self, number: int, fires: bool) -> None:
        lines = channel(number) + self.EARLY
        assert fired(lines) == ({self.CHECK: {"TG-02"}} if fires else {})

    def test_the_way_out_serves_every_module(self) -> None:
        (finding,) = findings(channel(13) + self.EARLY, self.CHECK)
        assert finding.remedy == f"Move the network to one of {', '.join(map(str, range(1, 12)))}."
        assert [place.column for place in finding.where] == ["channel", "profile"]

    @pytest.mark.parametrize(
        ("of_the_others", "way_out"), [((6, 11, 13), "6, 11"), ((12, 13), "1, 6, 11")]
    )
    def test_what_nobody_else_knows_is_named_only_where_nothing_is_shared(
        self, of_the_others: tuple[int, ...], way_out: str
    ) -> None:
        early, usual = "generic-24ghz-early", "generic-24ghz-wpa2"
        file = with_profile(channel(13) + self.EARLY, early, channels={Band.GHZ_2_4: (1, 6, 11)})
        own = file.module_profiles
        others = own[usual].model_copy(update={"channels": {Band.GHZ_2_4: of_the_others}})
        file = replace(file, module_profiles={**own, usual: others})
        (finding,) = found_in(file, self.CHECK)
        assert finding.remedy == f"Move the network to one of {way_out}."

    def test_channels_of_a_band_that_it_does_not_hear_are_not_told_besides(self) -> None:
        """A profile may list channels of a band that its bands leave out."""
        deaf = {"bands": (Band.GHZ_2_4,), "channels": {Band.GHZ_5: (40, 44)}}
        file = with_profile(FIVE_GHZ, **deaf)
        assert {each.check for each in audit(file, TODAY).findings} == {"band-unsupported"}
        both = with_profile(FIVE_GHZ, **deaf | {"bands": (Band.GHZ_2_4, Band.GHZ_5)})
        assert {each.check for each in audit(both, TODAY).findings} == {self.CHECK}

    def test_with_two_bands_nobody_can_say(self) -> None:
        both = '[network]\nband = ["2.4 GHz", "5 GHz"]\nchannel = 13\n'
        assert not findings(both + self.EARLY, self.CHECK)


class TestHiddenNetworks:
    CHECK = "hidden-network"
    HIDDEN = "[network]\nhidden = true\n"

    def test_it_is_advice_where_every_module_can_ask(self) -> None:
        assert fired(self.HIDDEN) == {self.CHECK: {THE_KIT}}
        assert {each.verdict for each in audited(self.HIDDEN).modules} == {Verdict.READY}

    @pytest.mark.parametrize(("finds", "fires"), [(True, 0), (None, 0), (False, 4)])
    def test_it_is_a_fault_where_a_module_cannot(self, finds: bool | None, fires: int) -> None:
        found = found_in(with_profile(self.HIDDEN, finds_hidden=finds), self.CHECK)
        severities = [each.severity for each in found]
        assert severities == [Severity.ADVICE] + [Severity.FAULT] * fires

    def test_only_that_module_is_stopped(self) -> None:
        result = audited(self.HIDDEN + TestChannelsOfTheModule.EARLY)
        assert [each.id for each in result.modules if each.stops_at is Stage.DISCOVERY] == ["TG-02"]


class TestBandSteering:
    CHECK = "band-steering"
    BOTH = '[network]\nband = ["2.4 GHz", "5 GHz"]\nband_steering = {}\n'
    RECENT = '[[module]]\nid = "TG-02"\nprofile = "generic-dual-band-wpa3"\n'

    def test_it_names_the_modules_of_one_band(self) -> None:
        lines = self.BOTH.format("true") + self.RECENT
        assert fired(lines) == {self.CHECK: {THE_KIT}}
        (finding,) = findings(lines, self.CHECK)
        assert finding.message.endswith("3 of 4 modules know only 2.4 GHz: TG-01, TG-03, TG-04.")

    @pytest.mark.parametrize(
        "lines",
        [
            BOTH.format("false"),
            "[network]\nband_steering = true\n",
            BOTH.format("true") + '[kit]\nprofile = "generic-dual-band-wpa3"\n',
        ],
    )
    def test_it_needs_two_bands_the_push_and_a_module_of_one(self, lines: str) -> None:
        assert fired(lines) == {}

    def test_a_profile_without_bands_is_not_counted(self) -> None:
        assert not found_in(with_profile(self.BOTH.format("true"), bands=()), self.CHECK)
        only_5 = with_profile(self.BOTH.format("true"), bands=(Band.GHZ_5,))
        assert not found_in(only_5, self.CHECK)


@pytest.mark.parametrize(
    ("network_name", "own", "reason"),
    [
        ("", 'network_name = "saltmarsh-gauges"\n', "[network] name"),
        ('name = "saltmarsh-gauges"\n', "", None),
    ],
)
def test_a_name_that_nobody_gives_is_not_known(
    network_name: str, own: str, reason: str | None, tmp_path: Path
) -> None:
    """Decision 1: an absent setting is as planned, and without a plan it is not known."""
    fleet = tmp_path / "kit.toml"
    fleet.write_text(f'[network]\nsecurity = "open"\n{network_name}[[module]]\nid = "A"\n{own}')
    result = audit(read_fleet(str(fleet), environment={}), TODAY)
    reasons = [gap.reason for gap in result.not_checked if gap.stage is Stage.DISCOVERY]
    assert reasons == ([reason] if reason else [])
    expected = State.UNKNOWN if reason else State.CLEAR
    assert result.modules[0].stages[Stage.DISCOVERY] is expected
