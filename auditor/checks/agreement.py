"""Agreement: where no network is planned, the kit is compared with itself."""

from collections.abc import Iterator, Sequence
from typing import Any

from auditor.checks.registry import Scope, check, part_of
from auditor.compute.near_misses import near_miss
from auditor.findings import Found
from auditor.models.places import Place
from auditor.models.quantities import shown
from auditor.models.secrets import Secret
from auditor.models.words import Severity
from auditor.survey.kit import Survey
from auditor.survey.majority import STAGE_OF, Vote
from auditor.survey.module import PLAN, Module

MOST_PLACES = 1000
"""So many places of a finding are kept; nobody looks at more."""
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
    for key, vote in _votes(survey):
        if vote.outvotes(module) and not (key == "subnet" and _differs_in_prefix(module, survey)):
            yield _odd(key, module, vote, len(survey.modules))


def _votes(survey: Survey) -> Iterator[tuple[str, Vote]]:
    """Give the votes that settle something: no network is planned, nor is the setting itself."""
    for key, vote in survey.votes.items() if survey.is_inferred else ():
        if key not in PLAN or not survey.places.has(*PLAN[key]):
            yield key, vote


def _differs_in_prefix(module: Module, survey: Survey) -> bool:
    """Say whether the prefix length alone may put a module's address into another subnet."""
    return survey.votes["prefix_length"].outvotes(module)


def _odd(key: str, module: Module, vote: Vote, of: int) -> Found:
    agree = vote.camps[0].size
    return Found(
        _sentence(key, module, vote.winner, f"{agree} of {of} modules"),
        _advice(key, vote.winner),
        (module.place(COLUMN_OF.get(key, key)),),
        {"key": key, "agree": agree, "modules": of},
        stage=STAGE_OF[key],
    )


def _sentence(key: str, module: Module, winner: Any, most: str) -> str:
    if isinstance(winner, Secret):
        return f"The passphrase is not the one that {most} have."
    if key == "subnet":
        return f"{module.address} is outside {winner}, where {most} are."
    given = getattr(module, key)
    miss = near_miss(given, winner) if key == "network_name" else None
    how = f": {miss.detail}" if miss else ""
    return f'{key} is "{shown(given)}", and {most} say "{shown(winner)}"{how}.'


def _advice(key: str, winner: Any) -> str:
    if isinstance(winner, Secret):
        return "Set the passphrase that the other modules have."
    if key == "subnet":
        return f"Choose a free address inside {winner}."
    return f'Set {key} to "{shown(winner)}".'


@part_of("odd-one-out", Scope.KIT)
def _tied(survey: Survey) -> Iterator[Found]:
    for key, vote in _votes(survey):
        if vote.is_tie and not (key == "subnet" and survey.votes["prefix_length"].is_tie):
            voters = survey.those(vote.counts)
            yield Found(
                f"{key} is tied: {_divided(vote)}. Nobody can say which is right.",
                "Write the plan down in a fleet file, or correct the table.",
                _places(key, voters, survey),
                {"key": key, "counts": [str(camp.size) for camp in vote.camps]},
                stage=STAGE_OF[key],
                concerns=voters,
            )


def _places(key: str, voters: Sequence[int], survey: Survey) -> tuple[Place, ...]:
    modules = survey.at(voters[:MOST_PLACES])
    return tuple(module.place(COLUMN_OF.get(key, key)) for module in modules)


def _divided(vote: Vote) -> str:
    """Return how many say what; a secret is counted and not shown."""
    counts = [camp.size for camp in vote.camps]
    if isinstance(vote.camps[0].value, Secret):
        shared = " and ".join(map(str, counts[:3])) + (" and so on" if counts[3:] else "")
        return f"there are {len(counts)} passphrases, on {shared} modules"
    said = [
        f'{count} {"says" if count == 1 else "say"} "{shown(camp.value)}"'
        for count, camp in zip(counts[:3], vote.camps, strict=False)
    ]
    more = len(counts) - len(said)
    return ", ".join(said) + (f" and {more} more value{'s' if more > 1 else ''}" if more else "")
