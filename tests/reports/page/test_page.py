"""The whole page: what always holds of it, whatever the kit."""

import re
from base64 import b64encode
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from itertools import pairwise

import pytest

from auditor.audit import audit
from auditor.examples import fleet_of
from auditor.findings import Verdict
from auditor.models.fleet_file import FleetFile
from auditor.reports.page.capacity import capacity_page
from auditor.reports.page.document import TEMPLATES
from auditor.reports.page.report import page, verdict_sentence
from auditor.reports.summary import verdict_counts
from auditor.tasks.overview import overview
from tests.reports.page.kits import DAY, HOSTILE, demo, fleet, gauges, page_of
from tests.reports.page.reading import Page
from tests.reports.results import IN_POOL, WRONG_NAME, ids, module, result

KITS: dict[str, Callable[[], FleetFile]] = {
    "demo": demo,
    "clean": lambda: fleet_of(""),
    "hostile": lambda: fleet(HOSTILE),
    "nothing planned": lambda: fleet('[[module]]\nid = "a"\n[[module]]\nid = "b"'),
    "odd ones": lambda: gauges(40, odd=20),
}


@pytest.fixture(params=KITS, ids=list(KITS))
def file(request: pytest.FixtureRequest) -> FleetFile:
    """A kit of each sort."""
    return KITS[request.param]()


@pytest.fixture
def read(file: FleetFile) -> Page:
    """The page of a kit, read back."""
    return Page(page_of(file))


def test_every_id_is_unique_and_every_link_leads_somewhere(read: Page) -> None:
    assert len(set(read.ids)) == len(read.ids)
    links = [each.get("href") for each in (*read.all("a"), *read.all("use"))]
    assert links
    assert {link.removeprefix("#") for link in links} <= set(read.ids)


def test_whatever_names_another_element_names_one(read: Page) -> None:
    named = [
        id
        for each in read.elements
        for name in ("aria-labelledby", "for")
        for id in each.get(name).split()
    ]
    assert named
    assert set(named) <= set(read.ids)


def test_every_picture_has_a_title_and_a_description(read: Page) -> None:
    """WCAG 2.2, 1.1.1: what is no text has a text that serves the same purpose."""
    pictures = read.all("svg", role="img")
    assert len(pictures) >= 4
    for picture in pictures:
        title, description = picture.get("aria-labelledby").split()
        assert read.one("title", id=title).text
        assert read.one("desc", id=description).text
    decorations = [svg for svg in read.all("svg") if svg not in pictures]
    assert all(svg.get("aria-hidden") == "true" for svg in decorations)


def test_headings_leave_no_level_out(read: Page) -> None:
    levels = [int(each.tag[1]) for each in read.elements if re.fullmatch("h[1-6]", each.tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(later <= before + 1 for before, later in pairwise(levels))


def test_every_region_that_scrolls_takes_the_keyboard_and_has_a_name(read: Page) -> None:
    """WCAG 2.2, 2.1.1: all that can be done is done with a keyboard too."""
    regions = read.all("div", class_="scroll")
    assert regions
    for region in regions:
        assert (region.get("role"), region.get("tabindex")) == ("region", "0")
        assert region.get("aria-labelledby")


def test_every_head_of_a_table_says_what_it_heads(read: Page) -> None:
    """WCAG 2.2, 1.3.1; HTML Standard, section 4.9.10 (scope)."""
    assert {each.get("scope") for each in read.all("th")} <= {"row", "col", "rowgroup"}
    assert len(read.all("caption")) == len(read.all("table"))


def test_the_page_asks_nobody_for_anything(file: FleetFile) -> None:
    text = page_of(file)
    read = Page(text)
    assert {each.tag for each in read.elements}.isdisjoint({"img", "iframe", "object", "base"})
    (icon,) = read.all("link")
    assert icon.get("href") == "data:,"
    assert not any("src" in each.attributes for each in read.elements)
    assert "url(" not in text.replace("url(#over)", "")
    assert "@import" not in text


def test_only_this_style_and_this_script_may_be_used(file: FleetFile) -> None:
    """Content Security Policy Level 3: an inline element needs its hash, an attribute has none."""
    for text in (page_of(file), capacity_page(overview(file))):
        read = Page(text)
        policy = read.one("meta", **{"http-equiv": "Content-Security-Policy"}).get("content")
        assert "default-src 'none'" in policy
        for tag, directive in (("style", "style-src"), ("script", "script-src")):
            digest = sha256(read.one(tag).text.encode()).digest()
            assert f"{directive} 'sha256-{b64encode(digest).decode()}'" in policy
        inline = [name for each in read.elements for name in each.attributes]
        assert not any(name == "style" or name.startswith("on") for name in inline)
        assert "unsafe" not in policy


def test_nothing_a_file_says_is_obeyed() -> None:
    text = page_of(fleet(HOSTILE))
    read = Page(text)
    assert {each.tag for each in read.elements}.isdisjoint({"i", "u", "b", "em", "img"})
    assert len(read.all("script")) == 1
    assert text.replace("\n", "").isprintable()
    assert "49" not in read.one("table", id="matrix").text
    assert "{{ 7*7 }}{% raw %}" in read.one("table", id="matrix").text
    shown = read.one("body").text
    for said in ("<script>alert(1)</script>", r"\u202eevil", r"\x1b[31m", "&amp; <other>"):
        assert said in shown


def test_blanks_are_seen() -> None:
    text = page_of(fleet(HOSTILE))
    values = {each.text for each in Page(text).all("bdi", class_="value")}
    assert '"a"><b>  two  blanks "' in values


def test_everybody_is_in_the_matrix() -> None:
    audited = audit(demo(), DAY)
    rows = [each for each in Page(page_of(demo())).all("tr") if "data-words" in each.attributes]
    named = {word for row in rows for word in row.get("data-words").split()}
    assert {each.id.lower() for each in audited.modules} <= named
    verdicts = [each.get("data-verdict") for each in rows]
    order = [str(verdict) for verdict in Verdict]
    assert verdicts == sorted(verdicts, key=order.index)


def test_a_cell_has_a_symbol_and_a_word() -> None:
    read = Page(page_of(demo()))
    cells = [each for each in read.all("td") if any(t.get("id") == "matrix" for t in each.around)]
    assert len(cells) % 10 == 0
    inside = [[each for each in read.elements if cell in each.around] for cell in cells]
    for cell, elements in zip(cells, inside, strict=True):
        assert cell.text in {"clear", "at risk", "blocked", "unknown", "ready"}
        assert [each.get("href") for each in elements if each.tag == "use"]


def test_a_large_kit_is_folded_and_says_so() -> None:
    """Of 1,000 modules 400 are odd in ways of their own."""
    text = page_of(gauges(1000, odd=400))
    rows = [each for each in Page(text).all("tr") if "data-words" in each.attributes]
    assert 1 < len(rows) <= 330
    assert len(text) < 2_000_000


def test_what_was_found_is_written_out_up_to_a_number() -> None:
    """Of 300 modules with 2 findings each, 200 have the 400 that are written out."""
    odd = [module(id, WRONG_NAME, IN_POOL, expected_indicator=id) for id in ids(1, 300)]
    read = Page(page(result(*odd, module("ready")), overview(fleet_of(""))))
    assert len(read.all("article", class_="module")) == 201
    assert "What was found on 100 more modules" in read.one("main").text
    links = [each.get("href") for each in read.all("a")]
    assert "#module-TG-200" in links
    assert "#module-TG-201" not in links


def test_modules_beyond_what_is_shown_are_named() -> None:
    odd = [
        module(id, WRONG_NAME, verdict=Verdict.AT_RISK, expected_indicator=id) for id in ids(1, 400)
    ]
    text = page(result(*odd), overview(fleet_of("")))
    read = Page(text)
    assert len(read.all("article", class_="module")) == 300
    assert "100 more modules are not shown: TG-301..TG-400" in read.one("main").text


def test_the_counts_are_those_of_the_audit(file: FleetFile) -> None:
    audited = audit(file, DAY)
    read = Page(page(audited, overview(file)))
    figures = [each.text for each in read.all("span", class_="figure")]
    assert figures == [f"{number:,}" for number in verdict_counts(audited).values()]


@pytest.mark.parametrize(
    ("verdicts", "sentence"),
    [
        ("r", "The only module is ready."),
        ("bb", "All 2 modules are blocked."),
        ("br", "1 of 2 modules is blocked and 1 is ready."),
        ("baarrru", "1 of 7 modules is blocked, 2 are at risk, 1 is unknown and 3 are ready."),
    ],
)
def test_the_verdict_in_one_sentence(verdicts: str, sentence: str) -> None:
    known = {
        "b": Verdict.BLOCKED,
        "a": Verdict.AT_RISK,
        "u": Verdict.UNKNOWN,
        "r": Verdict.READY,
    }
    modules = (module(str(n), verdict=known[letter]) for n, letter in enumerate(verdicts))
    assert verdict_sentence(result(*modules)) == sentence


def test_a_finding_of_the_kit_is_linked_from_the_modules_it_puts_at_risk() -> None:
    audited = result(
        *(module(id, verdict=Verdict.AT_RISK) for id in ids(1, 3)),
        kit=(WRONG_NAME, replace(IN_POOL, concerns=(0, 1, 2))),
    )
    read = Page(page(audited, overview(fleet_of(""))))
    (link,) = [each for each in read.all("a") if each.get("href") == "#kit-2"]
    assert link.text == "static-address-in-pool"


def _luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _contrast(one: str, other: str) -> float:
    """Return the contrast of two colours. Source: WCAG 2.2, definition of contrast ratio."""
    dark, light = sorted((_luminance(one), _luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_the_contrast_is_computed_as_the_guidelines_do() -> None:
    """WCAG 2.2: black on white has 21 to 1; #767676 on white 4.54 (WebAIM, unverified)."""
    assert _contrast("#000000", "#ffffff") == pytest.approx(21)
    assert _contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)


TEXT_ON_GROUND = [
    *(
        (text, ground)
        for text in ("ink", "muted", "accent", "blocked")
        for ground in ("ground", "sheet")
    ),
    ("at-risk", "at-risk-ground"),
    ("unknown", "unknown-ground"),
    ("ready", "ready-ground"),
    ("on-stop", "stop"),
    ("ink", "water"),
]
SHAPE_ON_GROUND = [
    ("edge", "ground"),
    ("edge", "sheet"),
    ("accent", "sheet"),
    ("accent", "water"),
    ("stop", "ground"),
    ("stop", "sheet"),
    ("at-risk", "at-risk-ground"),
]


def _palettes() -> list[dict[str, str]]:
    style = (TEMPLATES / "page.css").read_text(encoding="utf-8")
    light, dark = re.findall(r":root \{(.*?)\}", style, re.DOTALL)
    return [dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", each)) for each in (light, dark)]


@pytest.mark.parametrize("palette", _palettes(), ids=["light", "dark"])
def test_colours_can_be_told_apart(palette: dict[str, str]) -> None:
    """WCAG 2.2, 1.4.3 (text: 4.5 to 1) and 1.4.11 (what is no text: 3 to 1)."""
    for text, ground in TEXT_ON_GROUND:
        assert _contrast(palette[text], palette[ground]) >= 4.5, (text, ground)
    for shape, ground in SHAPE_ON_GROUND:
        assert _contrast(palette[shape], palette[ground]) >= 3, (shape, ground)
