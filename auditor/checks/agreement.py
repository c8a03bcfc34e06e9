"""Agreement: where no network is planned, the kit is compared with itself."""

from collections.abc import Iterator
from typing import Any

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.near_misses import near_miss
from auditor.findings import Found, Stage
from auditor.models.secrets import Secret
from auditor.models.words import Severity
from auditor.survey.kit import Survey
from auditor.survey.majority import Vote, differs
from auditor.survey.module import Module, indexes

STAGE_OF = {
    "network_name": Stage.DISCOVERY,
    "security": Stage.ADMISSION,
    "passphrase": Stage.KEYS,
    "subnet": Stage.ADDRESS,
    "prefix_length": Stage.ADDRESS,
    "gateway": Stage.ADDRESS,
    "destination": Stage.DELIVERY,
    "port": Stage.DELIVERY,
    "listen_port": Stage.DELIVERY,
    "transport": Stage.DELIVERY,
    "serial_rate": Stage.SERIAL,
    "data_bits": Stage.SERIAL,
    "parity": Stage.SERIAL,
    "stop_bits": Stage.SERIAL,
    "flow_control": Stage.SERIAL,
    "message_bytes": Stage.MESSAGE,
}
"""The settings that the modules of a kit share, and where a difference stops one."""

COLUMN_OF = {"subnet": "address"}
"""Where a setting that is worked out from another one stands."""


@check(None, Severity.RISK, "common practice, no source")
def odd_one_out(module: Module, survey: Survey) -> Iterator[Found]:
    """No network is planned, and the module says something else than most.

    Without a plan nobody can say which is right. Where most modules agree, the odd one is the
    likelier mistake; where the kit divides evenly, that is said too.

    Mend: Set the module to what most say, or write the plan down in a fleet file.

    Example:
        id,SSID,security,baud,IP
        TG-01,saltmarsh-gauges,wpa2-personal,9600,10.20.0.31
        TG-02,saltmarsh-gauges,wpa2-personal,9600,10.20.0.32
        TG-03,saltmarsh-gauge,wpa2-personal,9600,10.20.0.33
    """
    for key, vote in survey.votes.items() if survey.is_inferred else ():
        if vote.winner is not None and differs(key, module, vote.winner):
            if key == "subnet" and _differs_in_prefix(module, survey):
                continue
            yield _odd(key, module, vote, len(survey.modules))


def _differs_in_prefix(module: Module, survey: Survey) -> bool:
    winner = survey.votes["prefix_length"].winner
    return winner is not None and differs("prefix_length", module, winner)


def _odd(key: str, module: Module, vote: Vote, of: int) -> Found:
    place = module.place(COLUMN_OF.get(key, key))
    most = vote.counts[0][1]
    return Found(
        f"{_sentence(key, module, vote)}: {most} of {of} modules say so.",
        _advice(key, vote.winner),
        (place,),
        {"key": key, "agree": most, "modules": of},
        stage=STAGE_OF[key],
    )


def _sentence(key: str, module: Module, vote: Vote) -> str:
    if isinstance(vote.winner, Secret):
        return "The passphrase is not the one that most have"
    if key == "subnet":
        return f"{module.address} is outside {vote.winner}, where most are"
    given = getattr(module, key)
    miss = near_miss(given, vote.winner) if isinstance(given, str) else None
    how = f" ({miss.detail})" if miss and key == "network_name" else ""
    return f'{key} is "{given}", and "{vote.winner}" elsewhere{how}'


def _advice(key: str, winner: Any) -> str:
    if isinstance(winner, Secret):
        return "Set the passphrase that the other modules have."
    if key == "subnet":
        return f"Choose a free address inside {winner}."
    return f'Set {key} to "{winner}".'


@part_of("odd-one-out", Scope.KIT)
def _tied(survey: Survey) -> Iterator[Found]:
    for key, vote in survey.votes.items() if survey.is_inferred else ():
        if vote.is_tie:
            voters = [module for module in survey.modules if differs(key, module, None)]
            yield Found(
                f"{key} is tied: {_divided(vote)}. Nobody can say which is right.",
                "Write the plan down in a fleet file, or correct the table.",
                tuple(module.place(COLUMN_OF.get(key, key)) for module in voters),
                {"key": key, "counts": [str(count) for _, count in vote.counts]},
                stage=STAGE_OF[key],
                concerns=indexes(voters),
            )


def _divided(vote: Vote) -> str:
    """Return how many say what; a secret is counted and not shown."""
    if vote.key == "passphrase":
        return f"there are {len(vote.counts)} passphrases"
    shown = [f'{count} say "{value}"' for value, count in vote.counts[:3]]
    more = len(vote.counts) - len(shown)
    return ", ".join(shown) + (f" and {more} more" if more else "")
