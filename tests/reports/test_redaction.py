"""A passphrase in a name, a note or an id is masked in the finished result."""

from dataclasses import replace

from auditor.models.places import Place
from auditor.models.secrets import Secret, Standing
from auditor.reports.redaction import redacted
from tests.reports.results import WRONG_NAME, module, result

WORDS = "ternhavn-mudflat-9-quartz"


def test_a_passphrase_is_masked_wherever_it_stands() -> None:
    finding = replace(
        WRONG_NAME,
        message=f'The name is "{WORDS}".',
        remedy=f"Not {WORDS}.",
        where=(Place("kit.csv", 5, WORDS),),
        figures={"given": WORDS, "list": [WORDS, "x"], WORDS: 1},
    )
    audited = result(module(WORDS, finding), name=WORDS, network_name=f"x {WORDS}")
    without = redacted(audited, [Secret(WORDS)])
    assert WORDS not in repr(without)
    assert without.modules[0].id == "(a passphrase)"
    assert without.modules[0].findings[0].message == 'The name is "(a passphrase)".'
    assert without.network_name == "x (a passphrase)"


def test_everything_else_stays() -> None:
    audited = result(module("TG-01", WRONG_NAME))
    assert redacted(audited, [Secret(WORDS)]) == audited


def test_a_text_too_short_for_a_key_is_masked_only_where_it_is_all() -> None:
    audited = result(module("TG-01", WRONG_NAME), name="TG", network_name="TG-net")
    without = redacted(audited, [Secret("TG"), Secret("")])
    assert (without.name, without.network_name) == ("(a passphrase)", "TG-net")
    assert without.modules[0].id == "TG-01"


def test_a_secret_inside_another_is_masked_with_it() -> None:
    audited = result(module("TG-01"), name=f"{WORDS}-longer")
    without = redacted(audited, [Secret(WORDS), Secret(f"{WORDS}-longer")])
    assert without.name == "(a passphrase)"


def test_a_secret_that_was_never_read_masks_nothing() -> None:
    audited = result(module("TG-01"))
    unread = Secret(None, standing=Standing.UNRESOLVED)
    assert redacted(audited, [unread]) == audited
