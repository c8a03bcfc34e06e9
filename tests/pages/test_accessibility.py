"""A page has no barrier that axe-core knows, and its structure holds."""

from pathlib import Path

import pytest

from tests.pages import planted
from tests.pages.measures import barriers, structural_faults
from tests.pages.visits import DESKTOP, PHONE, Visitor
from tests.pages.written import COMMANDS, Written


@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
@pytest.mark.parametrize("width", [PHONE, DESKTOP])
@pytest.mark.parametrize("command", COMMANDS)
def test_no_barrier(written: Written, visit: Visitor, command: str, width: int, dark: bool) -> None:
    page = visit(written.page(command, "demo"), width=width, dark=dark).page
    assert barriers(page) == []


@pytest.mark.parametrize("kit", ["hostile", "long_names"])
@pytest.mark.parametrize("command", COMMANDS)
def test_no_barrier_whatever_the_names(
    written: Written, visit: Visitor, command: str, kit: str
) -> None:
    assert barriers(visit(written.page(command, kit), width=PHONE).page) == []


def test_a_planted_page_without_a_defect_has_no_barrier(visit: Visitor, tmp_path: Path) -> None:
    assert barriers(visit(planted.page(tmp_path)).page) == []


@pytest.mark.parametrize(
    ("body", "style", "dark", "said"),
    [
        ("<p>faint</p>", "p { color: #999 }", False, "color-contrast"),
        (
            "<p>faint</p>",
            "@media (prefers-color-scheme: dark) { p { color: #333; background: #000 } }",
            True,
            "color-contrast",
        ),
        (
            "<p><button>a</button><button>b</button></p>",
            "button { width: 12px; height: 12px; padding: 0; border: 0; font-size: 12px }",
            False,
            "target-size",
        ),
        ("<h4>out of order</h4>", "", False, "heading-order"),
        ("<img src='data:,'>", "", False, "image-alt"),
        (
            "<div><p>tide</p></div>",
            "div { height: 20px; overflow: auto } p { height: 200px }",
            False,
            "scrollable-region-focusable",
        ),
    ],
)
def test_a_planted_barrier_is_caught(
    visit: Visitor, tmp_path: Path, body: str, style: str, dark: bool, said: str
) -> None:
    file = planted.page(tmp_path, planted.GOOD + body, style)
    assert [barrier for barrier in barriers(visit(file, dark=dark).page) if said in barrier]


@pytest.mark.parametrize("kit", ["demo", "hostile", "long_names", "many"])
@pytest.mark.parametrize("command", COMMANDS)
def test_ids_links_headings_and_pictures_are_sound(
    written: Written, visit: Visitor, command: str, kit: str
) -> None:
    assert structural_faults(visit(written.page(command, kit)).page) == []


@pytest.mark.parametrize(
    ("body", "said"),
    [
        ("<p id='a'></p><p id='a'></p>", 'id "a" is there twice'),
        ("<p id='a b'></p>", 'id "a b" is not an id'),
        ("<a href='#nowhere'>there</a>", 'link "#nowhere" leads nowhere'),
        ("<a href='tide.html'>there</a>", 'link "tide.html" leads out of the page'),
        ("<p aria-labelledby='b'>a</p>", 'aria-labelledby "b" names nothing'),
        ("<svg role='img'></svg>", "a picture has no name"),
        ("<svg role='img' aria-labelledby='t'><title id='t'> </title></svg>", "has no name"),
        ("<h3>deep</h3>", 'heading "deep" is h3 after h1'),
        ("<h2></h2>", "an h2 is empty"),
        ("<h1>again</h1>", "the page has 2 main headings"),
    ],
)
def test_a_planted_fault_of_structure_is_caught(
    visit: Visitor, tmp_path: Path, body: str, said: str
) -> None:
    faults = structural_faults(visit(planted.page(tmp_path, planted.GOOD + body)).page)
    assert len(faults) == 1
    assert said in faults[0]
