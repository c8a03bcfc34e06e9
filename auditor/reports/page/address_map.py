"""The subnet drawn to scale: a square an address, or a square for several where it is large."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from ipaddress import IPv4Address, IPv4Network
from itertools import groupby

from auditor.compute.addresses import (
    ADDRESS_BITS,
    AddressRange,
    directed_broadcast,
    network_address,
)
from auditor.reports.layout import counted, listed
from auditor.tasks.overview import AddressPlan, HeldAddress, Role, Trouble

COLUMNS = 16
SMALL = 256
"""A subnet of so many addresses is drawn whole."""
MOST_ROWS = 32
"""So many rows fit on a screen and on a sheet; a square then stands for more addresses."""
LONGEST_GAP_DRAWN = 2
"""So many empty rows are drawn; more in a row are said in words."""
MOST_LISTED = 40
CELL = 16
LABEL_CHARACTER = 6.6
LABEL_GAP = 8


class Mark(StrEnum):
    """What a square shows, the gravest last."""

    FREE = "free"
    POOL = "pool"
    OWN = "own"
    RESERVED = "reserved"
    MODULE = "module"
    HOST = "host"
    GATEWAY = "gateway"
    RISK = "risk"
    CLASH = "clash"

    @property
    def words(self) -> str:
        """What the legend says of it."""
        return _WORDS[self]


_WORDS = {
    Mark.FREE: "nobody's",
    Mark.POOL: "in the pool, to be leased",
    Mark.OWN: "the subnet's own, and its broadcast",
    Mark.RESERVED: "reserved for a lease",
    Mark.MODULE: "static module",
    Mark.HOST: "host",
    Mark.GATEWAY: "gateway",
    Mark.RISK: "static where it should not be",
    Mark.CLASH: "claimed twice",
}
_MARK_OF_ROLE = {
    Role.RESERVATION: Mark.RESERVED,
    Role.MODULE: Mark.MODULE,
    Role.HOST: Mark.HOST,
    Role.GATEWAY: Mark.GATEWAY,
}
_GRAVITY = {mark: number for number, mark in enumerate(Mark)}


@dataclass(frozen=True)
class Square:
    """A square of the map, in the units of the drawing, and what a pointer over it is told."""

    x: float
    y: float
    mark: Mark
    words: str


@dataclass(frozen=True)
class Line:
    """A row of squares with the first address of it, or a gap said in words."""

    y: float
    label: str
    squares: tuple[Square, ...]


@dataclass(frozen=True)
class LegendEntry:
    """A mark that the map has, and how many squares have it."""

    mark: Mark
    words: str
    count: int


@dataclass(frozen=True)
class Listed:
    """A row of the table beside the map: the addresses, who has them, what is wrong with that."""

    addresses: str
    what: str
    who: str
    trouble: str


@dataclass(frozen=True)
class AddressMap:
    """The drawing with its geometry, the same as a table, and what is said of both."""

    title: str
    description: str
    width: float
    height: float
    label_width: float
    cell: int
    lines: tuple[Line, ...]
    legend: tuple[LegendEntry, ...]
    notes: tuple[str, ...]
    table: tuple[Listed, ...]
    more: int


def address_map(plan: AddressPlan) -> AddressMap:
    """Return the map of a plan."""
    scale = _Scale.of(plan)
    lines, height = _lines(plan, scale)
    squares = Counter(square.mark for line in lines for square in line.squares)
    table = tuple(_table(plan))
    return AddressMap(
        title=_title(plan),
        description=_description(plan),
        width=scale.label_width + COLUMNS * CELL,
        height=height,
        label_width=scale.label_width,
        cell=CELL,
        lines=lines,
        legend=tuple(
            LegendEntry(mark, mark.words, squares[mark]) for mark in Mark if squares[mark]
        ),
        notes=tuple(_notes(plan, scale)),
        table=table[:MOST_LISTED],
        more=len(table[MOST_LISTED:]),
    )


@dataclass(frozen=True)
class _Scale:
    """How many addresses a square stands for, and which rows of squares are looked at."""

    addresses: int
    rows: tuple[int, ...]

    @classmethod
    def of(cls, plan: AddressPlan) -> "_Scale":
        """Return the finest scale at which all that matters fits in the rows there are."""
        numbers = list(_numbers_that_matter(plan))
        for bits in range(ADDRESS_BITS):
            rows = sorted({number // (COLUMNS << bits) for number in numbers})
            if len(rows) <= MOST_ROWS:
                break
        return cls(1 << bits, tuple(rows))

    @property
    def per_row(self) -> int:
        """The addresses in a row."""
        return COLUMNS * self.addresses

    @property
    def label_width(self) -> float:
        """The room for the longest label, in the units of the drawing."""
        longest = max(len(str(IPv4Address(row * self.per_row))) for row in self.rows)
        return round(longest * LABEL_CHARACTER + LABEL_GAP, 1)


def _numbers_that_matter(plan: AddressPlan) -> Iterator[int]:
    """Give the addresses whose rows are drawn: what is held in it, and where things end."""
    if plan.subnet:
        first, last = int(plan.subnet[0]), int(plan.subnet[-1])
        yield from range(first, last, COLUMNS) if last - first < SMALL else (first,)
        yield last
    if plan.pool:
        yield from (int(plan.pool.first), int(plan.pool.last))
    yield from (int(held.address) for held in _inside(plan))


def _inside(plan: AddressPlan) -> tuple[HeldAddress, ...]:
    """Return what is held in the subnet; all of it where no subnet is known."""
    subnet = plan.subnet
    return tuple(held for held in plan.held if subnet is None or held.address in subnet)


def _outside(plan: AddressPlan) -> tuple[HeldAddress, ...]:
    subnet = plan.subnet
    return tuple(held for held in plan.held if subnet and held.address not in subnet)


def _lines(plan: AddressPlan, scale: _Scale) -> tuple[tuple[Line, ...], float]:
    """Return the rows with the gaps between them, and the height of all."""
    by_square: dict[int, list[HeldAddress]] = {}
    for held in _inside(plan):
        by_square.setdefault(int(held.address) // scale.addresses, []).append(held)
    lines: list[Line] = []
    y = 0.0
    for first, last, is_drawn in _stretches(scale.rows):
        for row in range(first, last + 1) if is_drawn else ():
            lines.append(_row(row, y, plan, scale, by_square))
            y += CELL
        if not is_drawn:
            lines.append(Line(y, _gap(first, last, plan, scale), ()))
            y += CELL
    return tuple(lines), y


def _stretches(rows: Iterable[int]) -> Iterator[tuple[int, int, bool]]:
    """Give first and last row of each stretch, and whether it is drawn or left out."""
    before: int | None = None
    for row in rows:
        if before is not None and row - before - 1 > LONGEST_GAP_DRAWN:
            yield before + 1, row - 1, False
        elif before is not None and row - before > 1:
            yield before + 1, row - 1, True
        yield row, row, True
        before = row


def _row(
    row: int,
    y: float,
    plan: AddressPlan,
    scale: _Scale,
    by_square: dict[int, list[HeldAddress]],
) -> Line:
    start = row * scale.per_row
    squares = []
    for column in range(COLUMNS):
        first = start + column * scale.addresses
        block = _clipped(first, first + scale.addresses - 1, plan)
        if block is not None:
            held = by_square.get(first // scale.addresses, [])
            x = scale.label_width + column * CELL
            squares.append(Square(x, y, _mark(block, held, plan), _words(block, held)))
    return Line(y, str(IPv4Address(start)), tuple(squares))


def _clipped(first: int, last: int, plan: AddressPlan) -> AddressRange | None:
    """Return what of a run of numbers lies in the subnet."""
    low, high = (int(plan.subnet[0]), int(plan.subnet[-1])) if plan.subnet else (0, 2**32 - 1)
    first, last = max(first, low), min(last, high)
    return AddressRange(IPv4Address(first), IPv4Address(last)) if first <= last else None


def _mark(block: AddressRange, held: Iterable[HeldAddress], plan: AddressPlan) -> Mark:
    """Return the gravest thing that a square shows."""
    marks = [mark_of(each) for each in held]
    marks.append(Mark.POOL if plan.pool and plan.pool.overlaps(block) else Mark.FREE)
    if plan.subnet and len(block) == 1 and _is_own(block.first, plan.subnet):
        marks.append(Mark.OWN)
    return max(marks, key=_GRAVITY.__getitem__)


def _is_own(address: IPv4Address, subnet: IPv4Network) -> bool:
    """Say whether an address stands for the subnet itself, or for all in it."""
    return address in (network_address(subnet), directed_broadcast(subnet))


def mark_of(held: HeldAddress) -> Mark:
    """Return how an address is marked that somebody has for good."""
    if held.trouble is Trouble.CLASH:
        return Mark.CLASH
    if held.trouble is not None:
        return Mark.RISK
    return max((_MARK_OF_ROLE[each.role] for each in held.holders), key=_GRAVITY.__getitem__)


def _words(block: AddressRange, held: list[HeldAddress]) -> str:
    if not held:
        return ""
    names = dict.fromkeys(holder.name for each in held[:4] for holder in each.holders)
    more = f" and {len(held) - 4} more" if len(held) > 4 else ""
    return f"{_span(block)}: {', '.join(names)}{more}"


def _span(block: AddressRange) -> str:
    return str(block.first) if len(block) == 1 else f"{block.first} to {block.last}"


def _gap(first: int, last: int, plan: AddressPlan, scale: _Scale) -> str:
    """Return what is said of rows that are left out: nobody's, or all of them in the pool."""
    block = AddressRange(
        IPv4Address(first * scale.per_row), IPv4Address((last + 1) * scale.per_row - 1)
    )
    whose = "all in the pool" if plan.pool and plan.pool.overlaps(block) else "nobody's"
    return f"⋮ {len(block):,} addresses, {whose}"


def _title(plan: AddressPlan) -> str:
    if plan.subnet is None:
        return "The addresses that somebody has"
    return f"The addresses of {plan.subnet}"


def _description(plan: AddressPlan) -> str:
    """Return the map in a few sentences, what is wrong last."""
    return " ".join((*_fixed(plan), *_leased(plan), *_troubles(plan)))


def _fixed(plan: AddressPlan) -> Iterator[str]:
    roles = Counter(holder.role for held in plan.held for holder in held.holders)
    hosts = f", {counted(roles[Role.HOST], 'host')}" if roles[Role.HOST] else ""
    gateway = " and the gateway" if roles[Role.GATEWAY] else ""
    yield f"{counted(roles[Role.MODULE], 'static module')}{hosts}{gateway}."


def _leased(plan: AddressPlan) -> Iterator[str]:
    if plan.pool:
        modules = counted(plan.pooled, "module")
        yield f"{modules} {_lease(plan)} from the pool, {_span(plan.pool)}."


def _lease(plan: AddressPlan) -> str:
    return "leases" if plan.pooled == 1 else "lease"


def _troubles(plan: AddressPlan) -> Iterator[str]:
    marks = Counter(mark_of(held) for held in plan.held)
    for mark, words in ((Mark.CLASH, "claimed twice"), (Mark.RISK, "where it should not be")):
        if marks[mark]:
            addresses = "address is" if marks[mark] == 1 else "addresses are"
            yield f"{marks[mark]} {addresses} {words}."


def _notes(plan: AddressPlan, scale: _Scale) -> Iterator[str]:
    if plan.is_inferred and plan.subnet:
        yield "No subnet is planned; this is the one of most modules."
    if scale.addresses > 1:
        yield (
            f"A square stands for {scale.addresses:,} addresses and shows the gravest of what "
            "they are; the table names them."
        )
    if any(not is_drawn for *_, is_drawn in _stretches(scale.rows)):
        yield "Rows in which nothing changes are left out, and the map says how many addresses."
    outside = _outside(plan)
    if outside:
        where = "is" if len(outside) == 1 else "are"
        yield f"{len(outside)} of the addresses {where} outside the subnet: see the table."


def _table(plan: AddressPlan) -> Iterator[Listed]:
    """Give what is wrong first, then the pool, then who has what, neighbours together."""
    troubled = [held for held in plan.held if held.trouble is not None]
    for held in sorted(troubled, key=lambda each: -_GRAVITY[mark_of(each)]):
        yield _one(held, _TROUBLES[mark_of(held)])
    outside = [held for held in _outside(plan) if held.trouble is None]
    yield from (_one(held, "outside the subnet") for held in outside)
    if plan.pool:
        whose = f"{counted(plan.pooled, 'module')} that {_lease(plan)}"
        yield Listed(_span(plan.pool), "pool", whose, "")
    clean = [held for held in _inside(plan) if held.trouble is None]
    for _, run in groupby(enumerate(clean), key=lambda pair: _run(*pair)):
        yield _run_of([held for _, held in run])


_TROUBLES = {Mark.CLASH: "claimed twice", Mark.RISK: "not for a static address"}


def _one(held: HeldAddress, trouble: str) -> Listed:
    names = ", ".join(dict.fromkeys(holder.name for holder in held.holders))
    return Listed(str(held.address), _roles(held), names, trouble)


def _run(position: int, held: HeldAddress) -> tuple[int, str]:
    """Return what neighbours share: consecutive addresses that are of one role."""
    return int(held.address) - position, _roles(held)


def _run_of(run: list[HeldAddress]) -> Listed:
    block = AddressRange(run[0].address, run[-1].address)
    names = listed(dict.fromkeys(holder.name for each in run for holder in each.holders))
    return Listed(_span(block), _roles(run[0]), names, "")


def _roles(held: HeldAddress) -> str:
    roles = dict.fromkeys(holder.role.value for holder in held.holders)
    return " and ".join(roles)
