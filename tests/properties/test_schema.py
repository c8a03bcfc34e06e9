"""The law of the schemas: what the reading accepts, the schema accepts."""

import tomllib
from enum import StrEnum
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from auditor.models import forms as f
from auditor.models import words as w
from auditor.models.json_forms import Form
from auditor.reading.fleet import fleet_of_text
from tests.json_documents import misfits, validator
from tests.properties.wild import DOCUMENTS, ENVIRONMENT, text_of

READERS = {
    name: kind
    for name, kind in vars(f).items()
    if any(isinstance(each, f.Reader) for each in getattr(kind, "__metadata__", ()))
}
"""Every kind of single value that a document may hold."""
NOT_TEXTS = {"Moment", "Day", "SecretText"}
"""To the reading these are no texts; fleets have them."""
SIGNS = st.sampled_from(
    "0123456789.,+-/: _\u00b5\u03bc\u03a9\u2126aAbBdDhHkKmMsSvVzZ%\u00b0eFfyntrue"
)
VALUES = (
    st.booleans()
    | st.integers(-5, 300)
    | st.sampled_from([0.5, 1.5, 2.4, 4010.0, 1e-5, 1e20])
    | st.text(SIGNS, max_size=12)
    | st.from_regex(r" ?[+-]?[0-9]{1,5}(\.[0-9]{1,2})? ?(Hz|kHz|V|mA|Bd|bytes|uF|\u03bcF|min|%)? ?")
    | st.from_regex(r"[0-9]{1,3}(\.[0-9]{1,3}){3}(/[0-9]{1,2})?", fullmatch=True)
    | st.from_regex(r"[0-9a-fA-F]{2}(:[0-9a-fA-F]{2}){5}|[0-9a-f]{12}", fullmatch=True)
)


def _form(kind: Any) -> Form:
    return next(each.form for each in kind.__metadata__ if isinstance(each, f.Reader))


@settings(max_examples=60, deadline=None)
@given(DOCUMENTS)
def test_a_fleet_that_can_be_read_fits_the_schema(document: dict[str, Any]) -> None:
    text = text_of(document)
    fleet_of_text(text, "kit.toml", ENVIRONMENT)
    assert misfits("fleet", tomllib.loads(text)) == []


@pytest.mark.parametrize("name", sorted(READERS.keys() - NOT_TEXTS))
def test_a_value_that_can_be_read_fits_the_schema(name: str) -> None:
    kind = READERS[name]
    reads, takes = TypeAdapter(kind), validator("fleet").evolve(schema=_form(kind).schema())

    @settings(max_examples=40, deadline=None)
    @given(VALUES)
    def holds(written: Any) -> None:
        try:
            reads.validate_python(written)
        except ValidationError:
            return
        assert takes.is_valid(written), written

    holds()


WORDS = [kind for kind in vars(w).values() if isinstance(kind, type) and issubclass(kind, StrEnum)]
WORDS_OF_FORMS = {
    name: kind
    for name, kind in READERS.items()
    if _form(kind).name in {word.__name__ for word in WORDS}
}


@pytest.mark.parametrize("name", WORDS_OF_FORMS)
@given(st.data())
def test_a_word_fits_the_schema_however_it_is_spelled(name: str, data: st.DataObject) -> None:
    kind = WORDS_OF_FORMS[name]
    enumeration = kind.__origin__
    spellings = [*enumeration, *w.OTHER_SPELLINGS.get(enumeration, {})]
    word = str(data.draw(st.sampled_from(spellings)))
    between = data.draw(st.lists(st.sampled_from(["", " ", "-", "_"]), min_size=len(word)))
    written = "".join(letter.upper() + gap for letter, gap in zip(word, between, strict=False))
    assert TypeAdapter(kind).validate_python(written)
    assert validator("fleet").evolve(schema=_form(kind).schema()).is_valid(written)


@pytest.mark.parametrize(
    ("name", "written"),
    [
        ("Switch", "Yes"),
        ("Gateway", "None"),
        ("Subnet", "10.20.0.0/255.255.255.0"),
        ("Netmask", "/24"),
        ("HardwareAddress", "0000.5E00.5301"),
        ("Volts", 3.3),
        ("Volts", "3300 mV"),
        ("Microfarads", "220 \u03bcF"),
        ("Ohms", "330 \u2126"),
        ("LeaseTime", "8h"),
        ("Frequency", "8 MHz"),
        ("StopBits", "1.50"),
        ("BandWord", 2.4),
        ("BandWord", "5GHz"),
        ("DivisorRuleWord", "N + 1"),
    ],
)
def test_a_way_to_write_a_value_fits_the_schema(name: str, written: Any) -> None:
    assert TypeAdapter(READERS[name]).validate_python(written) is not None
    assert validator("fleet").evolve(schema=_form(READERS[name]).schema()).is_valid(written)
