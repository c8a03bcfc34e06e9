"""The net catches a secret in every disguise, and nothing else."""

import base64
import html
import json
from collections.abc import Callable
from textwrap import fill
from urllib.parse import quote, quote_plus

import pytest

from auditor.compute.keys import derived_key
from tests.secrets.canary import AWKWARD, CANARIES, NETWORK_NAME, PLAIN, Canary
from tests.secrets.forms import leaks

DISGUISES: dict[str, Callable[[str], str]] = {
    "as it is": str,
    "in capitals": str.upper,
    "in small letters": str.lower,
    "reversed": lambda text: text[::-1],
    "repr": repr,
    "JSON": json.dumps,
    "JSON with its letters": lambda text: json.dumps(text, ensure_ascii=False),
    "HTML": html.escape,
    "HTML in numbers": lambda text: "".join(f"&#{ord(letter)};" for letter in text),
    "JSON in HTML": lambda text: html.escape(json.dumps(text)),
    "URL": quote,
    "form": quote_plus,
    "base64": lambda text: base64.b64encode(text.encode()).decode(),
    "base64 of more": lambda text: base64.b64encode(f"a {text} b".encode()).decode(),
    "base64 for URLs": lambda text: base64.urlsafe_b64encode(text.encode()).decode(),
    "hex": lambda text: text.encode().hex(),
    "hex in capitals": lambda text: text.encode().hex().upper(),
    "cut at its end": lambda text: f'"{text[:-2]}…"',
    "cut at its start": lambda text: f"…{text[2:]}",
    "over two lines": lambda text: fill(text, 5),
}


@pytest.mark.parametrize("disguise", DISGUISES.values(), ids=DISGUISES.keys())
@pytest.mark.parametrize("canary", [AWKWARD, PLAIN], ids=["awkward", "plain"])
def test_a_disguise_is_seen_through(canary: Canary, disguise: Callable[[str], str]) -> None:
    assert leaks(f'The name "{disguise(canary.text)}" differs.', canary.text)


@pytest.mark.parametrize("canary", CANARIES.values(), ids=CANARIES.keys())
def test_every_canary_is_seen(canary: Canary) -> None:
    assert leaks(f"<td>{canary.text}</td>", canary.text)
    assert leaks(json.dumps({"name": canary.text}), canary.text)


@pytest.mark.parametrize("written", [bytes.hex, lambda key: base64.b64encode(key).decode()])
def test_the_key_that_a_passphrase_derives_is_seen(written: Callable[[bytes], str]) -> None:
    assert leaks(f"key {written(derived_key(PLAIN.text, NETWORK_NAME))}", PLAIN.text)


def test_a_key_of_wep_is_seen_as_digits_and_as_characters() -> None:
    assert leaks("the key 7137235a78", CANARIES["wep-40"].text)
    assert leaks("the key 71 37 23 5A 78", CANARIES["wep-40"].text)


def test_another_text_is_none() -> None:
    """The canaries are random: no word of ours holds six characters of one."""
    words = "The passphrase is set, differs, is weak: (a passphrase). 7469646573 12345678 qwertz"
    assert leaks(words, *(canary.text for canary in CANARIES.values())) == set()
