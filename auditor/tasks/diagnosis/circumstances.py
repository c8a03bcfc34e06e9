"""What the file says of a board and its kit, as far as it decides what can be wrong with it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum

from auditor.compute.addresses import LIMITED_BROADCAST
from auditor.models.profile import IndicatorLook
from auditor.models.words import Addressing, IndicatorState, Intent, Security
from auditor.survey.audience import is_receiver, needs_gateway, own_address, planned_intent
from auditor.survey.kit import Survey
from auditor.survey.module import Module

UNPOWERED, SEARCHING, JOINED = "unpowered", "searching", "joined"
"""The states of which a profile says what the indicator shows."""
_LIT = (IndicatorState.STEADY.value, IndicatorState.BLINKING.value)
"""What an indicator may show where no profile says it."""


class Trait(StrEnum):
    """Something that holds of a board, or may hold as far as the file tells."""

    POOLED = "leases its address"
    STATIC = "has an address of its own"
    WEP = "uses a WEP key"
    HANDSHAKE = "agrees on keys in a handshake"
    HEARS = "is sent messages"
    SENDS = "sends messages"
    BROADCAST = "takes part in a broadcast"
    LIMITED = "takes part in a broadcast that reaches every station of the link"
    BEYOND = "sends to somebody beyond the subnet"


@dataclass(frozen=True)
class Circumstances:
    """What may hold of a board, what its indicator shows in each state, and its right settings."""

    traits: frozenset[Trait]
    looks: Mapping[str, tuple[str, ...]]
    right: Mapping[str, str]


def circumstances(module: Module, survey: Survey) -> Circumstances:
    """Return what the file says of a module, as far as a diagnosis asks for it."""
    return Circumstances(frozenset(_traits(module, survey)), _looks(module), _right(module, survey))


def _traits(module: Module, survey: Survey) -> Iterator[Trait]:
    yield from (Trait.POOLED,) if module.addressing is not Addressing.STATIC else ()
    yield from (Trait.STATIC,) if module.addressing is not Addressing.POOLED else ()
    yield from _of_security(survey.security or module.security)
    yield from (Trait.SENDS,) if survey.sends(module) else ()
    yield from (Trait.BEYOND,) if needs_gateway(module, survey) else ()
    yield from (Trait.HEARS,) if _hears(module, survey) else ()
    if planned_intent(module, survey) is not Intent.UNICAST:
        yield Trait.BROADCAST
        if survey.fleet.traffic.destination in (None, LIMITED_BROADCAST):
            yield Trait.LIMITED


def _of_security(security: Security | None) -> Iterator[Trait]:
    if security is None or security.is_wep:
        yield Trait.WEP
    if security is None or not (security.is_wep or security is Security.OPEN):
        yield Trait.HANDSHAKE


def _hears(module: Module, survey: Survey) -> bool:
    """Say whether somebody sends to a module, as far as anybody can say to whom he sends."""
    if is_receiver(module, survey):
        return True
    sent = survey.flow_to(module, own_address(module, survey)).talkers
    return sent + survey.traffic_sum.unaddressed > 0


def _looks(module: Module) -> Mapping[str, tuple[str, ...]]:
    indicator = module.profile.indicator if module.profile else None
    return {
        UNPOWERED: _shown(indicator.unpowered) if indicator else (IndicatorState.DARK.value,),
        SEARCHING: _shown(indicator.searching if indicator else None),
        JOINED: _shown(indicator.joined if indicator else None),
    }


def _shown(look: IndicatorLook | None) -> tuple[str, ...]:
    return _LIT if look is None else (look.state.value,)


def _right(module: Module, survey: Survey) -> Mapping[str, str]:
    """Return the settings that are right for a module: as planned, or else as it says itself."""
    plan, traffic = survey.fleet.serial, survey.fleet.traffic
    settings = {
        "network_name": survey.network_name or module.network_name,
        "security": survey.security or module.security,
        "addressing": module.addressing,
        "address": module.address,
        "prefix_length": survey.subnet.prefixlen if survey.subnet else module.prefix_length,
        "gateway": survey.gateway or module.gateway,
        "destination": traffic.destination or module.destination,
        "port": traffic.port or module.port,
        "listen_port": traffic.port or module.listen_port,
        "transport": traffic.transport or module.transport,
        "serial_rate": plan.rate or module.serial_rate,
        "data_bits": plan.data_bits or module.data_bits,
        "parity": plan.parity or module.parity,
        "stop_bits": plan.stop_bits or module.stop_bits,
        "flow_control": plan.flow_control or module.flow_control,
        "message_bytes": traffic.message_bytes or module.message_bytes,
        "hardware_address": module.hardware_address,
    }
    return {key: _written(value) for key, value in settings.items() if value is not None}


def _written(value: object) -> str:
    """Return a setting as a sentence quotes it: a text of somebody's own in quotes."""
    is_own = isinstance(value, str) and not isinstance(value, StrEnum)
    return f'"{value}"' if is_own else str(value)
