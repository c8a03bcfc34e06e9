"""The planned kit and what was found of it, for the commands that read both."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from itertools import chain
from typing import TypeVar

from auditor.cli.auditing import read
from auditor.cli.output import refuse_inputs
from auditor.models.fleet_file import FleetFile
from auditor.models.places import Place
from auditor.reading.inputs import inputs
from auditor.reading.problems import Problem, UnusableError
from auditor.reports.redaction import redacted

Result = TypeVar("Result")


def read_both(
    planned: tuple[str, Iterable[str]],
    found: tuple[str, Iterable[str]],
    output: str | None,
    *,
    with_secrets: bool,
    allowed: Iterable[str],
) -> tuple[FleetFile, FleetFile]:
    """Return both kits, each given as its file and what the headers of its table mean.

    Raises:
        UnusableError: with all that cannot be read of either, or `output` is one of their files.
    """
    files: list[FleetFile] = []
    problems: list[Problem] = []
    read_in = partial(read, with_secrets=with_secrets, allowed=tuple(allowed))
    for option, (file, columns) in {"--planned-column": planned, "--column": found}.items():
        try:
            files.append(read_in(file, columns))
        except UnusableError as failure:
            problems += (
                replace(each, place=Place(option)) if each.place == Place("--column") else each
                for each in failure.problems
            )
    if problems:
        secrets = chain.from_iterable(file.secrets for file in files)
        raise UnusableError(redacted(tuple(problems), secrets))
    refuse_inputs(output, chain.from_iterable(map(inputs, files)))
    return files[0], files[1]


def redacted_of_both(
    task: Callable[[FleetFile, FleetFile], Result], planned: FleetFile, found: FleetFile
) -> Result:
    """Return what a task says of two kits, without the passphrases of either.

    Raises:
        UnusableError: the task refuses them.
    """
    secrets = [*planned.secrets, *found.secrets]
    try:
        return redacted(task(planned, found), secrets)
    except UnusableError as failure:
        raise UnusableError(redacted(failure.problems, secrets)) from None
