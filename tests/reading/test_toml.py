"""Where values stand in a document, and documents that are none."""

import pytest

from auditor.reading.problems import UnusableError
from auditor.reading.toml import parse


def test_a_comment_behind_an_inline_table_hides_none_of_its_keys() -> None:
    text = '[network.ipv4]\npool = { first = "10.20.0.100", last = "10.20.0.149" }  # leased\n'
    _, places = parse(text, "kit.toml")
    assert str(places.of("network", "ipv4", "pool", "last")) == "kit.toml:2, last"


@pytest.mark.parametrize("text", ["a =", "a = # nothing", "a = { b = }", "a = [{ b = # ,"])
def test_a_key_without_a_value_is_refused(text: str) -> None:
    with pytest.raises(UnusableError):
        parse(text, "kit.toml")
