"""Which facts a module's climb needs and the file does not give."""

from collections.abc import Iterator
from dataclasses import dataclass

from auditor.findings import NotChecked, Stage
from auditor.models.profile import Region
from auditor.models.secrets import Secret, Standing
from auditor.models.words import Security
from auditor.reading.profiles import is_path, likely_regions, shipped_names
from auditor.survey.audience import needs_gateway, own_gateway
from auditor.survey.kit import Survey
from auditor.survey.module import Module

FRAME_KEYS = ("data_bits", "parity", "stop_bits", "flow_control")
SERIAL_KEYS = ("serial_rate", *FRAME_KEYS)


@dataclass(frozen=True)
class Gap:
    """A fact that is not given; `counts` says whether it keeps a module from being ready."""

    stage: Stage
    reason: str
    counts: bool = True


def gaps(module: Module, survey: Survey) -> Iterator[Gap]:
    """Give every fact that a module's climb lacks, in the order of the stages."""
    yield from _stages_without_facts(module, survey)
    yield from _discovery(module, survey)
    yield from _admission(module, survey)
    yield from _keys(module, survey)
    yield from _address(module, survey)
    yield from _delivery(module, survey)


def unknown_to_all(survey: Survey) -> Iterator[NotChecked]:
    """Give what is not checked for want of a profile or a table, and leaves no stage unknown."""
    bare = tuple(survey.ids(survey.those(lambda module: module.profile is None)))
    if bare:
        reason = "no module profile ([kit] profile): what a module can do"
        yield NotChecked(Stage.RECORD, reason, bare)
    yield from _unplanned_frame(survey)
    code = survey.fleet.kit.region
    if code and survey.region is None:
        place = survey.place("kit", "region")
        reason = (
            f'no channel and no power, as there is no table for region "{code}" ({place}): '
            f"{_right_region(code)}"
        )
        yield NotChecked(Stage.DISCOVERY, reason)


def _unplanned_frame(survey: Survey) -> Iterator[NotChecked]:
    """Give the parts of the serial frame that some modules set and nobody planned."""
    if survey.is_inferred:  # then they are compared with each other
        return
    for key in FRAME_KEYS:
        setting = () if getattr(survey.fleet.serial, key) is not None else _setting(key, survey)
        if setting:
            reason = f"what {key} should be ([serial] {key})"
            yield NotChecked(Stage.SERIAL, reason, tuple(survey.ids(setting)))


def _setting(key: str, survey: Survey) -> tuple[int, ...]:
    """Return the positions of the modules that have a value for a key."""
    return survey.those(lambda module: getattr(module, key) is not None)


def _right_region(code: str) -> str:
    """Return what to write instead of a region that has no table, as half a sentence."""
    if is_path(code):
        return "there is no such file"
    meant = likely_regions(code)
    if not meant:
        known = ", ".join(shipped_names(Region)).upper()
        return f"there is one for {known}, or write the path of your own"
    if len(meant) == 1:
        return f'write "{meant[0].code}", the ISO 3166-1 alpha-2 code ({meant[0].name})'
    codes = ", ".join(f'"{each.code}"' for each in meant)
    return f"this is no country: write the code of the one where the kit is, such as {codes}"


def _stages_without_facts(module: Module, survey: Survey) -> Iterator[Gap]:
    traffic = survey.fleet.traffic
    if not module.supply.model_fields_set:
        yield Gap(Stage.POWER, "no [supply] table", False)
    if all(getattr(module, key) is None for key in SERIAL_KEYS):
        yield Gap(Stage.SERIAL, "no serial settings", False)
    if module.message_bytes is None and traffic.framing is None and traffic.talkers is None:
        yield Gap(Stage.MESSAGE, "no message ([traffic] message_bytes, framing, talkers)", False)


def _discovery(module: Module, survey: Survey) -> Iterator[Gap]:
    if survey.network_name is None:
        yield Gap(Stage.DISCOVERY, _network_fact("name", "network_name", survey))
    elif module.network_name is None:
        yield Gap(Stage.DISCOVERY, "the module's network_name")


def _admission(module: Module, survey: Survey) -> Iterator[Gap]:
    if survey.security is None:
        yield Gap(Stage.ADMISSION, _network_fact("security", "security", survey))
    elif module.security is None:
        yield Gap(Stage.ADMISSION, "the module's security")
    if survey.accepted is not None and module.hardware_address is None:
        yield Gap(Stage.ADMISSION, "the module's hardware_address, for the accept list")
    if any(mode and mode.is_enterprise for mode in (survey.security, module.security)):
        yield Gap(Stage.ADMISSION, "802.1X (enterprise) modes are outside what is checked")
        yield Gap(Stage.KEYS, "802.1X (enterprise) modes are outside what is checked")


def _keys(module: Module, survey: Survey) -> Iterator[Gap]:
    mode = module.security or survey.security
    if mode is Security.OPEN or (mode and mode.is_enterprise):
        return
    if mode is None:
        yield Gap(Stage.KEYS, "whether the network needs a passphrase (security)")
        return
    if not survey.is_inferred:
        yield from _secret_gap(survey.passphrase, "[network] passphrase")
    if module.passphrase is not survey.passphrase or survey.is_inferred:
        yield from _secret_gap(module.passphrase, "the module's passphrase")


def _secret_gap(secret: Secret | None, name: str) -> Iterator[Gap]:
    if secret is None:
        yield Gap(Stage.KEYS, f"{name} is not given")
    elif secret.standing is Standing.UNRESOLVED:
        yield Gap(Stage.KEYS, f"{name}: {secret.reference} {secret.reason}")
    elif secret.standing is Standing.WITHHELD:
        yield Gap(Stage.KEYS, "passphrases are left out on purpose", False)


def _address(module: Module, survey: Survey) -> Iterator[Gap]:
    if module.addressing is None:
        yield Gap(Stage.ADDRESS, "addressing (static or pooled)")
    elif module.is_pooled and survey.has_address_server is None:
        yield Gap(Stage.ADDRESS, "whether addresses are leased ([network.ipv4] pool)")
    elif _needs_lease_time(module, survey):
        yield Gap(Stage.ADDRESS, "how long a lease lasts ([network.ipv4] lease_time)")
    elif module.is_static and module.address is not None:
        if survey.subnet is None:
            yield Gap(Stage.ADDRESS, _network_fact("subnet", "address", survey, "network.ipv4"))
        if module.prefix_length is None and not survey.is_inferred:
            yield Gap(Stage.ADDRESS, "prefix_length or netmask")
        if module.hardware_address is None and module.address in survey.reserved:
            yield Gap(Stage.ADDRESS, "the module's hardware_address, for the reservations")
    if needs_gateway(module, survey) and own_gateway(module, survey) is None:
        yield Gap(Stage.ADDRESS, "the gateway to the destination ([network.ipv4] gateway)")


def _needs_lease_time(module: Module, survey: Survey) -> bool:
    """Say whether nobody can tell without the lease time if the module will get an address."""
    if survey.ipv4.lease_time is not None or not survey.sessions:
        return False
    competes = module.is_pooled and module.hardware_address not in survey.ipv4.reservations
    return competes and survey.has_room_for_all is False


def _delivery(module: Module, survey: Survey) -> Iterator[Gap]:
    if survey.sends(module):
        if module.destination is None:
            yield Gap(Stage.DELIVERY, "where messages go ([traffic] destination)")
        elif module.port is None:
            yield Gap(Stage.DELIVERY, "the port ([traffic] port)")
    elif module.listen_port is None:
        yield Gap(Stage.DELIVERY, "the port that is listened on ([traffic] port)")


def _network_fact(key: str, column: str, survey: Survey, table: str = "network") -> str:
    if survey.is_inferred:
        return f"which {column} is right: no network is planned, and no value has a majority"
    return f"[{table}] {key}"
