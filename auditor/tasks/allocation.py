"""Which addresses the modules of a brief get, or the nearest that would do where they get none."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from ipaddress import IPv4Address, IPv4Network

from auditor.compute.addresses import AddressRange, FreeAddresses, set_aside_blocks, usable_hosts
from auditor.compute.allocation import (
    from_on,
    highest_start,
    lowest_addresses,
    lowest_run,
    room,
    widened,
)
from auditor.models.brief import BriefFile
from auditor.models.words import Addressing
from auditor.reading.problems import Problem, UnusableError, quoted, unusable
from auditor.survey.kit import Survey

_SUBNET = 'has no subnet to take addresses from; add subnet = "10.20.0.0/24", or your own'


class Addresses:
    """The addresses that a brief leaves free, given out the lowest first."""

    def __init__(self, brief: BriefFile, survey: Survey) -> None:
        """Start with what a brief plans; the survey is of the modules that keep their address."""
        self._brief = brief
        self._plan = brief.plan
        self._survey = survey
        self._wanted = brief.plan.modules - len(brief.plan.keep)
        self._subnet = self._planned_subnet()

    def given_out(self) -> dict[str, IPv4Address | None]:
        """Return the static address of every module by its id, None for one that leases.

        Raises:
            UnusableError: there are too few, or there is no pool to lease from.
        """
        plan = self._plan
        is_static = plan.addressing is Addressing.STATIC
        if self._wanted and not is_static:
            self._require_pool()
        free = iter(self._static() if self._wanted and is_static else ())
        return {id: plan.keep[id] if id in plan.keep else next(free, None) for id in plan.ids}

    def _static(self) -> list[IPv4Address]:
        """Return an address for each module that keeps none.

        They are those from the planned first one on; without it the lowest in a row, or the
        lowest at all where no row is long enough.
        """
        problems = list(self._unfit_first())
        row = None if self._first else lowest_run(self._runs, self._wanted)
        runs = [row] if row else self._from_first(self._runs)
        if room(runs) < self._wanted:
            problems.append(self._too_few(runs))
        if problems:
            raise UnusableError(problems)
        return lowest_addresses(runs, self._wanted)

    def _planned_subnet(self) -> IPv4Network:
        subnet = self._survey.ipv4.subnet
        if subnet is None:
            raise unusable(self._brief.file.places.of("network", "ipv4"), _SUBNET)
        return subnet

    @cached_property
    def _runs(self) -> list[AddressRange]:
        """The free addresses outside the pool."""
        return self._free_in(self._subnet)

    def _free_in(self, subnet: IPv4Network, *, with_pool: bool = False) -> list[AddressRange]:
        """Return the free addresses of a subnet, those of the pool too where it is taken away.

        An address that messages go to is nobody's but the one's whom they are meant for.
        """
        survey = self._survey
        receivers = (survey.fleet.traffic.destination, survey.fleet.defaults.destination)
        taken = survey.fixed_addresses.union(
            map(int, survey.reserved), (int(each) for each in receivers if each)
        )
        avoid = [AddressRange(block[0], block[-1]) for block in set_aside_blocks()]
        avoid += [survey.pool] if survey.pool and not with_pool else []
        return FreeAddresses(subnet, taken, avoid).runs

    @cached_property
    def _first(self) -> IPv4Address | None:
        """The planned first address, if it is free or a module keeps it."""
        first = self._plan.first_address
        is_free = any(first in run for run in self._runs)
        return first if is_free or first in self._plan.keep.values() else None

    def _unfit_first(self) -> Iterator[Problem]:
        """Say of a planned first address that no module could have it, and name the nearest."""
        first = self._plan.first_address
        if first is None or self._first:
            return
        start = first if first in self._subnet else self._subnet.network_address
        latest = highest_start(self._runs, self._wanted)
        later = lowest_addresses(from_on(self._runs, start), 1)
        instead = f"begin at {min([*later, latest])}, or " if latest else ""
        yield Problem(
            self._brief.file.places.of("plan", "first_address"),
            f"{first} {self._why_not(first)}; {instead}leave first_address out",
        )

    def _why_not(self, address: IPv4Address) -> str:
        """Return why an address is not free."""
        survey = self._survey
        if address not in self._subnet:
            return f"is outside the subnet {self._subnet}"
        if address not in usable_hosts(self._subnet):
            return f"is the network or the broadcast address of {self._subnet}"
        if survey.pool and address in survey.pool:
            return f"is in the pool {survey.pool.first} to {survey.pool.last}"
        if address == survey.gateway_address:
            return "is the address of the gateway"
        if address in survey.host_at:
            return f"is the address of the host {quoted(survey.host_at[address].name)}"
        return "is reserved for somebody else, sent to, or of a kind that no station may have"

    def _too_few(self, runs: Sequence[AddressRange]) -> Problem:
        """Say that some runs have too few addresses, and name the nearest that would do."""
        first, latest = self._first, highest_start(self._runs, self._wanted)
        pool = self._survey.pool
        outside = " outside the pool" if pool and pool.overlaps(usable_hosts(self._subnet)) else ""
        return Problem(
            self._brief.file.places.of("plan", "first_address" if first and latest else "modules"),
            f"{f'from {first} on ' if first else ''}{self._subnet} has room for {room(runs)}"
            f"{outside}, and {self._wanted} are wanted{''.join(self._ways_out(runs, latest))}",
        )

    def _ways_out(self, runs: Sequence[AddressRange], latest: IPv4Address | None) -> Iterator[str]:
        """Give each change that would do, as a further part of a sentence."""
        if latest:
            yield f"; begin at {latest} or before"
        wider = widened(self._subnet, lambda each: self._suffices(self._free_in(each)))
        if wider:
            yield f"; a /{wider.prefixlen} would do ({wider})"
        without_pool = self._free_in(self._subnet, with_pool=True)
        most_leased = room(self._from_first(without_pool)) - self._wanted
        if self._survey.pool and most_leased > 0:
            yield f"; a pool of at most {most_leased} addresses"
        if most := room(runs) + len(self._plan.keep):
            yield f"; at most {most} modules"

    def _suffices(self, runs: Sequence[AddressRange]) -> bool:
        return room(self._from_first(runs)) >= self._wanted

    def _from_first(self, runs: Sequence[AddressRange]) -> list[AddressRange]:
        """Return what is left of some runs from the planned first address on."""
        return from_on(runs, self._first) if self._first else list(runs)

    def _require_pool(self) -> None:
        """Refuse leased addresses where no pool is given; whether one is enough, the audit says."""
        if self._survey.pool is not None:
            return
        size = self._wanted + self._survey.network.other_stations
        others = "other stations included" if size > self._wanted else "one for each module"
        raise unusable(
            self._brief.file.places.of("network", "ipv4"),
            f"has no pool, and {size} addresses are to be leased ({others})"
            f"{self._pool_that_would_do(size)}",
        )

    def _pool_that_would_do(self, size: int) -> str:
        """Return the lowest pool of a size, in a wider subnet where it must be, as advice."""
        run = lowest_run(self._runs, size)
        if run:
            return f"; add {_pool_in(run, size)}"
        longest = max(map(len, self._runs), default=0)
        found = f"; {self._subnet} has no more than {longest} in a row"
        wider = widened(self._subnet, lambda each: bool(lowest_run(self._free_in(each), size)))
        run = lowest_run(self._free_in(wider), size) if wider else None
        if not wider or not run:
            return found
        return f"{found}; a /{wider.prefixlen} would do ({wider}): add {_pool_in(run, size)}"


def _pool_in(run: AddressRange, size: int) -> str:
    """Return the pool of the first addresses of a run, as it is written."""
    last = IPv4Address(int(run.first) + size - 1)
    return f'pool = {{ first = "{run.first}", last = "{last}" }}'
