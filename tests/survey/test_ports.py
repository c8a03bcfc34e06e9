"""On which port most others listen: the same as counting all of them anew."""

from collections import Counter
from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from auditor.reading.fleet import fleet_of_text
from auditor.survey.kit import Survey

PORTS = st.lists(st.none() | st.integers(4010, 4013), min_size=1, max_size=7)


def survey_of(ports: list[int | None], host: int | None) -> Survey:
    """Return a kit whose modules listen on some ports, and a host on another."""
    lines = ['[[network.host]]\nname = "logger"\naddress = "10.20.0.10"']
    lines += [f"port = {host}"] if host else []
    for number, port in enumerate(ports):
        lines += [f'[[module]]\nid = "TG-{number}"'] + ([f"listen_port = {port}"] if port else [])
    return Survey(fleet_of_text("\n".join(lines), "kit.toml", {}), date(2026, 2, 1))


@given(PORTS, st.none() | st.integers(4010, 4013))
def test_the_usual_port_of_others_is_that_of_most_and_of_several_the_lowest(
    ports: list[int | None], host: int | None
) -> None:
    survey = survey_of(ports, host)
    for number, module in enumerate(survey.modules):
        others = Counter([*ports[:number], *ports[number + 1 :], host])
        del others[None]
        expected = min(others, key=lambda port: (-others[port], port or 0), default=None)
        assert survey.usual_port_of_others(module) == expected
        assert [survey.others_on(port, module) for port in (None, *range(4010, 4014))] == [
            0,
            *(others[port] for port in range(4010, 4014)),
        ]
