"""Record: planted faults in single entries, both sides of every border."""

from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.examples import fleet_of
from auditor.findings import Stage, State, Verdict
from auditor.models.words import Severity, Standard, Transport
from auditor.reading.fleet import read_fleet
from tests.checks.kits import THE_KIT, audited, findings, fired
from tests.checks.profiles import TODAY, found_in, with_profile, without

EVERYONE = {"TG-01", "TG-02", "TG-03", "TG-04"}


def module(**settings: object) -> str:
    """Return lines that give TG-02 some settings, written as TOML values."""
    written = "".join(f"{key} = {value}\n" for key, value in settings.items())
    return f'[[module]]\nid = "TG-02"\n{written}'


class TestIdentity:
    def test_an_id_that_stands_twice_is_a_fault_of_both_entries(self) -> None:
        again = module() + module(
            hardware_address='"00:00:5e:00:53:05"', address='"10.20.0.35"', addressing='"static"'
        )
        assert fired(again) == {"duplicate-module-id": {"TG-02"}}
        first, second = findings(again, "duplicate-module-id")
        assert first.figures["times"] == 2
        assert first.where[0] == second.where[1]
        assert str(second.where[0]) in first.message

    def test_ids_are_compared_as_they_stand(self) -> None:
        other = '[[module]]\nid = "tg-02"\nhardware_address = "00:00:5e:00:53:05"\n'
        assert fired(other + 'addressing = "pooled"') == {}

    @pytest.mark.parametrize("spelling", ["00:00:5E:00:53:01", "00-00-5e-00-53-01", "00005e005301"])
    def test_a_hardware_address_in_another_spelling_is_the_same(self, spelling: str) -> None:
        lines = module(hardware_address=f'"{spelling}"')
        assert fired(lines) == {"duplicate-hardware-address": {"TG-01", "TG-02"}}
        (first, _) = findings(lines, "duplicate-hardware-address")
        assert first.figures == {"hardware_address": "00:00:5e:00:53:01", "with": ["TG-02"]}

    # RFC 9542, section 2.1: the lowest bit of the first octet is that of a group, the next says
    # locally administered; section 2.1.1: 00-00-5E-00-53 and 01-00-5E-90-10 are for
    # documentation; IEEE 802: FF-FF-FF-FF-FF-FF is everybody. 02-60-8C is an old registered
    # prefix with the local bit (IEEE list of August 2022).
    @pytest.mark.parametrize(
        ("address", "check"),
        [
            ("00:00:5e:00:53:ff", None),
            ("04:00:5e:00:53:01", None),
            ("01:00:5e:90:10:00", "group-hardware-address"),
            ("03:00:5e:00:53:01", "group-hardware-address"),
            ("ff:ff:ff:ff:ff:ff", "group-hardware-address"),
            ("02:60:8c:00:00:01", "local-hardware-address"),
            ("06:00:5e:00:53:01", "local-hardware-address"),
            ("0a:00:5e:00:53:01", "local-hardware-address"),
            ("0e:00:5e:00:53:01", "local-hardware-address"),
        ],
    )
    def test_two_bits_of_the_first_octet(self, address: str, check: str | None) -> None:
        found = fired(module(hardware_address=f'"{address}"'))
        assert found == ({check: {"TG-02"}} if check else {})

    def test_a_local_address_is_only_advice(self) -> None:
        lines = module(hardware_address='"02:00:5e:00:53:02"')
        assert {each.verdict for each in audited(lines).modules} == {Verdict.READY}


class TestProfiles:
    def test_a_profile_of_the_kit_that_is_not_there_stops_every_module(self) -> None:
        """Decision 4."""
        lines = '[kit]\nprofile = "generic-24ghz-wpa"\n'
        assert fired(lines) == {"unknown-profile": EVERYONE}
        finding = findings(lines, "unknown-profile")[0]
        assert finding.where[0].column == "profile"
        assert finding.remedy.startswith("Write generic-24ghz-wpa2, or the path of your own")

    def test_a_name_that_is_like_none_gets_all_of_them(self) -> None:
        (finding,) = findings(module(profile='"heron"'), "unknown-profile")
        known = "generic-24ghz-early, generic-24ghz-wpa2, generic-dual-band-wpa3"
        assert finding.remedy.startswith(f"Write one of {known}, or the path")

    def test_a_controller_profile_that_is_not_there(self) -> None:
        lines = module(controller='{ profile = "generic-8bit" }')
        (finding,) = findings(lines, "unknown-profile")
        assert "There is no controller profile" in finding.message
        assert finding.stage is Stage.RECORD

    def test_a_profile_by_its_path_is_looked_for_beside_the_fleet_file(
        self, tmp_path: Path
    ) -> None:
        """Decision 3."""
        folder = tmp_path / "kits"
        (folder / "own").mkdir(parents=True)
        (folder / "own" / "radio.toml").write_text('title = "Radio"\nserial_rates = [9600]\n')
        fleet = folder / "kit.toml"
        text = '[kit]\nprofile = "own/radio.toml"\n[serial]\nrate = {}\n[[module]]\nid = "A"\n'
        for rate, checks in ((9600, set()), (19200, {"setting-beyond-profile"})):
            fleet.write_text(text.format(rate))
            result = audit(read_fleet(str(fleet), environment={}), TODAY)
            assert {finding.check for finding in result.findings} == checks
        fleet.write_text('[kit]\nprofile = "radio.toml"\n[[module]]\nid = "A"\n')
        result = audit(read_fleet(str(fleet), environment={}), TODAY)
        assert [finding.check for finding in result.findings] == ["unknown-profile"]

    def test_without_a_profile_it_is_said_once_and_the_kit_may_be_ready(
        self, tmp_path: Path
    ) -> None:
        """Decision 3."""
        fleet = tmp_path / "kit.toml"
        fleet.write_text(
            '[network]\nname = "saltmarsh-gauges"\nsecurity = "wpa2-personal"\n'
            'passphrase = { env = "P" }\n[network.ipv4]\nsubnet = "10.20.0.0/24"\n'
            '[traffic]\ndestination = "255.255.255.255"\nport = 4010\n'
            '[[module]]\nid = "A"\naddress = "10.20.0.31"\n'
            '[[module]]\nid = "B"\naddress = "10.20.0.32"\n'
        )
        result = audit(read_fleet(str(fleet), environment={"P": "heron-tidal-ledger-41"}), TODAY)
        reasons = [gap for gap in result.not_checked if "no module profile" in gap.reason]
        assert [(gap.stage, gap.modules) for gap in reasons] == [(Stage.RECORD, ())]
        assert {each.verdict for each in result.modules} == {Verdict.READY}


class TestBeyondTheProfile:
    # The values of the shipped profile generic-24ghz-wpa2: common practice, no source.
    @pytest.mark.parametrize(
        ("key", "within", "beyond", "remedy"),
        [
            ("serial_rate", "230400", "250000", "Set serial_rate to 230400"),
            ("serial_rate", "1200", "300", "Set serial_rate to 1200"),
            ("data_bits", "7", "9", "Set data_bits to 8"),
            ("parity", '"odd"', '"mark"', "Set parity to none or even or odd"),
            ("stop_bits", "2", "1.5", "Set stop_bits to 1"),
            ("flow_control", '"rts-cts"', '"xon-xoff"', "Set flow_control to none or rts-cts"),
            ("transmit_power", "17", "17.1", 'Set transmit_power to "17 dBm"'),
        ],
    )
    def test_both_sides_of_what_it_lists(
        self, key: str, within: str, beyond: str, remedy: str
    ) -> None:
        check = "setting-beyond-profile"
        assert not findings(module(**{key: within}), check)
        (finding,) = findings(module(**{key: beyond}), check)
        assert finding.remedy == f"{remedy}, or correct the profile."
        assert finding.message.startswith(f"{key} {beyond.strip(chr(34))}")
        assert finding.where[0].column == key
        assert finding.severity is Severity.FAULT

    # The shipped profile generic-24ghz-early has a range of rates instead of a list.
    @pytest.mark.parametrize(
        ("rate", "remedy"),
        [
            (1199, "Set serial_rate to 1200, or correct the profile."),
            (1200, None),
            (115200, None),
            (115201, "Set serial_rate to 115200, or correct the profile."),
        ],
    )
    def test_both_ends_of_a_range(self, rate: int, remedy: str | None) -> None:
        lines = module(profile='"generic-24ghz-early"', serial_rate=rate)
        found = findings(lines, "setting-beyond-profile")
        assert [each.remedy for each in found] == ([remedy] if remedy else [])

    def test_a_transport_that_it_lacks(self) -> None:
        file = with_profile("", transports=(Transport.TCP,))
        (finding, *_) = found_in(file, "setting-beyond-profile")
        assert finding.message == (
            "transport udp is beyond the profile generic-24ghz-wpa2: it can be tcp."
        )

    @pytest.mark.parametrize(("octets", "fires"), [(16, False), (15, True)])
    def test_a_name_longer_than_it_takes(self, octets: int, fires: bool) -> None:
        """The clean kit's name has 16 octets; every module has it."""
        found = found_in(with_profile("", network_name_octets=octets), "setting-beyond-profile")
        assert len(found) == (4 if fires else 0)
        assert all(each.where[0].column == "name" for each in found)

    def test_a_profile_that_lists_nothing_forbids_nothing(self) -> None:
        file = with_profile(module(serial_rate=300), serial_rates=())
        assert not found_in(file, "setting-beyond-profile")


@pytest.mark.parametrize(("saved", "fires"), [("true", False), ("false", True)])
def test_settings_that_are_not_saved_are_a_risk(saved: str, fires: bool) -> None:
    result = audited(module(saved=saved))
    assert result.modules[1].stages[Stage.RECORD] is (State.AT_RISK if fires else State.CLEAR)
    assert [finding.check for finding in result.findings] == ["setting-not-saved"] * fires


class TestRadiatedPower:
    CHECK = "radiated-power-over-limit"

    # EN 300 328: 20 dBm EIRP at 2.4 GHz; wireless-regdb 2026.05.30 has the same for GB.
    # 17.9 + 2.1 and 17.7 + 2.3 are 20 by hand, and must be so in binary.
    @pytest.mark.parametrize(
        ("power", "gain", "fires"),
        [
            ("18", "2", False),
            ("17.9", "2.1", False),
            ("17.7", "2.3", False),
            ("18", "2.1", True),
            ("20", "0", False),
            ("23", "-3", False),
            ("18", "5", True),
        ],
    )
    def test_both_sides_of_20_dbm(self, power: str, gain: str, fires: bool) -> None:
        lines = module(transmit_power=power, antenna_gain=gain)
        found = findings(lines, self.CHECK)
        assert len(found) == fires
        assert all(each.severity is Severity.RISK for each in found)

    def test_18_dbm_with_5_dbi_is_23_dbm(self) -> None:
        """EIRP = transmit power + gain; over EN 300 328 by 3 dB, within 30 dBm in the US
        (wireless-regdb 2026.05.30; 47 CFR 15.247(b)(3)).
        """
        lines = '[kit]\nregion = "{}"\n' + module(transmit_power=18, antenna_gain=5)
        (finding,) = findings(lines.format("GB"), self.CHECK)
        assert finding.figures == {"radiated_dbm": 23.0, "limit_dbm": 20.0}
        assert finding.remedy.startswith("Lower transmit_power to 15 dBm.")
        assert "follow your local regulator" in finding.remedy
        assert not findings(lines.format("US"), self.CHECK)
        mended = module(transmit_power=15, antenna_gain=5)
        assert fired(mended) == {}

    def test_the_profile_tells_the_power_where_nobody_else_does(self) -> None:
        """17 dBm of the shipped profile with 3.1 dBi: 20.1 dBm."""
        louder = with_profile('[defaults]\nantenna_gain = "3.1 dBi"\n')
        file = without(louder, "defaults", "transmit_power")
        assert {each.figures["radiated_dbm"] for each in found_in(file, self.CHECK)} == {20.1}

    @pytest.mark.parametrize(
        "lines",
        [
            '[kit]\nregion = "ZZ"\n',
            '[network]\nband = "2.4 GHz"\nchannel = 40\n',
            "[network]\nchannel = 14\n",
            '[network]\nband = ["2.4 GHz", "5 GHz"]\nchannel = 200\n',
        ],
    )
    def test_where_no_limit_is_known_nothing_is_said(self, lines: str) -> None:
        loud = '[defaults]\ntransmit_power = "60 dBm"\n'
        assert not findings(lines + loud, self.CHECK)

    # wireless-regdb 2026.05.30, GB: 20 dBm at 2.4 GHz, up to 26.98 dBm at 5 GHz; JP: 20 and 23 dBm.
    @pytest.mark.parametrize(
        ("profile", "band", "region", "dbm", "limit_dbm"),
        [
            ("generic-24ghz-wpa2", '"2.4 GHz"', "GB", "20", None),
            ("generic-24ghz-wpa2", '"2.4 GHz"', "GB", "20.1", 20.0),
            ("generic-24ghz-wpa2", '["2.4 GHz", "5 GHz"]', "GB", "20.1", 20.0),
            ("generic-24ghz-wpa2", "[]", "GB", "20.1", 20.0),
            ("generic-24ghz-wpa2", '"5 GHz"', "GB", "60", None),
            ("generic-dual-band-wpa3", '"2.4 GHz"', "GB", "20.1", 20.0),
            ("generic-dual-band-wpa3", '["2.4 GHz", "5 GHz"]', "GB", "26.9", None),
            ("generic-dual-band-wpa3", '["2.4 GHz", "5 GHz"]', "GB", "27", 26.98),
            ("generic-dual-band-wpa3", "[]", "JP", "23", None),
            ("generic-dual-band-wpa3", "[]", "JP", "23.1", 23.0),
            ("generic-dual-band-wpa3", "[]", "ZZ", "60", None),
        ],
    )
    def test_without_a_channel_it_is_over_the_limit_on_all_or_nothing_is_said(
        self, profile: str, band: str, region: str, dbm: str, limit_dbm: float | None
    ) -> None:
        lines = f'[kit]\nregion = "{region}"\n[network]\nband = {band}\n'
        lines += module(profile=f'"{profile}"', transmit_power=dbm, antenna_gain=0)
        found = found_in(without(fleet_of(lines), "network", "channel"), self.CHECK)
        assert [each.figures["limit_dbm"] for each in found] == ([limit_dbm] if limit_dbm else [])
        assert all(f"permits at most {limit_dbm:g} dBm on every ch" in f.message for f in found)

    def test_a_region_that_nobody_has_a_table_for_is_not_checked(self) -> None:
        (gap,) = audited('[kit]\nregion = "ZZ"\n').not_checked
        assert "ZZ" in gap.reason
        assert "there is one for 00, AT, AU, " in gap.reason

    # ISO 3166-1: GB is the code of the United Kingdom, UK and EU are exceptionally reserved.
    @pytest.mark.parametrize(
        ("written", "told"),
        [
            ("UK", 'write "GB", the ISO 3166-1 alpha-2 code (United Kingdom)'),
            ("Untied Kingdom", 'write "GB", the ISO 3166-1 alpha-2 code (United Kingdom)'),
            (
                "EU",
                'this is no country: write the code of the one where the kit is, such as "AT"',
            ),
            ("regions/gb.toml", "there is no such file"),
        ],
    )
    def test_the_region_that_was_meant_is_named(self, written: str, told: str) -> None:
        (gap,) = audited(f'[kit]\nregion = "{written}"\n').not_checked
        assert f'no table for region "{written}" (kit.toml:7, region): {told}' in gap.reason


class TestNames:
    SESSION = '[[session]]\nname = "Monday morning"\nmodules = {}\n'

    def test_who_attends_no_session_is_named_once(self) -> None:
        lines = self.SESSION.format('["TG-01"]')
        assert fired(lines) == {"not-in-any-session": {THE_KIT}}
        (finding,) = findings(lines, "not-in-any-session")
        assert finding.message == "3 of 4 modules attend no session: TG-02..TG-04."
        assert len(finding.where) == 3
        assert fired(self.SESSION.format('["TG-01..TG-03", "TG-04"]')) == {}

    def test_without_a_timetable_nobody_is_absent(self) -> None:
        assert fired("session = []\n") == {}

    @pytest.mark.parametrize(
        ("name", "remedy"),
        [
            ("TG-44", "Write TG-04, or take it out."),
            ("heron", "Take it out."),
            ("TG-40..TG-44", "Take it out."),
            ("TG-01..TG-O3", "Write TG-01..TG-03, or take it out."),
            ("TG-01...TG-03", "Write TG-01..TG-03, or take it out."),
            ("TG-03..TG-01", "Write TG-01..TG-03, or take it out."),
            ("TG-01-TG-03", "Write TG-01..TG-03, or take it out."),
            ("TG-02..", "Write TG-02..TG-04, or take it out."),
        ],
    )
    def test_a_session_with_somebody_unknown(self, name: str, remedy: str) -> None:
        lines = self.SESSION.format(f'["all", "{name}"]')
        assert fired(lines) == {"unknown-module-named": {THE_KIT}}
        (finding,) = findings(lines, "unknown-module-named")
        assert (finding.remedy, finding.severity) == (remedy, Severity.RISK)
        assert finding.where[0].column == "modules"

    def test_a_waiver_with_a_misspelt_range(self) -> None:
        lines = (
            '[[waiver]]\ncheck = "setting-not-saved"\nreason = "a trial"\n'
            'modules = ["TG-02", "TG-03..TG-O4"]\n' + module(saved="false")
        )
        (finding,) = findings(lines, "unknown-module-named")
        assert finding.remedy == "Write TG-03..TG-04, or take it out."

    def test_a_number_of_five_thousand_digits_is_no_trouble(self) -> None:
        """Python refuses to read more than 4300 digits; a name may have them all the same."""
        digits = "9" * 5000
        lines = self.SESSION.format(f'["all", "TG-{digits}..TG-{digits}"]')
        assert set(fired(lines)) == {"unknown-module-named"}


class TestTwoSessions:
    CHECK = "module-in-two-sessions"

    def session(self, name: str, start: str, end: str, *modules: str) -> str:
        """Return a session; that of the clean kit is "Monday morning", 09:00 to 12:00, of all."""
        return (
            f'[[session]]\nname = "{name}"\nstart = 2026-03-02T{start}:00\n'
            f"end = 2026-03-02T{end}:00\nmodules = {list(modules)}\n"
        )

    @pytest.mark.parametrize(
        ("start", "end", "fires"),
        [
            ("12:00", "13:00", False),
            ("11:59", "13:00", True),
            ("08:00", "09:00", False),
            ("08:00", "09:01", True),
            ("10:00", "11:00", True),
            ("09:00", "12:00", True),
        ],
    )
    def test_sessions_that_touch_do_not_overlap(self, start: str, end: str, fires: bool) -> None:
        found = fired(self.session("Extra", start, end, "TG-02"))
        assert found == ({self.CHECK: {THE_KIT}} if fires else {})

    def test_sessions_moment_and_modules_are_named(self) -> None:
        lines = self.session("Extra", "11:30", "13:00", "TG-02..TG-04")
        (found,) = findings(lines, self.CHECK)
        assert found.message == (
            '"Extra" begins on Monday, 2026-03-02, at 11:30, while "Monday morning" runs, and '
            "3 modules attend both: TG-02..TG-04."
        )
        assert found.remedy == (
            'Let "Extra" begin at 2026-03-02T12:00:00, or the earlier one end at '
            "2026-03-02T11:30:00, or take these modules out of one of them."
        )
        assert (found.severity, found.stage) == (Severity.RISK, Stage.RECORD)
        assert found.concerns == (1, 2, 3)
        assert [place.column for place in found.where] == ["session", "session"]
        assert len({place.line for place in found.where}) == 2

    def test_each_way_out_works(self) -> None:
        later = self.session("Extra", "12:00", "13:00", "TG-02")
        ended = '[[session]]\nname = "Monday morning"\nend = 2026-03-02T11:30:00\n'
        assert fired(later) == {}
        assert fired(ended + self.session("Extra", "11:30", "13:00", "TG-02")) == {}

    def test_groups_of_their_own_may_run_side_by_side(self) -> None:
        half = '[[session]]\nname = "Monday morning"\nmodules = ["TG-01", "TG-02"]\n'
        assert fired(half + self.session("Next door", "09:00", "12:00", "TG-03", "TG-04")) == {}

    def test_a_session_that_is_listed_twice_is_told_so_where_it_overlaps_itself(self) -> None:
        """The same name next week is an ordinary timetable."""
        first = '[[session]]\nname = "Monday morning"\n'
        twice = first + self.session("Monday morning", "09:00", "12:00", "all")
        (found,) = findings(twice, self.CHECK)
        assert 'while another "Monday morning" runs' in found.message
        assert "the earlier one" not in found.remedy
        assert fired(first + self.session("Monday morning", "13:00", "15:00", "all")) == {}

    def test_a_session_after_a_short_one_is_compared_with_the_long_one(self) -> None:
        lines = self.session("Short", "10:00", "10:30", "TG-01")
        lines += self.session("Late", "11:00", "13:00", "TG-01")
        found = findings(lines, self.CHECK)
        assert [each.figures["others"] for each in found] == [["Monday morning"]] * 2

    def test_several_that_run_are_counted(self) -> None:
        split = '[[session]]\nname = "Monday morning"\nmodules = ["TG-01", "TG-02"]\n'
        split += self.session("Next door", "09:00", "12:00", "TG-03", "TG-04")
        (found,) = findings(split + self.session("All", "10:00", "11:00", "all"), self.CHECK)
        assert 'while "Monday morning" and 1 more run, and 4 modules attend two of' in found.message
        assert len(found.where) == 3


class TestHostNames:
    LOGGER = '[[network.host]]\nname = "logger"\naddress = "{}"\n'

    def test_two_of_one_name(self) -> None:
        lines = self.LOGGER.format("10.20.0.10") + self.LOGGER.format("10.20.0.11")
        assert fired(lines) == {"duplicate-host-name": {THE_KIT}}
        (found,) = findings(lines, "duplicate-host-name")
        assert found.message == '2 hosts are called "logger": 10.20.0.10, 10.20.0.11.'
        assert found.remedy == 'Give each a name of its own, such as "logger-2".'
        assert [place.column for place in found.where] == ["name", "name"]

    def test_a_name_that_is_taken_is_not_advised(self) -> None:
        lines = self.LOGGER.format("10.20.0.10") + self.LOGGER.format("10.20.0.11")
        lines += self.LOGGER.format("10.20.0.12").replace("logger", "logger-2")
        assert findings(lines, "duplicate-host-name")[0].remedy.endswith('such as "logger-3".')

    def test_two_entries_of_one_machine_are_left_to_its_address(self) -> None:
        lines = self.LOGGER.format("10.20.0.10") + self.LOGGER.format("10.20.0.10")
        assert fired(lines) == {"hosts-share-address": {THE_KIT}}


def test_only_802_11b_is_told_of_channel_14() -> None:
    """wireless-regdb 2026.05.30, JP: 2474 to 2494 MHz, 20 dBm, no OFDM."""
    lines = '[kit]\nregion = "JP"\n[network]\nchannel = 14\n[defaults]\ntransmit_power = "19 dBm"\n'
    file = with_profile(lines, standards=(Standard.B,))
    found = found_in(file, "radiated-power-over-limit")
    assert {each.figures["limit_dbm"] for each in found} == {20.0}
