"""What may be repeated, and what a reader sees in place of a passphrase."""

import timeit
from collections.abc import Callable

import pytest
from hypothesis import event, given
from hypothesis import strategies as st

from auditor.models.secrets import Secret, Standing
from auditor.reading.quoting import (
    Masking,
    cannot_be_secret,
    may_be_secret,
    named,
    without_pieces,
)

PASSPHRASE = Secret("saltmarsh7")
TEXTS = st.text("aAßﬁ\n…0-", max_size=7) | st.sampled_from(("saltmarsh7", "TG", "0a" * 32))


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        pytest.param("saltmarsh7", "(a passphrase)", id="all of it"),
        pytest.param("SaltMarsh7", "(a passphrase)", id="in another case"),
        pytest.param('The name is "saltmarsh7".', 'The name is "(a passphrase)".', id="quoted"),
        pytest.param("see saltmarsh7.toml", "see (a passphrase).toml", id="a file"),
        pytest.param(
            '"saltmarsh7-gauges" is no "saltmarsh-gauges"',
            '"(holds a passphrase)" is no "saltmarsh-gauges"',
            id="in a longer word",
        ),
        pytest.param('"saltmarsh…" (40 characters)', '"(a passphrase)" (40 characters)', id="cut"),
        pytest.param('"TG-saltmar…"', '"(holds a passphrase)"', id="cut in a longer word"),
        pytest.param("saltmarsh-gauges", "saltmarsh-gauges", id="only its beginning"),
    ],
)
def test_a_word_that_holds_a_passphrase_is_masked_as_a_whole(text: str, shown: str) -> None:
    """What is left of a well-known name around a mask would tell what is masked."""
    assert Masking([PASSPHRASE])(text) == shown


def test_a_key_is_masked_whoever_wrote_it() -> None:
    key = "5b1e90c47a2fd8366c0b7e94a1d35f28e7904bc6213d8fa05e6c91b7d24803fa"
    assert Masking([])(f"the key {key}, in full") == "the key (a passphrase), in full"
    assert Masking([])(f'"{key[:48]}…"') == '"(a passphrase)"'
    assert Masking([])(key[:32]) == key[:32]


def test_a_short_passphrase_is_masked_where_it_is_all() -> None:
    mask = Masking([Secret("TG")])
    assert (mask("TG"), mask("tg"), mask("TG-01")) == ("(a passphrase)", "(a passphrase)", "TG-01")


def test_many_passphrases_are_masked_as_few_are() -> None:
    secrets = [Secret(f"gauge{number:05}x") for number in range(30_000)]
    mask = Masking([*secrets, PASSPHRASE, Secret(None, standing=Standing.UNRESOLVED)])
    text = "TG-01 says gauge02999x on saltmarsh7"
    assert mask(text) == "TG-01 says (a passphrase) on (a passphrase)"
    assert _time_s(mask, text) < 100 * _time_s(Masking([PASSPHRASE]), text)


def _time_s(mask: Callable[[str], str], text: str) -> float:
    return min(timeit.repeat(lambda: mask(text), number=100, repeat=5))


@pytest.mark.parametrize(
    ("secrets", "text", "shown"),
    [
        (("abcdef", "defghi"), "on abcdefghi.", "on (holds a passphrase)."),
        (("abcdef#", "f#ghijk"), "on abcdef#ghijk.", "on (holds a passphrase)."),
        (("abcdef", "abcdefgh"), "abcdefgh, abcdef", "(a passphrase), (a passphrase)"),
        (("abcde", "fghij"), "abcde.fghij", "(a passphrase).(a passphrase)"),
        (("Straße1", "STRASSE1"), "straße1 strasse1", "(a passphrase) (a passphrase)"),
    ],
)
def test_passphrases_that_overlap_leave_nothing(
    secrets: tuple[str, ...], text: str, shown: str
) -> None:
    assert Masking(map(Secret, secrets))(text) == shown


@pytest.mark.parametrize(
    "name",
    [
        "Board", "inventory a", "strickt", "passprase", "./ours.toml", "Gerätename",
        "TX power (max)", "GAUGE_PASSPHRASE", "9600 Bd", "10.20.0.31", "00:00:5e:00:53:01", "ip4",
        "se\x1b[31mrial",
    ],
)  # fmt: skip
def test_words_are_repeated(name: str) -> None:
    assert not may_be_secret(name)
    assert named(name, "it").startswith(f'"{name}')


@pytest.mark.parametrize(
    "name",
    [
        "saltmarsh7",
        "2026tide",
        "12345678",
        "q7#Zx",
        "correct horse 9",
        "KvQwzXjpLmtRb",
        "wifi@home",
    ],
)
def test_what_looks_like_a_key_is_not_repeated(name: str) -> None:
    assert may_be_secret(name)
    assert named(name, "it") == "it"


@pytest.mark.parametrize("value", ["9600", "8 MHz", "8h", "100 µF", "2026-03-02", "-3.3 V", "1/2"])
def test_a_quantity_is_no_key(value: str) -> None:
    assert cannot_be_secret(value)


@pytest.mark.parametrize(
    ("reason", "value", "said"),
    [
        ('has the unit "tide"; known is Bd', "2026tide", 'has the unit "…"; known is Bd'),
        ('write "Qz7wKx2v" here and 24 there', "Qz7wKx2v/24", 'write "…" here and 24 there'),
        ("is '1.2.Qz7\\\\wKx'; it must be four", "1.2.Qz7\\wKx", "is …; it must be four"),
        ('is not a number, as in "8 MHz"', "quartz-41", 'is not a number, as in "8 MHz"'),
    ],
)
def test_a_reason_keeps_its_own_words(reason: str, value: str, said: str) -> None:
    assert without_pieces(reason, value) == said


@given(st.lists(TEXTS, max_size=4), st.lists(TEXTS, max_size=6))
def test_texts_that_are_surely_left_as_they_are_each_are(
    secrets: list[str], texts: list[str]
) -> None:
    mask = Masking(map(Secret, secrets))
    each_is = [mask(text) for text in texts] == texts
    event(f"left: {mask.leaves(texts)}")
    assert each_is or not mask.leaves(texts)


def test_ordinary_ids_are_surely_left_as_they_are() -> None:
    assert Masking([PASSPHRASE]).leaves(["TG-01", "TG-02"])
    assert not Masking([PASSPHRASE]).leaves(["TG-01", "saltmarsh7"])
