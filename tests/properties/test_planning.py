"""Laws of planning: what is written audits clean, and what a refusal offers would work."""

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from auditor.compute.addresses import AddressRange
from auditor.examples import ENVIRONMENT
from auditor.models.words import Severity
from auditor.reading.fleet import read_brief, read_fleet
from auditor.reading.problems import UnusableError
from auditor.survey.module import Modules
from auditor.tasks.planning import Planned, planned
from tests.kits.briefs import audited

some_briefs = settings(max_examples=int(os.environ.get("RANDOM_KITS", "60")))
WIDER = re.compile(r"a /\d+ would do \((.+?)\)")
AT_MOST = re.compile(r"at most (\d+) modules")
SMALLER_POOL = re.compile(r"a pool of at most (\d+) addresses")
LATEST = re.compile(r"begin at ([\d.]+\d)")
PROPOSED = re.compile(r'add pool = \{ first = "(.+?)", last = "(.+?)" \}')


@dataclass(frozen=True)
class Asked:
    """What a made-up brief asks for."""

    subnet: IPv4Network
    modules: int
    addressing: str
    hosts: tuple[IPv4Address, ...]
    pool: AddressRange | None
    first: IPv4Address | None
    keep: Mapping[str, IPv4Address]
    others: int

    @property
    def text(self) -> str:
        """The brief."""
        pool = self.pool
        lines = [
            '[kit]\nprofile = "generic-24ghz-wpa2"',
            '[network]\nname = "saltmarsh-gauges"\nsecurity = "wpa2-personal"\nchannel = 6',
            f'passphrase = {{ env = "GAUGE_PASSPHRASE" }}\nother_stations = {self.others}',
            f'[network.ipv4]\nsubnet = "{self.subnet}"\ngateway = "none"\nlease_time = "8 h"',
            f'pool = {{ first = "{pool.first}", last = "{pool.last}" }}' if pool else "",
            *(
                f'[[network.host]]\nname = "host {number}"\naddress = "{host}"'
                for number, host in enumerate(self.hosts)
            ),
            f'[plan]\nmodules = {self.modules}\nid = "TG-{{n:02}}"',
            f'addressing = "{self.addressing}"',
            f'first_address = "{self.first}"' if self.first else "",
            "[plan.keep]",
            *(f'{id} = "{address}"' for id, address in self.keep.items()),
            '[traffic]\nintent = "broadcast"\ndestination = "255.255.255.255"\nport = 4010',
            'talkers = ["TG-01"]\nmessage_bytes = 24\nframing = "fixed"',
        ]
        return "\n".join(lines)


@st.composite
def asked(draw: DrawFn) -> Asked:
    """Draw a brief of a small subnet that may be too small, with hosts and a pool anywhere."""
    subnet = draw(st.sampled_from([*IPv4Network("10.20.0.0/24").subnets(new_prefix=27)][:3]))
    within = st.integers(int(subnet[1]), int(subnet[-2])).map(IPv4Address)
    ends = sorted(draw(st.tuples(within, within)))
    addressing = draw(st.sampled_from(["static", "pooled"]))
    modules = draw(st.integers(1, 40))
    outside = [each for each in subnet.hosts() if not ends[0] <= each <= ends[1]]
    hosts = draw(st.lists(st.sampled_from(outside), max_size=4, unique=True)) if outside else []
    free = [each for each in outside if each not in hosts]
    numbers = draw(st.lists(st.integers(1, modules), max_size=3, unique=True))
    kept = draw(st.permutations(free))[: len(numbers)]
    return Asked(
        subnet=subnet,
        modules=modules,
        addressing=addressing,
        hosts=tuple(hosts),
        pool=AddressRange(*ends) if draw(st.integers(0, 3)) else None,
        first=draw(st.none() | within) if addressing == "static" else None,
        keep={f"TG-{n:02}": each for n, each in zip(numbers, kept, strict=False)},
        others=draw(st.integers(0, 3)),
    )


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for briefs and what is made of them."""
    return tmp_path_factory.mktemp("briefs")


def made(brief: Asked, folder: Path) -> Planned:
    """Return what is planned of a brief."""
    (folder / "brief.toml").write_text(brief.text, encoding="utf-8")
    read = read_brief(str(folder / "brief.toml"), environment=ENVIRONMENT)
    return planned(read, folder, audited)


def refusal(brief: Asked, folder: Path) -> str:
    """Return the lines with which a brief is refused before anything is audited, or nothing."""
    try:
        made(brief, folder)
    except UnusableError as failure:
        return "\n".join(problem.message for problem in failure.problems)
    return ""


@some_briefs
@given(brief=asked())
def test_what_is_written_audits_clean_and_nobody_shares_an_address(
    brief: Asked, folder: Path
) -> None:
    try:
        kit = made(brief, folder)
    except UnusableError:
        event("refused")
        return
    if kit.result.reaches(Severity.RISK):
        event("refused by the audit")
        assert {f.check for f in kit.result.findings if f.severity is not Severity.ADVICE} <= {
            "pool-too-small"
        }
        return
    event(f"written: {brief.addressing}")
    for name, text in kit.files.items():
        (folder / name).write_text(text, encoding="utf-8")
    file = read_fleet(str(folder / "kit.toml"), environment=ENVIRONMENT)
    assert not audited(file).reaches(Severity.RISK)
    assert len(file.entries) == brief.modules
    addresses = [module.address for module in Modules(file) if module.is_static]
    assert len(set(addresses)) == len(addresses)
    by_id = dict(zip(file.entries.ids, file.entries.addresses, strict=True))
    assert {id: by_id[id] for id in brief.keep} == {id: int(a) for id, a in brief.keep.items()}
    assert list(by_id.values()) == [a and int(a) for a in kit.addresses]


@some_briefs
@given(brief=asked())
def test_what_a_refusal_offers_would_work(brief: Asked, folder: Path) -> None:
    said = refusal(brief, folder)
    event(re.sub(r"[\d./]+", "#", said)[:60])
    for better in _offered(brief, said):
        further = refusal(better, folder)
        assert further == "", said


def _offered(brief: Asked, said: str) -> list[Asked]:
    """Return the brief changed in each way that a refusal offers."""
    if "; leave first_address out" in said:
        brief = replace(brief, first=None)
    offers = [replace(brief, subnet=IPv4Network(each)) for each in WIDER.findall(said)]
    offers += [replace(brief, modules=int(n)) for n in AT_MOST.findall(said) if _fits(brief, n)]
    offers += [replace(brief, first=IPv4Address(each)) for each in LATEST.findall(said)]
    for first, last in PROPOSED.findall(said):
        pool = AddressRange(IPv4Address(first), IPv4Address(last))
        offers = [replace(each, pool=pool) for each in offers or [brief]]
    for size in SMALLER_POOL.findall(said):
        assert brief.pool is not None
        offers.append(replace(brief, pool=_shortened(brief.pool, int(size))))
    return offers


def _fits(brief: Asked, modules: str) -> bool:
    """Say whether those that keep an address are among so many modules."""
    return all(int(id.removeprefix("TG-")) <= int(modules) for id in brief.keep)


def _shortened(pool: AddressRange, size: int) -> AddressRange:
    return AddressRange(pool.first, IPv4Address(int(pool.first) + size - 1))


@given(brief=asked())
def test_the_same_brief_gives_the_same_bytes(brief: Asked, folder: Path) -> None:
    if not refusal(brief, folder):
        assert made(brief, folder).files == made(brief, folder).files
