"""The map of the addresses: to scale, with windows where the subnet is large."""

from ipaddress import IPv4Address, IPv4Network
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from auditor.compute.addresses import AddressRange
from auditor.reports.page.address_map import CELL, COLUMNS, MOST_ROWS, AddressMap, Mark, address_map
from auditor.tasks.overview import AddressPlan, HeldAddress, Holder, Role, Trouble


def held(
    address: str, *names: str, role: Role = Role.MODULE, trouble: Trouble | None = None
) -> HeldAddress:
    """Return an address that somebody has."""
    holders = tuple(Holder(role, name) for name in names)
    return HeldAddress(IPv4Address(address), holders, trouble)


def plan(
    *all_held: HeldAddress, subnet: str | None = "10.20.0.0/24", pool: str = "", **more: Any
) -> AddressPlan:
    """Return a plan; the pool as in "10.20.0.100 10.20.0.149"."""
    ends = [IPv4Address(end) for end in pool.split()]
    given_ = {
        "subnet": IPv4Network(subnet) if subnet else None,
        "is_inferred": False,
        "pool": AddressRange(*ends) if ends else None,
        "pooled": 0,
        "held": tuple(sorted(all_held, key=lambda each: each.address)),
    }
    return AddressPlan(**given_ | more)


def marks(drawn: AddressMap) -> dict[str, Mark]:
    """Return what each square shows, by its row and column."""
    return {
        f"{line.label}+{column}": square.mark
        for line in drawn.lines
        for column, square in enumerate(line.squares)
    }


def test_a_subnet_of_256_is_drawn_whole_a_square_an_address() -> None:
    drawn = address_map(plan(held("10.20.0.31", "TG-01")))
    squares = [square for line in drawn.lines for square in line.squares]
    assert len(squares) == 256
    assert len({(square.x, square.y) for square in squares}) == 256
    assert [line.label for line in drawn.lines][:2] == ["10.20.0.0", "10.20.0.16"]
    assert marks(drawn)["10.20.0.16+15"] is Mark.MODULE
    assert drawn.height == 16 * CELL
    assert max(square.x for square in squares) + CELL == drawn.width


def test_each_thing_has_its_mark() -> None:
    drawn = address_map(
        plan(
            held("10.20.0.1", "gateway", role=Role.GATEWAY),
            held("10.20.0.2", "logger", role=Role.HOST),
            held("10.20.0.3", "TG-01"),
            held("10.20.0.4", "TG-02", "TG-03", trouble=Trouble.CLASH),
            held("10.20.0.8", "TG-04", trouble=Trouble.IN_POOL),
            held("10.20.0.9", "TG-05", role=Role.RESERVATION),
            pool="10.20.0.8 10.20.0.10",
        )
    )
    row = [square.mark for square in drawn.lines[0].squares]
    assert row[:12] == [
        Mark.OWN,
        Mark.GATEWAY,
        Mark.HOST,
        Mark.MODULE,
        Mark.CLASH,
        *[Mark.FREE] * 3,
        Mark.RISK,
        Mark.RESERVED,
        Mark.POOL,
        Mark.FREE,
    ]
    assert drawn.lines[-1].squares[-1].mark is Mark.OWN
    assert {entry.mark: entry.count for entry in drawn.legend}[Mark.OWN] == 2


def test_a_subnet_smaller_than_a_row_ends_where_it_ends() -> None:
    drawn = address_map(plan(subnet="10.20.0.8/30"))
    (line,) = drawn.lines
    assert (line.label, len(line.squares)) == ("10.20.0.0", 4)
    assert line.squares[0].x == drawn.label_width + 8 * CELL


def test_a_large_subnet_shows_what_matters_and_says_what_it_leaves_out() -> None:
    pool = "10.20.200.0 10.20.203.255"
    drawn = address_map(plan(held("10.20.1.5", "TG-01"), subnet="10.20.0.0/16", pool=pool))
    said = [line.label for line in drawn.lines if not line.squares]
    assert said == [
        "⋮ 240 addresses, nobody's",
        "⋮ 50,928 addresses, nobody's",
        "⋮ 992 addresses, all in the pool",
        "⋮ 13,296 addresses, nobody's",
    ]
    assert any("left out" in note for note in drawn.notes)


def test_of_very_many_addresses_a_square_stands_for_several() -> None:
    many = [held(str(IPv4Address(0x0A140100 + n)), f"TG-{n}") for n in range(10_000)]
    drawn = address_map(plan(*many, subnet="10.20.0.0/16"))
    assert len([line for line in drawn.lines if line.squares]) <= MOST_ROWS + 2
    assert any("A square stands for 32 addresses" in note for note in drawn.notes)
    assert len(drawn.table) <= 40


def test_the_table_says_what_is_wrong_first_and_joins_neighbours() -> None:
    drawn = address_map(
        plan(
            held("10.20.0.31", "TG-01"),
            held("10.20.0.32", "TG-02"),
            held("10.20.0.33", "TG-03"),
            held("10.20.0.40", "TG-04", "TG-05", trouble=Trouble.CLASH),
            held("10.99.0.1", "TG-06"),
            pool="10.20.0.100 10.20.0.149",
            pooled=1,
        )
    )
    rows = [(row.addresses, row.who, row.trouble) for row in drawn.table]
    assert rows == [
        ("10.20.0.40", "TG-04, TG-05", "claimed twice"),
        ("10.99.0.1", "TG-06", "outside the subnet"),
        ("10.20.0.100 to 10.20.0.149", "1 module that leases", ""),
        ("10.20.0.31 to 10.20.0.33", "TG-01..TG-03", ""),
    ]
    assert drawn.description == (
        "6 static modules. 1 module leases from the pool, 10.20.0.100 to 10.20.0.149. "
        "1 address is claimed twice."
    )


def test_without_a_subnet_the_map_is_of_what_is_held() -> None:
    drawn = address_map(plan(held("10.20.0.31", "TG-01"), subnet=None))
    assert [line.label for line in drawn.lines] == ["10.20.0.16"]
    assert drawn.title == "The addresses that somebody has"


@given(
    st.lists(st.integers(0, 2**32 - 1), min_size=1, max_size=60, unique=True),
    st.integers(8, 32),
)
def test_every_address_that_is_held_has_its_mark(numbers: list[int], length: int) -> None:
    subnet = str(IPv4Network((numbers[0], length), strict=False))
    every = [held(str(IPv4Address(number)), "TG") for number in numbers]
    drawn = address_map(plan(*every, subnet=subnet))
    inside = sum(IPv4Address(number) in IPv4Network(subnet) for number in numbers)
    shown = {entry.mark: entry.count for entry in drawn.legend}
    assert 1 <= shown[Mark.MODULE] <= inside
    assert all(len(line.squares) <= COLUMNS for line in drawn.lines)
