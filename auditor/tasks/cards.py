"""What stands on the card that lies beside a module on the bench: its settings and its verdict.

What somebody could take for a passphrase, or a passphrase for it, is text here, numbers and
addresses too: a passphrase in it is then masked as anywhere else.
"""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from fractions import Fraction

from auditor.findings import (
    NETWORK_CLIMB,
    AuditResult,
    Finding,
    ModuleResult,
    Stage,
    State,
    Verdict,
    concerning,
)
from auditor.indicator import look_in_words
from auditor.models.fleet_file import FleetFile
from auditor.models.profile import Indicator
from auditor.models.secrets import Secret
from auditor.models.words import (
    Addressing,
    ControllerPin,
    FlowControl,
    Parity,
    Security,
    Severity,
    Transport,
)
from auditor.survey.audience import own_address
from auditor.survey.kit import Survey
from auditor.survey.module import Module

NOT_TO_HAND_OUT = (Verdict.BLOCKED, Verdict.AT_RISK)


class Passphrase(StrEnum):
    """All that a card says of a passphrase."""

    SET = "set"
    EMPTY = "empty"
    NOT_NEEDED = "none needed"


@dataclass(frozen=True)
class Link:
    """Which network a module joins, and with which address; what is None is not known.

    `address` is a static one, or the one that is reserved for a module that leases; prefix length
    and gateway, which may be "none", are those of a static one, for a lease brings its own.
    """

    network_name: str | None
    security: Security | None
    passphrase: Passphrase | None
    addressing: Addressing | None
    address: str | None
    prefix_length: int | None
    gateway: str | None


@dataclass(frozen=True)
class SerialLine:
    """How a module talks to its controller; the rate is in Bd, and what is None is not known."""

    rate: str | None
    data_bits: int | None
    parity: Parity | None
    stop_bits: Fraction | None
    flow_control: FlowControl | None


@dataclass(frozen=True)
class Messages:
    """Whether a module sends, and to whom, and on which port it listens; None is not known."""

    sends: bool
    destination: str | None
    port: str | None
    listen_port: str | None
    transport: Transport | None


@dataclass(frozen=True)
class Wiring:
    """Which wire goes where, and the supply in volts; what is None is not known."""

    rx_wired_to: ControllerPin | None
    tx_wired_to: ControllerPin | None
    common_ground: bool | None
    supply_v: Fraction | None


@dataclass(frozen=True)
class Reason:
    """Why a module is not to be handed out: a check, and the stage at which it found something."""

    check: str
    stage: Stage
    severity: Severity


@dataclass(frozen=True)
class Card:
    """A module as it is set, what its indicator shows, and how it stands.

    `reasons` has the faults before the risks; `lacking` has the stages that lack a fact, where
    that alone keeps the module from being ready.
    """

    id: str
    holder: str | None
    hardware_address: str | None
    link: Link
    serial: SerialLine
    messages: Messages
    wiring: Wiring
    searching: str | None
    joined: str | None
    verdict: Verdict
    reasons: tuple[Reason, ...]
    lacking: tuple[Stage, ...]


@dataclass(frozen=True)
class Cards:
    """The cards of a kit, or of some of its modules, in the order of the file."""

    title: str
    file: str
    checked_at: datetime
    cards: tuple[Card, ...]

    @property
    def are_all_to_hand_out(self) -> bool:
        """Whether none of the modules is blocked or at risk."""
        return not any(card.verdict in NOT_TO_HAND_OUT for card in self.cards)


def cards(file: FleetFile, result: AuditResult, chosen: Collection[int]) -> Cards:
    """Return the cards of the modules at some positions; `result` is the audit of the same file."""
    survey = Survey(file, result.checked_at.date())
    shared = concerning(result.kit_findings, len(result.modules))
    return Cards(
        title=result.title,
        file=result.file,
        checked_at=result.checked_at,
        cards=tuple(
            _card(
                survey.modules[index],
                survey,
                result.modules[index],
                [result.kit_findings[number] for number in shared[index]],
            )
            for index in sorted(chosen)
        ),
    )


def _card(module: Module, survey: Survey, result: ModuleResult, shared: Sequence[Finding]) -> Card:
    looks = module.profile.indicator if module.profile else Indicator()
    return Card(
        id=module.id,
        holder=_holder(module, survey),
        hardware_address=module.hardware_address,
        link=_link(module, survey),
        serial=SerialLine(
            rate=_written(module.serial_rate),
            data_bits=module.data_bits,
            parity=module.parity,
            stop_bits=module.stop_bits,
            flow_control=module.flow_control,
        ),
        messages=_messages(module, survey),
        wiring=Wiring(
            rx_wired_to=module.supply.rx_wired_to,
            tx_wired_to=module.supply.tx_wired_to,
            common_ground=module.supply.common_ground,
            supply_v=module.supply.output_voltage,
        ),
        searching=look_in_words(looks.searching),
        joined=look_in_words(looks.joined),
        verdict=result.verdict,
        reasons=tuple(_reasons([*result.findings, *shared])),
        lacking=_lacking(result),
    )


def _holder(module: Module, survey: Survey) -> str | None:
    return survey.entries.holders[module.index] or survey.fleet.defaults.holder or None


def _link(module: Module, survey: Survey) -> Link:
    return Link(
        network_name=module.network_name,
        security=module.security,
        passphrase=_passphrase(module.passphrase, module.security),
        addressing=module.addressing,
        address=_written(own_address(module, survey)),
        prefix_length=module.prefix_length if module.is_static else None,
        gateway=_written(module.gateway) if module.is_static else None,
    )


def _passphrase(secret: Secret | None, security: Security | None) -> Passphrase | None:
    """Return what may be said of a passphrase; None where it was not given, or not read."""
    if security is Security.OPEN:
        return Passphrase.NOT_NEEDED
    if secret is None or not secret.is_known:
        return None
    return Passphrase.SET if secret.reveal() else Passphrase.EMPTY


def _messages(module: Module, survey: Survey) -> Messages:
    """Return what a module sends and hears: its own program's word counts before the plan's."""
    return Messages(
        sends=survey.may_talk(module) if module.talks is None else module.talks,
        destination=_written(module.destination),
        port=_written(module.port),
        listen_port=_written(module.listen_port),
        transport=module.transport,
    )


def _written(value: object) -> str | None:
    return None if value is None else str(value)


def _reasons(findings: Sequence[Finding]) -> Iterator[Reason]:
    """Give each check that puts a module at risk or stops it, by gravity and then by stage."""
    counting = [f for f in findings if f.counts and f.severity is not Severity.ADVICE]
    counting.sort(key=lambda finding: (-finding.severity.rank, finding.stage.step))
    yield from dict.fromkeys(Reason(f.check, f.stage, f.severity) for f in counting)


def _lacking(result: ModuleResult) -> tuple[Stage, ...]:
    if result.verdict is not Verdict.UNKNOWN:
        return ()
    return tuple(stage for stage in NETWORK_CLIMB if result.stages[stage] is State.UNKNOWN)
