"""Which region somebody meant who wrote the code of none."""

import pytest

from auditor.models.profile import Region
from auditor.reading.profiles import likely_regions, shipped_names

# ISO 3166-1, alpha-3 codes, as in Debian's iso-codes 4.15.0.
ALPHA_3 = {
    "AUT": "AT", "AUS": "AU", "BRA": "BR", "CAN": "CA", "CHE": "CH", "CHN": "CN", "DEU": "DE",
    "ESP": "ES", "FRA": "FR", "GBR": "GB", "IRL": "IE", "ISR": "IL", "IND": "IN", "ITA": "IT",
    "JPN": "JP", "KOR": "KR", "MEX": "MX", "NLD": "NL", "NZL": "NZ", "SWE": "SE", "SGP": "SG",
    "TWN": "TW", "USA": "US", "ZAF": "ZA",
}  # fmt: skip
MEMBERS = ["AT", "DE", "ES", "FR", "IE", "IT", "NL", "SE"]
"""Members of the European Union among the shipped regions: Treaty on European Union, article 52."""


def codes(name: str) -> list[str]:
    return [region.code for region in likely_regions(name)]


def test_every_region_is_known_by_its_longer_code() -> None:
    assert {written: codes(written) for written in ALPHA_3} == {
        written: [code] for written, code in ALPHA_3.items()
    }
    assert {code.lower() for code in ALPHA_3.values()} == {*shipped_names(Region)} - {"00"}


@pytest.mark.parametrize("written", ["UK", "uk", "U K", "GBR", "Great Britain", "united-kingdom"])
def test_the_united_kingdom_is_gb(written: str) -> None:
    """ISO 3166-1: GB; UK is exceptionally reserved."""
    assert codes(written) == ["GB"]


def test_the_european_union_is_no_country() -> None:
    """ISO 3166-1: EU is exceptionally reserved."""
    assert codes("EU") == MEMBERS


# PL, NO and POL, NOR are Poland and Norway (ISO 3166-1), one letter from NL, NZ and KOR.
@pytest.mark.parametrize("written", ["PL", "NO", "POL", "NOR", "ZZ", ""])
def test_no_letter_of_a_short_code_is_guessed(written: str) -> None:
    assert codes(written) == []


@pytest.mark.parametrize(
    ("written", "code"), [("Germny", "DE"), ("Austria", "AT"), ("New Zeeland", "NZ")]
)
def test_a_name_with_a_slip(written: str, code: str) -> None:
    assert codes(written) == [code]


def test_a_name_that_is_like_none() -> None:
    assert codes("Atlantis") == []
