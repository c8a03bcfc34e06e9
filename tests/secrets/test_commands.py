"""Every command there is, is looked at, and none shows more of a fault than where it is."""

import sys
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import NoReturn

import pytest

from auditor.checks import CHECKS
from auditor.checks.registry import Part, Scope
from auditor.cli import app
from auditor.findings import Found
from tests.secrets.canary import AWKWARD, PLAIN, document, kit_of, proper_kits
from tests.secrets.forms import leaks
from tests.secrets.runs import (
    OWN_ARGUMENTS,
    PAGES,
    commands,
    formats,
    lines,
    reads_fleet,
    run,
    runs_of,
)


def test_every_command_is_run() -> None:
    """A new command that reads a fleet is run at once; any other has to be given its arguments."""
    assert {name for name in commands() if not reads_fleet(name)} == OWN_ARGUMENTS.keys()
    assert {line[0] for line in lines("kit.toml")} == set(filter(reads_fleet, commands()))
    reporting = set(filter(reads_fleet, commands())) - PAGES
    assert all({"text", "json"} <= set(formats(name)) for name in reporting)


def test_every_format_of_the_audit_is_run() -> None:
    run_with = {line[-1] for line in lines("kit.toml") if line[0] == "check"}
    assert run_with.issuperset(formats("check"))
    assert {"text", "json", "csv"} <= set(formats("check"))


def test_a_command_without_a_fleet_says_nothing_of_the_environment(folder: Path) -> None:
    for name, arguments in OWN_ARGUMENTS.items():
        chosen: list[tuple[str, ...]] = [("--format", each) for each in formats(name)] or [()]
        for options in chosen:
            outcome = run(name, *arguments, *options, environment={"GAUGE_SECRET": PLAIN.text})
            assert outcome.stdout
            assert leaks(outcome.everything, PLAIN.text) == set()


def test_no_values_are_shown_with_a_traceback(capsys: pytest.CaptureFixture[str]) -> None:
    """What would be printed of an exception that nothing caught: the lines, not their values."""
    run("checks")  # the command line may have put a way of its own to print them in place
    local = PLAIN.text
    try:
        raise RuntimeError(str(len(local)))
    except RuntimeError as fault:
        sys.excepthook(type(fault), fault, fault.__traceback__)
    shown = capsys.readouterr().err
    assert "RuntimeError: 16" in shown
    assert leaks(shown, local) == set()
    assert app().pretty_exceptions_enable is False


def _raising(fault: BaseException) -> Callable[..., NoReturn]:
    def fails(*_arguments: object, **_more: object) -> NoReturn:
        raise fault

    return fails


def _faults() -> Iterator[BaseException]:
    """Give exceptions that quote a secret in every way that one can."""
    text = AWKWARD.text
    for kind in (RuntimeError, ValueError, KeyError, MemoryError, RecursionError, AssertionError):
        yield kind(text)
    yield OSError(28, "No space left on device", text)
    yield UnicodeEncodeError("ascii", f"{text}ž", len(text), len(text) + 1, text)
    yield ExceptionGroup(text, [ValueError(text)])
    noted = ValueError(text)
    noted.add_note(text)
    noted.__cause__ = KeyError(text)
    yield noted


def _said(fault: BaseException) -> str:
    return type(fault).__name__


@pytest.mark.parametrize("fault", list(_faults()), ids=_said)
@pytest.mark.parametrize("scope", list(Scope))
def test_a_check_that_breaks_is_named_and_what_it_says_is_not(
    folder: Path, monkeypatch: pytest.MonkeyPatch, fault: BaseException, scope: Scope
) -> None:
    def breaks(*_arguments: object) -> Iterator[Found]:
        yield from ()
        raise fault

    broken = replace(CHECKS["weak-passphrase"], parts=(Part(scope, breaks),))
    monkeypatch.setitem(CHECKS, "weak-passphrase", broken)
    for outcome in runs_of(kit_of(document(AWKWARD)), folder):
        assert leaks(outcome.everything, AWKWARD.text) == set()
        assert "Traceback" not in outcome.everything
        if outcome.arguments[0] == "check":
            assert (outcome.status, outcome.stdout) == (2, "")
            is_short = isinstance(fault, MemoryError)  # no fault of the check
            assert ("memory" if is_short else "check weak-passphrase broke") in outcome.stderr


BREAKABLE = (
    "auditor.cli.auditing.read_fleet",
    "auditor.cli.auditing.audit",
    "auditor.cli.auditing.redacted",
    "auditor.cli.output.deliver",
    "auditor.survey.kit.Survey.__init__",
    "auditor.reading.fleet.validated",
    "auditor.reading.fleet.read_text",
)


@pytest.mark.parametrize("fault", [*_faults(), KeyboardInterrupt(AWKWARD.text)], ids=_said)
@pytest.mark.parametrize("where", BREAKABLE)
def test_a_fault_anywhere_is_one_line_without_its_text(
    folder: Path, monkeypatch: pytest.MonkeyPatch, where: str, fault: BaseException
) -> None:
    monkeypatch.setattr(where, _raising(fault))
    for outcome in runs_of(kit_of(document(AWKWARD)), folder):
        assert leaks(outcome.everything, AWKWARD.text) == set()
        assert "Traceback" not in outcome.everything
        if outcome.arguments[0] == "check":
            assert outcome.stdout == ""
            assert outcome.status not in (0, None)


def test_two_secrets_of_one_kind_make_the_same_words(folder: Path) -> None:
    """Whatever is said of a passphrase is said of any other as good as it, byte for byte."""
    other = replace(AWKWARD, text='Xj9p%Lm#tRb\\Wz"Kv7q<&')
    assert len(other.text) == len(AWKWARD.text) + 1
    other = replace(other, text=other.text[:-1])
    for (name, kit), (_, swapped) in zip(proper_kits(AWKWARD), proper_kits(other), strict=True):
        before = [(each.stdout, each.stderr, each.status) for each in runs_of(kit, folder)]
        after = [(each.stdout, each.stderr, each.status) for each in runs_of(swapped, folder)]
        assert before == after, name


def test_the_net_would_catch_a_report_that_masks_nothing(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fleet = document(AWKWARD)
    fleet["module"][0]["id"] = AWKWARD.text
    kit = kit_of(fleet)
    assert not any(leaks(outcome.everything, AWKWARD.text) for outcome in runs_of(kit, folder))
    monkeypatch.setattr("auditor.reports.redaction.redacted", lambda value, _secrets: value)
    monkeypatch.setattr("auditor.cli.auditing.redacted", lambda value, _secrets: value)
    caught = [leaks(outcome.everything, AWKWARD.text) for outcome in runs_of(kit, folder)]
    assert sum(map(bool, caught)) >= len(formats("check"))
