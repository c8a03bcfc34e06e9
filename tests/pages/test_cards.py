"""Printed cards: eight a sheet on A4 and on Letter, none cut, each with all of its text inside."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
import tomlkit

from auditor.reports.escaping import on_one_line
from tests.bench.kits import ENVIRONMENT, FLEET, write_kit
from tests.cli.running import run
from tests.pages import planted
from tests.pages.kits import HOSTILE_IDS, MARKUP
from tests.pages.measures import barriers, overflows, script, structural_faults
from tests.pages.paper import CSS_PX_PER_MM, WIDTH_MM, printed
from tests.pages.test_hostile_text import RAW
from tests.pages.test_opening import EVERYTHING_ELSE
from tests.pages.test_width import at_all_widths
from tests.pages.visits import DESKTOP, HEIGHT, PHONE, Visitor
from tests.pages.written import Written

if TYPE_CHECKING:
    from playwright.sync_api import Page

PAPERS = ("A4", "Letter")
KITS = {"demo": 30, "hostile": len(HOSTILE_IDS), "long_names": 12}
"""How many modules each has."""
MARGIN_MM = 8
"""As the style of the cards has it."""

LONGEST_PROFILE = """\
title = "The longest looks"
about = "Stands for no product"
[indicator]
searching = { state = "blinking", rate = "1234567.891 kHz" }
joined = { state = "blinking", rate = "9999999.123 kHz" }
"""
WIDEST = ("W" * 300, "m" * 48, "@" * 17, "漢" * 48, "TG 08 " * 8, "W" * 10, "i" * 10, "\x01" * 12)
"""Ids of which some are as wide as what they are cut to."""
NAMES = (
    "W" * 32,
    "\x01" * 32,
    "\u202e" * 10,
    "é" * 16,
    "   a  b   ",
    "漢" * 10,
    "W" * 300,
    "a" * 32,
)
LONGEST: dict[str, Any] = {
    "addressing": "static",
    "address": "255.255.255.254",
    "prefix_length": 32,
    "gateway": "255.255.255.253",
    "hardware_address": "02:ff:ff:ff:ff:ff",
    "security": "wpa2-wpa3-personal",
    "passphrase": "",
    "serial_rate": 20_000_000,
    "data_bits": 9,
    "stop_bits": 1.5,
    "flow_control": "xon-xoff",
    "destination": "255.255.255.255",
    "port": 65535,
    "listen_port": 65535,
    "transport": "udp",
    "talks": True,
    "saved": False,
    "profile": "longest.toml",
}


def longest(folder: Path) -> Path:
    """Write a kit with the longest value that each key can have, and return its fleet file."""
    (folder / "longest.toml").write_text(LONGEST_PROFILE, encoding="utf-8")
    modules = [
        LONGEST | {"id": id, "network_name": name, "holder": holder}
        for id, holder in zip(WIDEST, reversed(WIDEST), strict=True)
        for name in NAMES
    ]
    modules += [{"id": f"bare {at}", "network_name": "a" * 18 * at} for at in range(8)]
    parity = [{"parity": "space"} if at % 2 else {} for at in range(len(modules))]
    fleet = {
        "kit": {"name": "W" * 70, "term": "M" * 70},
        "network": {"name": "x" * 32, "security": "open", "ipv4": {"subnet": "10.20.0.0/24"}},
        "supply": {"common_ground": False, "output_voltage": "999.999 V"},
        "module": [module | more for module, more in zip(modules, parity, strict=True)],
    }
    file = folder / FLEET
    file.write_text(tomlkit.dumps(fleet), encoding="utf-8")
    return file


def made(fleet: Path) -> Path:
    """Return the page of cards that the command line makes of a fleet file."""
    done = run("cards", fleet.name, folder=fleet.parent, environment=ENVIRONMENT)
    page = fleet.with_name("cards.html")
    page.write_text(done.stdout, encoding="utf-8")
    return page


def on_paper(page: Page, paper: str) -> None:
    """Lay an open page out as it is printed."""
    page.emulate_media(media="print")
    width_px = int((WIDTH_MM[paper] - 2 * MARGIN_MM) * CSS_PX_PER_MM)
    page.set_viewport_size({"width": width_px, "height": HEIGHT})


def sheets(page: Page, paper: str) -> list[str]:
    """Print an open page, and return the words of each sheet."""
    from pypdfium2 import PdfDocument

    with closing(PdfDocument(page.pdf(format=paper))) as document:
        return list(_texts(document))


def _texts(document: Any) -> Iterator[str]:
    for sheet in document:
        with closing(sheet.get_textpage()) as text:
            yield text.get_text_range()


def whole_cards(sheets: list[str]) -> list[int]:
    """Return how many cards have both their first and their last line on each sheet."""
    counts = [(text.count("Network"), text.count("Indicator")) for text in sheets]
    assert all(first == last for first, last in counts)
    return [first for first, _ in counts]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kit", KITS)
def test_eight_whole_cards_a_sheet(written: Written, visit: Visitor, kit: str, paper: str) -> None:
    page = visit(written.page("cards", kit)).page
    texts = sheets(page, paper)
    assert len(texts) == ceil(KITS[kit] / 8)
    assert whole_cards(texts) == [8] * (KITS[kit] // 8) + [KITS[kit] % 8]
    assert [text.count("Caution:") for text in texts] == [1] * len(texts)
    assert printed(page, paper).cut_off == ""


@pytest.mark.parametrize("paper", PAPERS)
def test_every_card_of_the_demo_is_on_its_sheet(
    written: Written, visit: Visitor, paper: str
) -> None:
    first, *_, last = sheets(visit(written.page("cards", "demo")).page, paper)
    assert all(id in first for id in ("TG-19", "TG-01", "TG-07"))
    assert "network-name-differs" in first
    assert "TG-30" in last
    assert "TG-08" not in first


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("kit", KITS)
def test_every_text_is_inside_its_card(
    written: Written, visit: Visitor, kit: str, paper: str
) -> None:
    page = visit(written.page("cards", kit)).page
    on_paper(page, paper)
    assert page.evaluate(script("cards")) == []
    assert overflows(page, paged=True) == []


@pytest.mark.parametrize("paper", PAPERS)
def test_the_longest_values_are_inside_their_cards(
    visit: Visitor, tmp_path: Path, paper: str
) -> None:
    page = visit(made(longest(tmp_path))).page
    assert whole_cards(sheets(page, paper)) == [8] * 9
    on_paper(page, paper)
    assert page.evaluate(script("cards")) == []


@pytest.mark.parametrize(
    ("body", "style", "said"),
    [
        ("<h3>TG-01</h3><p>tide</p>", "p { margin-top: 40px }", '"tide" leaves "TG-01"'),
        ("<h3>TG-01</h3><p>tide</p>", "p { margin-left: -9px }", '"tide" leaves "TG-01"'),
        ("<h3>TG-01</h3><svg></svg>", "svg { width: 400px }", 'svg leaves "TG-01"'),
    ],
)
def test_a_planted_card_that_is_too_small_is_caught(
    visit: Visitor, tmp_path: Path, body: str, style: str, said: str
) -> None:
    own = "article { width: 300px; height: 60px; overflow: hidden } h3, p { margin: 0 }"
    file = planted.page(tmp_path, f"<article class=card>{body}</article>", own + style)
    assert said in visit(file).page.evaluate(script("cards"))


def test_planted_cards_that_overlap_are_caught(visit: Visitor, tmp_path: Path) -> None:
    body = "<article class=card><h3>one</h3></article><article class=card><h3>two</h3></article>"
    file = planted.page(tmp_path, body, "article + article { margin-top: -50px }")
    assert '"two" lies on "one"' in visit(file).page.evaluate(script("cards"))


def test_a_planted_sheet_that_is_too_tall_is_caught(visit: Visitor, tmp_path: Path) -> None:
    card = "<div style='height: 150mm'>Network<br>Indicator</div>"
    texts = sheets(visit(planted.page(tmp_path, card * 2)).page, "A4")
    assert len(texts) == 2
    with pytest.raises(AssertionError):
        whole_cards(["Network Indicator Network", "Indicator"])


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_no_letter_is_faint_on_the_paper(written: Written, visit: Visitor, dark: bool) -> None:
    assert printed(visit(written.page("cards", "demo"), dark=dark).page, "A4").faint == ""


def test_paper_has_no_colour(written: Written, visit: Visitor) -> None:
    letters = printed(visit(written.page("cards", "demo")).page, "A4").letters
    assert {len(set(letter.ink)) for letter in letters} == {1}
    assert {len(set(letter.ground)) for letter in letters} == {1}


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESKTOP])
def test_no_barrier(written: Written, visit: Visitor, width: int, dark: bool) -> None:
    assert barriers(visit(written.page("cards", "demo"), width=width, dark=dark).page) == []


@pytest.mark.parametrize("kit", KITS)
def test_no_barrier_and_nothing_wider_whatever_the_names(
    written: Written, visit: Visitor, kit: str
) -> None:
    page = visit(written.page("cards", kit), width=PHONE).page
    assert barriers(page) == []
    assert structural_faults(page) == []
    assert at_all_widths(page, overflows) == []


def test_nothing_in_a_name_runs_and_all_of_it_is_read(written: Written, visit: Visitor) -> None:
    file = written.page("cards", "hostile")
    visited = visit(file)
    visited.page.wait_for_load_state("networkidle")
    assert (visited.asked, visited.said, visited.requested) == ([], [], [file.as_uri()])
    assert visited.page.evaluate(RAW) == []
    assert MARKUP in visited.page.title()
    words = visited.page.inner_text("main")
    assert [id for id in HOSTILE_IDS if on_one_line(id) not in words] == []


def test_its_policy_refuses_everything(written: Written, visit: Visitor) -> None:
    page = visit(written.page("cards", "demo")).page
    assert page.evaluate(EVERYTHING_ELSE) == [False, ["frame-src", "img-src", "script-src-elem"]]


def test_a_thousand_cards_are_printed(visit: Visitor, tmp_path: Path) -> None:
    write_kit(tmp_path, 1000)
    texts = sheets(visit(made(tmp_path / FLEET)).page, "A4")
    assert whole_cards(texts) == [8] * 125
    assert "TG-0001000" in texts[-1]
