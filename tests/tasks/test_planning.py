"""A kit made from a brief: its files, its addresses, and what is refused with a way that works."""

import csv
import io
import re
import tomllib
from ipaddress import IPv4Address
from pathlib import Path

import pytest

from auditor.examples import ENVIRONMENT
from auditor.models.words import Severity
from auditor.reading.fleet import fleet_of_text, read_brief, read_fleet
from auditor.reading.problems import UnusableError
from auditor.reading.profiles import shipped_folder
from auditor.reports.planning import problems
from tests.kits.briefs import BRIEF, POOL, POOLED, STATIC, audited, brief_with, planned_in

POLICY = shipped_folder() / "policies" / "teaching-lab.toml"


def addresses(folder: Path, *changes: tuple[str, str]) -> list[str]:
    """Return the addresses of what is planned of the changed brief, in the order of the ids."""
    return [str(each) for each in planned_in(folder, brief_with(*changes)).addresses]


def refused(folder: Path, *changes: tuple[str, str]) -> str:
    """Return the one line with which the changed brief is refused."""
    with pytest.raises(UnusableError) as refusal:
        planned_in(folder, brief_with(*changes))
    (problem,) = refusal.value.problems
    return str(problem).removeprefix(f"{folder}/")


def findings(folder: Path, *changes: tuple[str, str]) -> list[str]:
    """Return what keeps the kit of the changed brief from being written."""
    result = planned_in(folder, brief_with(*changes)).result
    assert result.reaches(Severity.RISK)
    return [str(problem).removeprefix(f"{folder}/") for problem in problems(result)]


def run(first: int, last: int) -> list[str]:
    return [f"10.20.0.{octet}" for octet in range(first, last + 1)]


def test_the_lowest_row_that_holds_all_is_taken(tmp_path: Path) -> None:
    """Below the logger at .10 there is room for eight, .2 to .9."""
    assert addresses(tmp_path) == run(11, 40)
    assert addresses(tmp_path, ("modules = 30", "modules = 8")) == run(2, 9)
    assert addresses(tmp_path, ("modules = 30", "modules = 9")) == run(11, 19)


def test_where_no_row_is_long_enough_the_lowest_are_taken(tmp_path: Path) -> None:
    given = addresses(tmp_path, ("modules = 30", "modules = 150"))
    assert given == run(2, 9) + run(11, 99) + run(150, 202)


def test_the_planned_first_address_is_that_of_the_first_module(tmp_path: Path) -> None:
    first = (STATIC, f'{STATIC}\nfirst_address = "10.20.0.90"')
    assert addresses(tmp_path, first) == run(90, 99) + run(150, 169)


def test_a_kept_address_stays_and_the_others_go_around_it(tmp_path: Path) -> None:
    keep = 'keep = { TG-02 = "10.20.0.13", TG-30 = "10.20.0.200" }'
    first = (STATIC, f'{STATIC}\nfirst_address = "10.20.0.11"\n{keep}')
    kit = planned_in(tmp_path, brief_with(first))
    got = dict(zip(kit.ids, map(str, kit.addresses), strict=True))
    assert (got["TG-02"], got["TG-30"]) == ("10.20.0.13", "10.20.0.200")
    assert [got[id] for id in ("TG-01", "TG-03", "TG-04", "TG-29")] == [
        "10.20.0.11",
        "10.20.0.12",
        "10.20.0.14",
        "10.20.0.39",
    ]
    assert kit.kept == ("TG-02", "TG-30")


def test_a_module_may_keep_the_first_address_itself(tmp_path: Path) -> None:
    keep = 'first_address = "10.20.0.31"\nkeep = { TG-01 = "10.20.0.31" }'
    assert addresses(tmp_path, (STATIC, f"{STATIC}\n{keep}")) == run(31, 60)


def test_reserved_addresses_and_receivers_are_left_alone(tmp_path: Path) -> None:
    """A reservation for .12, and messages to .14, where a laptop stands."""
    reserved = 'reservations = { "00:00:5e:00:53:99" = "10.20.0.12" }\n[[network.host]]'
    given = addresses(
        tmp_path,
        ("[[network.host]]", reserved),
        ('intent = "broadcast"\ndestination = "255.255.255.255"', 'destination = "10.20.0.14"'),
        ("port = 4010\ntalkers", 'transport = "udp"\nport = 4010\ntalkers'),
    )
    assert given == run(15, 44)


def test_pooled_modules_have_no_address_and_a_kept_one_is_static(tmp_path: Path) -> None:
    keep = f'{POOLED}\nkeep = {{ TG-03 = "10.20.0.31" }}'
    kit = planned_in(tmp_path, brief_with((STATIC, keep)))
    assert [id for id, each in zip(kit.ids, kit.addresses, strict=True) if each] == ["TG-03"]
    rows = list(csv.DictReader(io.StringIO(kit.files["kit.csv"])))
    assert rows[2] == {"id": "TG-03", "addressing": "static", "address": "10.20.0.31"}
    assert rows[3] == {"id": "TG-04", "addressing": "pooled", "address": ""}
    assert not kit.result.reaches(Severity.RISK)


def test_the_fleet_file_is_the_brief_without_its_plan(tmp_path: Path) -> None:
    made = planned_in(tmp_path).files["kit.toml"]
    expected = BRIEF.replace(
        '\n[plan]\nmodules = 30\nid = "TG-{n:02}"\naddressing = "static"\n', ""
    ).replace("centre\n", 'centre\nmodules = "kit.csv"\n')
    assert made == expected


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(brief_with(("[kit]", "# kit\n[kit] # the kit")), id="comments at a header"),
        pytest.param(
            brief_with(
                (STATIC, f'{STATIC}\n# kept\n[plan.keep]\nTG-01 = "10.20.0.31" # its label')
            ),
            id="a table in the plan",
        ),
        pytest.param(
            brief_with((STATIC, STATIC)) + '\n[plan.keep]\nTG-01 = "10.20.0.31"\n# the end\n',
            id="a table of the plan elsewhere",
        ),
        pytest.param(
            'plan = { modules = 2, id = "M{n}", addressing = "static" }\nkit = { name = "Kit" }\n'
            + BRIEF.partition("\n\n")[2].partition("[plan]")[0],
            id="inline",
        ),
        pytest.param(
            'plan.modules = 2\nplan.id = "M{n}"\nplan.addressing = "static"\nkit.name = "Kit"\n'
            + BRIEF.partition("\n\n")[2].partition("[plan]")[0],
            id="dotted",
        ),
        pytest.param(
            '[plan]\nmodules = 2\nid = "M{n}"\naddressing = "static"\n# network\n'
            + BRIEF.partition("\n\n")[2].partition("[plan]")[0],
            id="no kit",
        ),
        pytest.param(BRIEF.replace("\n", "\r\n"), id="other line ends"),
    ],
)
def test_however_the_brief_is_written_all_but_the_plan_stays(tmp_path: Path, text: str) -> None:
    kit = planned_in(tmp_path, text)
    expected = tomllib.loads(text)
    del expected["plan"]
    expected.setdefault("kit", {})["modules"] = "kit.csv"
    assert tomllib.loads(kit.files["kit.toml"]) == expected
    lost = [line for line in text.splitlines() if line.startswith("# ")]
    assert [line for line in lost if line not in kit.files["kit.toml"] and line != "# kept"] == []


def test_the_paths_of_the_brief_lead_on_from_the_folder(tmp_path: Path) -> None:
    (tmp_path / "words").mkdir()
    (tmp_path / "words" / "passphrase.txt").write_text(ENVIRONMENT["GAUGE_PASSPHRASE"])
    (tmp_path / "ours.toml").write_text(POLICY.read_text().replace("A teaching lab", "Ours"))
    text = brief_with(
        ('{ env = "GAUGE_PASSPHRASE" }', '{ file = "words/passphrase.txt" }  # in the safe'),
        ('region = "GB"', 'region = "GB"\npolicy = "ours.toml"'),
    )
    kit = planned_in(tmp_path, text, "terms/spring")
    made = tomllib.loads(kit.files["kit.toml"])
    assert made["network"]["passphrase"] == {"file": "../../words/passphrase.txt"}
    assert made["kit"]["policy"] == "../../ours.toml"
    assert "# in the safe" in kit.files["kit.toml"]
    folder = tmp_path / "terms" / "spring"
    folder.mkdir(parents=True)
    for name, content in kit.files.items():
        (folder / name).write_text(content)
    allowed = tuple(map(Path, kit.allow))
    file = read_fleet(str(folder / "kit.toml"), environment={}, allowed=allowed)
    assert file.policy.title == "Ours"
    assert [secret.is_known for secret in file.secrets] == [True]
    assert not audited(file).reaches(Severity.RISK)


def test_beside_the_brief_the_paths_stay_as_they_are(tmp_path: Path) -> None:
    (tmp_path / "p.txt").write_text(ENVIRONMENT["GAUGE_PASSPHRASE"])
    kit = planned_in(
        tmp_path, brief_with(('{ env = "GAUGE_PASSPHRASE" }', '{ file = "p.txt" }')), "."
    )
    assert '{ file = "p.txt" }' in kit.files["kit.toml"]
    assert kit.allow == ()


def test_a_subnet_that_is_too_small_is_refused_with_what_would_do(tmp_path: Path) -> None:
    """254 hosts less gateway, logger and a pool of 50 are 202."""
    line = refused(tmp_path, ("modules = 30", "modules = 230"))
    assert line == (
        "brief.toml:26: modules: 10.20.0.0/24 has room for 202 outside the pool, and 230 are "
        "wanted; a /23 would do (10.20.0.0/23); a pool of at most 22 addresses; at most 202 "
        "modules"
    )
    for change in (
        ("modules = 30", "modules = 202"),
        ("10.20.0.0/24", "10.20.0.0/23"),
        ('"10.20.0.149"', '"10.20.0.121"'),
    ):
        more = () if "202" in change[1] else (("modules = 30", "modules = 230"),)
        assert len(addresses(tmp_path, change, *more)) in (202, 230)


def test_too_few_from_the_first_address_on(tmp_path: Path) -> None:
    first = f'{STATIC}\nfirst_address = "10.20.0.240"'
    line = refused(tmp_path, (STATIC, first))
    assert line == (
        "brief.toml:29: first_address: from 10.20.0.240 on 10.20.0.0/24 has room for 15 outside "
        "the pool, and 30 are wanted; begin at 10.20.0.225 or before; a /23 would do "
        "(10.20.0.0/23); at most 15 modules"
    )
    assert addresses(tmp_path, (STATIC, first.replace("240", "225"))) == run(225, 254)


@pytest.mark.parametrize(
    ("first", "why", "instead"),
    [
        ("10.20.0.1", "is the address of the gateway", "10.20.0.2"),
        ("10.20.0.10", 'is the address of the host "logger"', "10.20.0.11"),
        ("10.20.0.120", "is in the pool 10.20.0.100 to 10.20.0.149", "10.20.0.150"),
        ("10.20.0.255", "is the network or the broadcast address of 10.20.0.0/24", "10.20.0.225"),
        ("10.20.0.0", "is the network or the broadcast address of 10.20.0.0/24", "10.20.0.2"),
        ("10.21.0.31", "is outside the subnet 10.20.0.0/24", "10.20.0.2"),
    ],
)
def test_a_first_address_that_nobody_can_have(
    tmp_path: Path, first: str, why: str, instead: str
) -> None:
    written = f'{STATIC}\nfirst_address = "{first}"'
    line = refused(tmp_path, (STATIC, written))
    assert line == (
        f"brief.toml:29: first_address: {first} {why}; begin at {instead}, or leave first_address "
        "out"
    )
    assert addresses(tmp_path, (STATIC, written.replace(first, instead)))[0] == instead


def test_without_a_pool_one_is_proposed_that_works(tmp_path: Path) -> None:
    """Thirty modules and two other stations, in the lowest row that holds them."""
    line = refused(tmp_path, (STATIC, POOLED), (POOL, ""))
    pool = 'pool = { first = "10.20.0.11", last = "10.20.0.42" }'
    assert line == (
        "brief.toml:15: ipv4: has no pool, and 32 addresses are to be leased (other stations "
        f"included); add {pool}"
    )
    kit = planned_in(tmp_path, brief_with((STATIC, POOLED), (POOL, f"{pool}\n")))
    assert not kit.result.reaches(Severity.RISK)


def test_without_a_pool_and_without_room_for_one(tmp_path: Path) -> None:
    line = refused(tmp_path, (STATIC, POOLED), (POOL, ""), ("modules = 30", "modules = 300"))
    assert line.endswith(
        "10.20.0.0/24 has no more than 244 in a row; a /23 would do (10.20.0.0/23): "
        'add pool = { first = "10.20.0.11", last = "10.20.1.56" }'
    )


def test_a_pool_that_is_too_small_is_refused_where_it_stands(tmp_path: Path) -> None:
    said = findings(tmp_path, (STATIC, POOLED), ("modules = 30", "modules = 49"))
    assert len(said) == 2
    assert said[0].startswith("brief.toml:18: pool: pool-too-small (risk): 51 addresses are wanted")
    assert "Make the pool 51 addresses long, 10.20.0.100 to 10.20.0.150" in said[0]
    assert said[1].startswith("brief.toml: nothing is written, for the kit would have 1 risk; ")
    enough = brief_with((STATIC, POOLED), ("modules = 30", "modules = 48"))
    assert not planned_in(tmp_path, enough).result.reaches(Severity.RISK)


def test_a_pool_with_a_timetable_is_judged_by_it(tmp_path: Path) -> None:
    """Two groups of thirty never need 60 addresses at once, where their leases are short."""
    sessions = "".join(
        f'\n[[session]]\nname = "{name}"\nstart = 2026-03-0{day}T09:00:00\n'
        f'end = 2026-03-0{day}T12:00:00\nmodules = ["{modules}"]\n'
        for name, day, modules in (("A", 2, "TG-01..TG-30"), ("B", 3, "TG-31..TG-60"))
    )
    text = brief_with((STATIC, POOLED), ("modules = 30", "modules = 60")) + sessions
    assert not planned_in(tmp_path, text).result.reaches(Severity.RISK)
    longer = planned_in(tmp_path, text.replace('"8 h"', '"3 d"')).result
    assert [f.check for f in longer.findings if f.severity is Severity.RISK] == ["pool-runs-out"]


def test_a_kept_address_in_the_pool_is_refused_at_its_own_line(tmp_path: Path) -> None:
    keep = f'{STATIC}\n[plan.keep]\nTG-01 = "10.20.0.31"\nTG-05 = "10.20.0.107"'
    said = findings(tmp_path, (STATIC, keep))
    assert said[0].startswith("brief.toml:31: static-address-in-pool (risk on TG-05): 10.20.0.107")
    assert "reserve 10.20.0.107 for this module" in said[0]


def test_two_that_keep_one_address_are_refused(tmp_path: Path) -> None:
    keep = f'{STATIC}\n[plan.keep]\nTG-01 = "10.20.0.31"\nTG-05 = "10.20.0.31"'
    said = findings(tmp_path, (STATIC, keep))
    assert [line.partition(" (")[0] for line in said[:2]] == [
        "brief.toml:30: duplicate-static-address",
        "brief.toml:31: duplicate-static-address",
    ]


def test_a_kept_id_that_is_not_made(tmp_path: Path) -> None:
    line = refused(tmp_path, (STATIC, f'{STATIC}\nkeep = {{ TG-31 = "10.20.0.31" }}'))
    assert line == (
        'brief.toml:29: keep: "TG-31" is none of the ids that are made, which are TG-01 to TG-30; '
        "keep the address of one of these, or plan more modules"
    )


def test_a_first_address_of_pooled_modules(tmp_path: Path) -> None:
    line = refused(tmp_path, (STATIC, f'{POOLED}\nfirst_address = "10.20.0.31"'))
    assert line.startswith("brief.toml:29: first_address: is for static addresses, and these are")


def test_a_risk_that_no_planning_avoids_is_refused_unless_it_is_accepted(tmp_path: Path) -> None:
    is_open = (
        ('"wpa2-personal"', '"open"'),
        ('passphrase = { env = "GAUGE_PASSPHRASE" }\n', ""),
    )
    said = findings(tmp_path, *is_open)
    assert said[0].startswith("brief.toml:10: security: weak-security (risk): The network is open")
    waiver = '\n[[waiver]]\ncheck = "weak-security"\nreason = "a bench in a cellar"\n'
    kit = planned_in(tmp_path, brief_with(*is_open) + waiver)
    assert not kit.result.reaches(Severity.RISK)


def test_no_subnet(tmp_path: Path) -> None:
    line = refused(tmp_path, ('subnet = "10.20.0.0/24"\n', ""))
    assert line.startswith("brief.toml:15: ipv4: has no subnet to take addresses from; add subnet")


@pytest.mark.parametrize(
    "written", ['"heron-tidal-ledger-quartz-41"', f'{{ psk = "{"5b" * 32}" }}']
)
def test_a_passphrase_in_clear_is_refused_with_the_way_out(tmp_path: Path, written: str) -> None:
    line = refused(tmp_path, ('{ env = "GAUGE_PASSPHRASE" }', written))
    assert line.startswith("brief.toml:11: passphrase: the passphrase itself stands here")
    assert '{ env = "KIT_PASSPHRASE" } or { file = "passphrase.txt" }' in line
    assert not re.search(r"heron|5b5b", line)


def test_a_retired_passphrase_in_clear_is_refused_too(tmp_path: Path) -> None:
    retired = 'channel = 6\nretired_passphrases = ["curlew-brackish-lantern"]'
    line = refused(tmp_path, ("channel = 6", retired))
    assert line.startswith("brief.toml:13: retired_passphrases: the passphrase itself stands here")


@pytest.mark.parametrize(
    ("pattern", "reason"),
    [
        ("TG-01", "is not a pattern of ids"),
        ("TG-{n:2}", "is not a pattern of ids"),
        ("TG-{n:00}", "is not a pattern of ids"),
        ("{n}-{n}", "is not a pattern of ids"),
        ("TG-{m}", "is not a pattern of ids"),
        ("TG-{{{n}}}", "is not a pattern of ids"),
        ("TG-{n.real}", "is not a pattern of ids"),
        ("TG-{n} ", "has a blank at an end"),
        ("TG\\u202e-{n}", "has a blank at an end or a character that cannot be seen"),
        ("=TG-{n}", "begins like a formula"),
        ("T" * 70 + "{n}", "is longer than 64 characters"),
    ],
)
def test_a_pattern_of_another_form_is_refused(tmp_path: Path, pattern: str, reason: str) -> None:
    line = refused(tmp_path, ("TG-{n:02}", pattern))
    assert line.startswith("brief.toml:27: id: ")
    assert reason in line
    assert ("GAUGE-{n:02}" in line) == (reason == "is not a pattern of ids")


@pytest.mark.parametrize(
    ("pattern", "ids"),
    [("TG-{n:02}", ["TG-01", "TG-10"]), ("M{n}", ["M1", "M10"]), ("{n:03} tide", ["001 tide"])],
)
def test_ids_by_their_pattern(tmp_path: Path, pattern: str, ids: list[str]) -> None:
    changes = (
        ("TG-{n:02}", pattern),
        ('talkers = ["TG-01"]\n', ""),
        ("modules = 30", "modules = 10"),
    )
    assert set(ids) <= set(planned_in(tmp_path, brief_with(*changes)).ids)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("[traffic]", '[[module]]\nid = "TG-01"\n[traffic]'), ":31: module: stands in a brief, "),
        (('region = "GB"', 'modules = "k.csv"\nregion = "GB"'), ":5: modules: stands in a brief, "),
        (("modules = 30", "modules = 0"), ':26: modules: "0" is out of range; it can be 1 to '),
        (("modules = 30", "module = 30"), ":26: module: is not a known key; did you mean modules?"),
    ],
)
def test_what_does_not_belong_in_a_brief(
    tmp_path: Path, change: tuple[str, str], said: str
) -> None:
    (tmp_path / "brief.toml").write_text(brief_with(change))
    with pytest.raises(UnusableError) as refusal:
        read_brief("brief.toml", environment={}, within=tmp_path)
    assert any(f"brief.toml{said}" in str(problem) for problem in refusal.value.problems)


def test_a_plan_does_not_belong_in_a_fleet_file() -> None:
    with pytest.raises(UnusableError) as refusal:
        fleet_of_text(f'{BRIEF}\n[[module]]\nid = "TG-01"\n', "kit.toml", ENVIRONMENT)
    (problem,) = refusal.value.problems
    assert str(problem) == (
        "kit.toml:25: plan: stands only in a brief, which has no modules; make the kit of it with "
        '"auditor plan", or take [plan] out'
    )


def test_a_fleet_file_is_no_brief(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(BRIEF.partition("[plan]")[0])
    with pytest.raises(UnusableError) as refusal:
        read_brief("kit.toml", environment={}, within=tmp_path)
    (problem,) = refusal.value.problems
    assert str(problem).startswith("kit.toml: is no brief, which says in [plan] what modules to")


def test_sixty_thousand_modules_take_a_moment(tmp_path: Path) -> None:
    changes = ("10.20.0.0/24", "10.20.0.0/16"), ("modules = 30", "modules = 60000")
    kit = planned_in(tmp_path, brief_with(*changes))
    assert len(set(kit.addresses)) == 60_000
    assert kit.addresses[-1] == IPv4Address("10.20.234.245")
