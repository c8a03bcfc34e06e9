"""What stands on a card: the module as it is set, never the plan beside it, and its verdict."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction

import pytest

from auditor.audit import audit
from auditor.examples import ENVIRONMENT, fleet_of
from auditor.findings import Stage, Verdict
from auditor.models.fleet_file import FleetFile
from auditor.models.words import (
    Addressing,
    ControllerPin,
    FlowControl,
    Parity,
    Security,
    Severity,
    Transport,
)
from auditor.reading.fleet import fleet_of_text
from auditor.reports.redaction import redacted
from auditor.tasks.cards import Card, Cards, Link, Messages, Passphrase, SerialLine, Wiring, cards

DAY = datetime(2026, 2, 1, tzinfo=UTC)
BARE = '[[module]]\nid = "TG-01"\n'


def cards_of(file: FleetFile, *chosen: int) -> Cards:
    """Return the cards of the modules at some positions."""
    return cards(file, audit(file, DAY), chosen)


def card(lines: str = "", position: int = 1) -> Card:
    """Return a card of the clean kit with some lines laid over it."""
    return cards_of(fleet_of(lines), position).cards[0]


def card_of(text: str, environment: Mapping[str, str] = ENVIRONMENT) -> Card:
    """Return the card of the first module of a fleet file."""
    return cards_of(fleet_of_text(text, "kit.toml", environment), 0).cards[0]


def second(key: str, value: str) -> str:
    """Return the lines that set a key of the second module of the clean kit otherwise."""
    return f'[[module]]\nid = "TG-02"\n{key} = {value}\n'


def test_a_module_that_is_set_as_planned() -> None:
    """By hand from the file of the clean kit and the profile that it names."""
    assert card() == Card(
        id="TG-02",
        holder=None,
        hardware_address="00:00:5e:00:53:02",
        link=Link(
            network_name="saltmarsh-gauges",
            security=Security.WPA2,
            passphrase=Passphrase.SET,
            addressing=Addressing.STATIC,
            address="10.20.0.32",
            prefix_length=24,
            gateway="10.20.0.1",
        ),
        serial=SerialLine("9600", 8, Parity.NONE, Fraction(1), FlowControl.NONE),
        messages=Messages(False, "255.255.255.255", "4010", "4010", Transport.UDP),
        wiring=Wiring(ControllerPin.TX, ControllerPin.RX, True, Fraction("3.3")),
        searching="steady",
        joined="blinking 1 Hz",
        verdict=Verdict.READY,
        reasons=(),
        lacking=(),
    )


def test_what_no_file_says_is_not_known() -> None:
    bare = card_of(BARE)
    assert bare.link == Link(None, None, None, None, None, None, None)
    assert bare.serial == SerialLine(None, None, None, None, None)
    assert bare.messages == Messages(True, None, None, None, None)
    assert bare.wiring == Wiring(None, None, None, None)
    assert (bare.hardware_address, bare.holder, bare.searching, bare.joined) == (None,) * 4


def test_what_the_module_says_stands_there_and_not_the_plan() -> None:
    assert card(second("network_name", '"saltmarsh "')).link.network_name == "saltmarsh "
    assert card(second("serial_rate", "19200")).serial.rate == "19200"
    own = card('[[module]]\nid = "TG-02"\nsupply = { output_voltage = "3.0 V" }\n').wiring
    assert (own.supply_v, own.rx_wired_to) == (Fraction(3), ControllerPin.TX)


def test_a_lease_brings_prefix_length_and_gateway() -> None:
    leased = card(position=2).link
    assert leased.addressing is Addressing.POOLED
    assert (leased.address, leased.prefix_length, leased.gateway) == (None, None, None)


def test_an_address_that_a_lease_does_not_use_is_not_named() -> None:
    spoiled = card('[[module]]\nid = "TG-03"\naddress = "10.20.0.77"\n', position=2)
    assert spoiled.link.address is None


def test_a_reservation_says_which_address_a_lease_brings() -> None:
    assert card(position=3).link.address == "10.20.0.110"


@pytest.mark.parametrize(
    ("talks", "talkers", "sends"),
    [
        ("", '["TG-01"]', False),
        ("", '["TG-02"]', True),
        ("talks = true", '["TG-01"]', True),
        ("talks = false", '["TG-02"]', False),
    ],
)
def test_its_own_program_says_whether_it_sends_before_the_plan_does(
    talks: str, talkers: str, sends: bool
) -> None:
    lines = f'[traffic]\ntalkers = {talkers}\n[[module]]\nid = "TG-02"\n{talks}\n'
    assert card(lines).messages.sends is sends


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        ("", Passphrase.SET),
        (second("passphrase", '{ env = "OTHER_PASSPHRASE" }'), Passphrase.SET),
        (second("passphrase", '""'), Passphrase.EMPTY),
        (second("passphrase", '{ env = "NOT_SET_ANYWHERE" }'), None),
        (second("security", '"open"'), Passphrase.NOT_NEEDED),
    ],
)
def test_of_a_passphrase_it_is_said_that_it_is_set(lines: str, said: Passphrase | None) -> None:
    assert card(lines).link.passphrase is said


def test_the_holder_is_its_own_or_everybodys() -> None:
    assert card(second("holder", '"hut 2"')).holder == "hut 2"
    assert card('[defaults]\nholder = "the field centre"').holder == "the field centre"
    both = card('[defaults]\nholder = "the field centre"\n' + second("holder", '"hut 2"'))
    assert both.holder == "hut 2"


def test_the_gravest_reason_comes_first_and_advice_is_none() -> None:
    spoiled = card(
        '[[module]]\nid = "TG-02"\nsaved = false\nserial_rate = 19200\n'
        'network_name = "saltmarsh-gauges "\nhardware_address = "02:00:5e:00:53:02"\n'
    )
    assert spoiled.verdict is Verdict.BLOCKED
    assert [(each.check, each.stage, each.severity) for each in spoiled.reasons] == [
        ("network-name-differs", Stage.DISCOVERY, Severity.FAULT),
        ("serial-rate-differs", Stage.SERIAL, Severity.FAULT),
        ("setting-not-saved", Stage.RECORD, Severity.RISK),
    ]


def test_what_puts_all_at_risk_is_on_every_card() -> None:
    made = cards_of(fleet_of('[network]\npassphrase = { env = "WEAK_PASSPHRASE" }'), 0, 1, 2, 3)
    assert {card.verdict for card in made.cards} == {Verdict.AT_RISK}
    assert {reason.check for card in made.cards for reason in card.reasons} == {"weak-passphrase"}


def test_what_is_accepted_is_no_reason() -> None:
    waiver = '[[waiver]]\ncheck = "setting-not-saved"\nreason = "saved on the day"\n'
    accepted = card(second("saved", "false") + waiver)
    assert (accepted.verdict, accepted.reasons) == (Verdict.READY, ())


def test_a_fact_that_is_missing_is_named_by_its_stage() -> None:
    unknown = card(second("passphrase", '{ env = "NOT_SET_ANYWHERE" }'))
    assert (unknown.verdict, unknown.lacking) == (Verdict.UNKNOWN, (Stage.KEYS,))
    assert Stage.DELIVERY in card_of(BARE).lacking


def test_cards_come_in_the_order_of_the_file_and_say_whether_all_may_go() -> None:
    file = fleet_of(second("serial_rate", "19200"))
    assert [each.id for each in cards_of(file, 3, 0).cards] == ["TG-01", "TG-04"]
    assert cards_of(file, 3, 0).are_all_to_hand_out
    assert not cards_of(file, 0, 1).are_all_to_hand_out
    unknown = replace(cards_of(file, 0).cards[0], verdict=Verdict.UNKNOWN)
    assert replace(cards_of(file, 0), cards=(unknown,)).are_all_to_hand_out


@pytest.mark.parametrize(
    ("secret", "lines"),
    [
        ("12345679", second("serial_rate", "12345679")),
        ("10.20.0.32", ""),
        ("10.20.0.1", ""),
        ("255.255.255.255", ""),
        ("hut 2, left", second("holder", '"hut 2, left"')),
        ("00:00:5e:00:53:02", ""),
    ],
)
def test_a_passphrase_that_is_a_setting_too_is_masked(secret: str, lines: str) -> None:
    """Whatever it stands in, words, a number or an address: it is on no card."""
    file = fleet_of(f'[network]\npassphrase = "{secret}"\n{lines}')
    made = cards_of(file, 1)
    assert secret in str(made)
    assert secret not in str(redacted(made, file.secrets))
