"""`auditor profiles`: what ships, one profile whole, and one of a user's own."""

import json
from pathlib import Path

import pytest
from jsonschema import validate

from auditor.compute.radio import Band, permitted_channels, radiated_limit_dbm
from auditor.models.profile import ModuleProfile, Region
from auditor.reading.profiles import KINDS, find, shipped_names
from auditor.tasks import profiles as task
from tests.cli.running import ROOT, run
from tests.policy import THRESHOLDS

LIST = {
    "type": "object",
    "required": ["profiles"],
    "additionalProperties": False,
    "properties": {
        "profiles": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["kind", "name", "title", "says"],
                "additionalProperties": False,
                "properties": {
                    "kind": {"enum": list(KINDS)},
                    "name": {"type": "string"},
                    "title": {"type": "string"},
                    "says": {"type": "string"},
                },
            },
        }
    },
}
WHOLE = {
    "type": "object",
    "required": ["kind", "name", "title", "about", "sources", "values"],
    "additionalProperties": False,
    "properties": {
        "kind": {"enum": list(KINDS)},
        "name": {"type": "string"},
        "title": {"type": "string"},
        "about": {"type": "string"},
        "sources": {"type": "array", "minItems": 1, "items": {"type": "string"}},
        "values": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["key", "value", "unit", "meaning"],
                "additionalProperties": False,
                "properties": {
                    "key": {"type": "string"},
                    "value": {},
                    "unit": {"type": "string"},
                    "meaning": {"type": "string", "pattern": "[.]$"},
                },
            },
        },
        "channels": {
            "type": "array",
            "items": {"required": ["band", "channels", "limit_dbm", "ofdm", "may_initiate"]},
        },
        "caution": {"type": "string"},
    },
}
EVERY = [(kind, name) for kind, table in KINDS.items() for name in shipped_names(table)]
OWN = """\
title = "Gauge radio\\u001b[31m"
standards = ["802.11n"]
burst_current = 310
serial_rates = [9600, 19200]
[indicator]
joined = { state = "blinking", rate = "2 Hz" }
"""


def listed(folder: Path, *arguments: str) -> list[list[str]]:
    """Return the first two columns of the list: what each profile is of, and its name."""
    done = run("profiles", *arguments, folder=folder)
    assert (done.returncode, done.stderr) == (0, "")
    rows = done.stdout.partition("\n\n")[0].splitlines()[1:]
    return [row.split()[:2] for row in rows if not row.startswith(" ")]


def test_everything_that_ships_is_listed_once(tmp_path: Path) -> None:
    rows = listed(tmp_path)
    assert [(kind, name.lower()) for kind, name in rows] == EVERY
    answer = json.loads(run("profiles", "--format", "json", folder=tmp_path).stdout)
    validate(answer, LIST)
    assert [[each["kind"], each["name"]] for each in answer["profiles"]] == rows


def test_one_kind_can_be_listed(tmp_path: Path) -> None:
    assert listed(tmp_path, "--kind", "policy") == [
        ["policy", "strict"],
        ["policy", "teaching-lab"],
    ]


def test_the_list_and_every_profile_fit_in_80_columns(tmp_path: Path) -> None:
    pages = [run("profiles", folder=tmp_path)]
    pages += [run("profiles", name, folder=tmp_path) for kind, name in EVERY if kind != "region"]
    pages += [run("profiles", name, folder=tmp_path) for name in ("00", "us", "JP")]
    assert max(len(line) for page in pages for line in page.stdout.splitlines()) <= 80


@pytest.mark.parametrize(("kind", "name"), EVERY)
def test_a_profile_is_shown_whole(kind: str, name: str) -> None:
    (entry,) = task.entries(name, kind)
    profile = find(KINDS[kind], name, Path)
    assert (entry.kind, entry.profile) == (kind, profile)
    assert profile is not None
    shown = {value.key.partition(".")[0] for value in task.values(profile)}
    assert shown == profile.model_fields_set - set(task.APART)


def test_a_module_profile_says_its_modes_rates_supply_and_indicator(tmp_path: Path) -> None:
    done = run("profiles", "generic-24ghz-wpa2", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    text = " ".join(done.stdout.split())
    for part in (
        "security open, wpa2-personal",
        "serial_rates 1200, 2400, 4800,",
        "230400 Bd",
        "lowest_supply 3 V",
        "burst_current 320 mA",
        "burst_duration 2 ms",
        "serial_tolerance 0.2 %",
        "[channels] 2.4 GHz 1..13",
        "joined blinking 1 Hz",
        "JEDEC JESD8C, 3.3 V LVTTL: the logic levels",
    ):
        assert part in text


def test_a_policy_says_its_thresholds_and_severities(tmp_path: Path) -> None:
    text = " ".join(run("profiles", "strict", folder=tmp_path).stdout.split())
    assert "attack_time 3650 d" in text
    assert "[severities] weak-security fault" in text


def test_a_controller_says_its_clock(tmp_path: Path) -> None:
    text = run("profiles", "generic-8bit-16mhz", folder=tmp_path).stdout
    assert "16 MHz" in text
    assert "2 bytes" in text


@pytest.mark.parametrize("name", shipped_names(Region))
def test_a_region_shows_the_channels_that_it_permits_with_their_limits(name: str) -> None:
    region = find(Region, name, Path)
    assert region is not None
    runs = list(task.channels(region))
    for band in Band:
        shown = {each: part for part in runs if part.band == band for each in part.channels}
        assert tuple(shown) == permitted_channels(band, region.rules, ofdm=False)
        for channel, part in shown.items():
            assert part.limit_dbm == radiated_limit_dbm(channel, band, region.rules)
            assert part.ofdm == (channel in permitted_channels(band, region.rules))


def test_a_region_comes_with_a_caution_and_its_sources(tmp_path: Path) -> None:
    text = " ".join(run("profiles", "US", folder=tmp_path).stdout.split())
    assert "2.4 GHz 1..11 36 dBm" in text
    assert "Limits change, and your own regulator decides" in text
    assert "wireless-regdb" in text
    assert "2400 to 2472 MHz: 47 CFR 15.247(b)" in text
    japan = " ".join(run("profiles", "jp", folder=tmp_path).stdout.split())
    assert "14 20 dBm 802.11b only" in japan


def test_a_whole_profile_as_json_has_these_keys(tmp_path: Path) -> None:
    for name in ("generic-dual-band-wpa3", "generic-32bit-fraction", "strict", "gb"):
        done = run("profiles", name, "--format", "json", folder=tmp_path)
        (profile,) = json.loads(done.stdout)["profiles"]
        validate(profile, WHOLE)
        assert ("caution" in profile) == (profile["kind"] == "region")


def test_values_as_json_are_in_the_unit_beside_them(tmp_path: Path) -> None:
    done = run("profiles", "generic-24ghz-wpa2", "--format", "json", folder=tmp_path)
    (profile,) = json.loads(done.stdout)["profiles"]
    known = {each["key"]: (each["value"], each["unit"]) for each in profile["values"]}
    assert known["burst_duration"] == (0.002, "s")
    assert known["burst_current"] == (320, "mA")
    assert known["indicator.joined"] == ({"state": "blinking", "rate": 1}, "Hz")
    assert known["finds_hidden"] == (True, "")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("strickt",), '"strickt" is not a shipped profile; did you mean strict?'),
        (("UK",), '"UK" is not a shipped profile; did you mean GB?'),
        (("germny",), '"germny" is not a shipped profile; did you mean DE?'),
        (("rain",), '"rain" is not a shipped profile; see "auditor profiles" for all of them'),
        (("strict", "--kind", "region"), '"strict" is not a region profile; see "auditor'),
        (("Kx7-secret99!",), "what is given is not a shipped profile; see"),
        (("x" * 5000,), '"xxx'),
    ],
)  # fmt: skip
def test_an_unknown_name_gets_the_nearest(
    tmp_path: Path, arguments: tuple[str, ...], said: str
) -> None:
    done = run("profiles", *arguments, folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    (line,) = done.stderr.splitlines()
    assert line.startswith(f"profiles: {said}")
    assert len(line) < 300


def test_a_name_of_two_kinds_shows_both(monkeypatch: pytest.MonkeyPatch) -> None:
    def names(_kind: object) -> tuple[str, ...]:
        return ("strict",)

    def found(kind: type[ModuleProfile], *_where: object) -> ModuleProfile:
        return kind.model_construct(title="Strict")

    monkeypatch.setattr(task, "shipped_names", names)
    monkeypatch.setattr(task, "find", found)
    assert [entry.kind for entry in task.entries("Strict")] == list(KINDS)
    assert [entry.kind for entry in task.entries("Strict", "policy")] == ["policy"]


def test_a_profile_of_ones_own_is_shown(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(OWN)
    done = run("profiles", "own.toml", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    text = " ".join(done.stdout.split())
    assert text.startswith(r"own.toml: module profile Gauge radio\x1b[31m key value means")
    assert "burst_current 310 mA" in text
    assert "where the values come from" not in text


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("title = 'a'\nbands = '5 GHz'\nbrst_current = 3", "own.toml:3: brst_current: is not a"),
        ('title = "a"\nclock = "8 GHz"', 'own.toml:2: clock: has the unit "GHz"; known'),
        ('code = "XX"\nname = "X"', "own.toml:1: rule: is missing"),
        ('title = "a"', "own.toml: could be a profile of each of these: module, controller"),
        ('[kit]\nname = "a"', "own.toml: is no profile: none of its keys is of a module"),
        ('code = "XX"\n[[rule]]\nradiated_dbm = nan', 'own.toml:3: radiated_dbm: "nan" is not a'),
        ("title =", "own.toml:1: column 8: is not TOML"),
        ("", "own.toml: is empty"),
    ],
)  # fmt: skip
def test_the_problems_of_ones_own_are_named(tmp_path: Path, lines: str, said: str) -> None:
    (tmp_path / "own.toml").write_text(lines)
    done = run("profiles", "./own.toml", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert any(line.removeprefix("./").startswith(said) for line in done.stderr.splitlines()), (
        done.stderr
    )


def test_a_policy_of_ones_own_names_checks_that_there_are(tmp_path: Path) -> None:
    lines = f'title = "Ours"\n{THRESHOLDS}[severities]\nhidden-netwrk = "off"\n'
    (tmp_path / "own.toml").write_text(lines)
    done = run("profiles", "own.toml", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    line = len(lines.splitlines())
    assert done.stderr == (
        f"own.toml:{line}: hidden-netwrk: is not a check; did you mean hidden-network?\n"
    )


def test_a_path_that_leads_nowhere(tmp_path: Path) -> None:
    done = run("profiles", "none/own.toml", folder=tmp_path)
    assert (done.returncode, done.stderr) == (2, "none/own.toml: there is no such file\n")


@pytest.mark.parametrize("name", ["GB", "gauge-radio.toml"])
def test_the_page_shows_what_is_said(tmp_path: Path, name: str) -> None:
    page = (ROOT / "docs" / "profiles.md").read_text(encoding="utf-8")
    own = page.partition("```toml\n")[2].partition("```")[0]
    (tmp_path / "gauge-radio.toml").write_text(own, encoding="utf-8")
    shown = page.partition(f"<!-- is: auditor profiles {name} -->\n```text\n")[2].partition("```")[
        0
    ]
    assert run("profiles", name, folder=tmp_path).stdout == shown
