"""What an indicator should show, by the stage at which a module is seen to stop."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

import pytest

from auditor.examples import fleet_of
from auditor.findings import Stage
from auditor.indicator import expected_indicator
from auditor.models.profile import Indicator
from auditor.survey.kit import Survey
from auditor.survey.module import Module

# The looks of the profile generic-24ghz-wpa2: common practice, no source.
DARK, SEARCHING, JOINED = "dark", "steady", "blinking 1 Hz"


def module_with(**looks: object) -> Module:
    """Return the first module of the clean kit, with some looks of its profile otherwise."""
    module = Survey(fleet_of(""), date(2026, 2, 1)).modules[0]
    assert module.profile is not None
    read = Indicator.model_validate(looks)
    indicator = module.profile.indicator.model_copy(update={k: getattr(read, k) for k in looks})
    return replace(module, profile=module.profile.model_copy(update={"indicator": indicator}))


@pytest.mark.parametrize(
    ("shows_at", "shown"),
    [
        (Stage.POWER, DARK),
        (Stage.DISCOVERY, SEARCHING),
        (Stage.ADMISSION, SEARCHING),
        (Stage.KEYS, SEARCHING),
        (Stage.ADDRESS, JOINED),
        (Stage.DELIVERY, JOINED),
        (Stage.SERIAL, JOINED),
        (None, JOINED),
    ],
)
def test_it_searches_until_the_keys_are_agreed(shows_at: Stage | None, shown: str) -> None:
    assert expected_indicator(module_with(), shows_at) == shown


@pytest.mark.parametrize(
    ("hertz", "shown"),
    [(1, "1 Hz"), (Fraction(5, 2), "2.5 Hz"), (999, "999 Hz"), (1000, "1 kHz"), (1500, "1.5 kHz")],
)
def test_a_rate_from_1000_hz_on_is_told_in_khz(hertz: Fraction, shown: str) -> None:
    module = module_with(joined={"state": "blinking", "rate": f"{float(hertz)} Hz"})
    assert expected_indicator(module, None) == f"blinking {shown}"


def test_blinking_at_no_given_rate_and_a_rate_without_blinking_are_told_without_one() -> None:
    assert expected_indicator(module_with(joined={"state": "blinking"}), None) == "blinking"
    steady = module_with(joined={"state": "steady", "rate": "2 Hz"})
    assert expected_indicator(steady, None) == "steady"


def test_what_no_profile_says_is_not_told() -> None:
    assert expected_indicator(module_with(searching=None), Stage.KEYS) is None
    assert expected_indicator(replace(module_with(), profile=None), Stage.KEYS) is None
