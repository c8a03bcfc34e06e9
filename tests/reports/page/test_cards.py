"""The words of a card: exact names, lines to write on, and nothing that needs more room."""

import re
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction
from html import unescape

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.findings import Stage, Verdict
from auditor.models.words import Addressing, ControllerPin, FlowControl, Parity, Severity, Transport
from auditor.reports.page.cards import CARDS_A_SHEET, cards_page, sheets_for
from auditor.tasks.cards import Card, Cards, Link, Messages, Reason, SerialLine, Wiring

DAY = datetime(2026, 2, 1, tzinfo=UTC)
NOTHING = Card(
    id="TG-01",
    holder=None,
    hardware_address=None,
    link=Link(None, None, None, None, None, None, None),
    serial=SerialLine(None, None, None, None, None),
    messages=Messages(True, None, None, None, None),
    wiring=Wiring(None, None, None, None),
    searching=None,
    joined=None,
    verdict=Verdict.READY,
    reasons=(),
    lacking=(),
)
ADDRESS, GATEWAY = "10.20.0.31", "10.20.0.1"
STATIC = Link("salt", None, None, Addressing.STATIC, ADDRESS, 24, GATEWAY)
_ROOM = re.compile(r'<span class="write-in[^>]*></span>')
_DRAWN = re.compile(r'<span class="blank">(.)</span>')


def page(*cards: Card) -> str:
    """Return the page of some cards."""
    return cards_page(Cards("Tide gauges, spring term", "kit.toml", DAY, cards))


def line(card: Card, label: str) -> str:
    """Return a line of a card as it is read: "__" is room to write, "␣" a blank that is drawn."""
    (found,) = re.findall(rf"<dt>{label}</dt><dd>(.*?)</dd>", page(card), re.DOTALL)
    text = _DRAWN.sub("␣", _ROOM.sub("__", found))
    return unescape(re.sub(r"<[^>]+>", "", text)).replace("\xa0", " ")


def test_what_is_not_known_is_a_line_to_write_on() -> None:
    assert {label: line(NOTHING, label) for label in ("Network", "Address", "Hardware")} == {
        "Network": "__",
        "Address": "__",
        "Hardware": "__",
    }
    assert line(NOTHING, "Security") == "__, passphrase: __"
    assert line(NOTHING, "Serial") == "__ Bd __, flow control __"
    assert line(NOTHING, "Messages") == "sends to __ port __, listens on port __, by __"
    assert line(NOTHING, "Wiring") == (
        "RX to controller __, TX to controller __, common ground __, supply __ V"
    )
    assert line(NOTHING, "Indicator") == "searching __, joined __"


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("saltmarsh-gauges", "saltmarsh-gauges"),
        ("salt marsh", "salt marsh"),
        ("saltmarsh ", "saltmarsh␣ (it ends in a blank)"),
        ("  salt", "␣␣salt (it begins with 2 blanks)"),
        ("a  b", "a␣␣b (it has 2 blanks in a row at position 2)"),
        ("", "(it is empty)"),
        ("<b>\x1b", "<b>\\x1b (it has the control character U+001B at position 4)"),
        (" a ", "␣a␣ (it begins with a blank; and 1 more)"),
    ],
)
def test_a_network_name_is_exact_and_its_blanks_are_seen(name: str, shown: str) -> None:
    named = replace(NOTHING, link=replace(NOTHING.link, network_name=name))
    assert line(named, "Network") == shown


@pytest.mark.parametrize(
    ("link", "shown"),
    [
        (STATIC, "static 10.20.0.31/24, gateway 10.20.0.1"),
        (replace(STATIC, prefix_length=None), "static 10.20.0.31/__, gateway 10.20.0.1"),
        (replace(STATIC, address=None), "static __/24, gateway 10.20.0.1"),
        (replace(STATIC, gateway="none"), "static 10.20.0.31/24, no gateway"),
        (replace(STATIC, gateway=None), "static 10.20.0.31/24, gateway __"),
        (replace(NOTHING.link, addressing=Addressing.POOLED), "by lease"),
        (
            replace(NOTHING.link, addressing=Addressing.POOLED, address=ADDRESS),
            "by lease, always 10.20.0.31",
        ),
    ],
)
def test_how_it_comes_by_its_address(link: Link, shown: str) -> None:
    assert line(replace(NOTHING, link=link), "Address") == shown


@pytest.mark.parametrize(
    ("serial", "shown"),
    [
        (
            SerialLine("9600", 8, Parity.NONE, Fraction(1), FlowControl.NONE),
            "9600 Bd 8N1, no flow control",
        ),
        (
            SerialLine("115200", 7, Parity.EVEN, Fraction(3, 2), FlowControl.RTS_CTS),
            "115200 Bd 7E1.5, flow control rts-cts",
        ),
        (
            SerialLine("9600", 8, None, Fraction(1), None),
            "9600 Bd data bits 8, parity __, stop bits 1, flow control __",
        ),
    ],
)
def test_the_serial_line_as_the_trade_writes_it(serial: SerialLine, shown: str) -> None:
    assert line(replace(NOTHING, serial=serial), "Serial") == shown


def test_where_it_sends_and_listens() -> None:
    talker = Messages(True, ADDRESS, "4010", "4011", Transport.UDP)
    assert line(replace(NOTHING, messages=talker), "Messages") == (
        "sends to 10.20.0.31 port 4010, listens on port 4011, by UDP"
    )
    listener = replace(NOTHING, messages=replace(talker, sends=False))
    assert line(listener, "Messages") == "sends nothing, listens on port 4011, by UDP"


def test_the_wires_go_where_the_file_says() -> None:
    wiring = Wiring(ControllerPin.TX, ControllerPin.RX, True, Fraction("3.3"))
    assert line(replace(NOTHING, wiring=wiring), "Wiring") == (
        "RX to controller TX, TX to controller RX, common ground, supply 3.3 V"
    )
    crossed = replace(wiring, rx_wired_to=ControllerPin.RX, common_ground=False)
    assert line(replace(NOTHING, wiring=crossed), "Wiring") == (
        "RX to controller RX, TX to controller RX, no common ground, supply 3.3 V"
    )


def test_why_it_is_not_to_be_handed_out() -> None:
    reasons = [
        Reason("supply-voltage-out-of-range", Stage.POWER, Severity.FAULT),
        Reason("serial-pair-not-crossed", Stage.POWER, Severity.FAULT),
        Reason("network-name-differs", Stage.DISCOVERY, Severity.FAULT),
        Reason("serial-rate-differs", Stage.SERIAL, Severity.FAULT),
        Reason("setting-not-saved", Stage.RECORD, Severity.RISK),
        Reason("weak-passphrase", Stage.KEYS, Severity.RISK),
    ]
    blocked = page(replace(NOTHING, verdict=Verdict.BLOCKED, reasons=tuple(reasons)))
    (warning,) = re.findall(r'<p class="warning">(.*?)</p>', blocked)
    assert re.sub(r"<[^>]+>", "", warning) == (
        "Do not hand out. power: supply-voltage-out-of-range, serial-pair-not-crossed; "
        "discovery: network-name-differs; serial: serial-rate-differs; and 2 more checks"
    )
    assert 'class="warning"' not in page(NOTHING)


def test_every_sheet_has_the_caution_once() -> None:
    for number in (1, 8, 9, 17):
        made = page(*[NOTHING] * number)
        sheets = sheets_for(number)
        assert made.count('<section class="sheet"') == sheets == -(-number // CARDS_A_SHEET)
        assert made.count("<strong>Caution:</strong>") == sheets
        assert made.count("<article") == number


def test_the_policy_lets_nothing_run() -> None:
    (policy,) = re.findall(r'Content-Security-Policy" content="(.*?)"', page(NOTHING))
    assert unescape(policy).startswith("default-src 'none'; style-src 'sha256-")
    assert "script-src" not in policy
    assert "<script" not in page(NOTHING)


@given(st.text(max_size=300), st.text(max_size=300), st.text(max_size=300))
def test_no_text_of_a_file_is_longer_on_a_card_than_it_has_room_for(
    id: str, holder: str, name: str
) -> None:
    card = replace(NOTHING, id=id, holder=holder, link=replace(STATIC, network_name=name))
    made = page(card)
    (head,) = re.findall(r"<h3 [^>]*><bdi>(.*?)</bdi></h3>", made, re.DOTALL)
    assert len(unescape(head)) <= 48
    assert "<script" not in made
    network = line(card, "Network").partition(" (it ")[0]
    assert len(network) <= 128 + 20
    assert network.isprintable()


@pytest.mark.parametrize("number", [48, 49, 300])
def test_a_long_id_says_how_long_it_is(number: int) -> None:
    made = page(replace(NOTHING, id="W" * number))
    assert (f"({number} characters)" in made) is (number > 48)
