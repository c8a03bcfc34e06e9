"""No model, survey or result shows a secret when it is printed, and none can be stored."""

import copy
import json
import logging
import pickle
import traceback
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from auditor.audit import audit
from auditor.models.fleet import Fleet
from auditor.models.fleet_file import FleetFile
from auditor.models.secrets import Secret
from auditor.reading.fleet import read_fleet
from auditor.reading.problems import UnusableError
from auditor.reports.redaction import redacted
from auditor.survey.kit import Survey
from tests.secrets.canary import AWKWARD, CANARIES, Canary, Kit, proper_kits, table, tables
from tests.secrets.forms import leaks
from tests.secrets.test_mistakes import UNREADABLE, UNREADABLE_TABLES

TODAY = datetime(2026, 3, 1)
KITS = [pytest.param(kit, id=name) for name, kit in (*proper_kits(AWKWARD), *tables(AWKWARD))]


def _read(kit: Kit, folder: Path) -> FleetFile:
    columns = dict(option.split("=") for option in kit.options if "=" in option)
    return read_fleet(kit.write(folder), environment=kit.environment, columns=columns)


@pytest.mark.parametrize("kit", KITS)
def test_what_is_read_prints_as_set(folder: Path, kit: Kit) -> None:
    file = _read(kit, folder)
    survey = Survey(file, TODAY.date())
    votes = [vars(vote) for vote in survey.votes.values()]
    models: list[Any] = [file, file.fleet, file.entries, file.fleet.model_dump(), survey, votes]
    models += [list(file.secrets), *survey.modules, *map(vars, (file, survey))]
    shown = "\n".join(f"{model!r} {model}" for model in models)
    assert "passphrase=set" in shown
    assert leaks(shown, AWKWARD.text) == set()


@pytest.mark.parametrize("kit", KITS)
def test_what_is_read_cannot_be_stored(folder: Path, kit: Kit) -> None:
    file = _read(kit, folder)
    for store in (pickle.dumps, copy.deepcopy, copy.copy):
        for secret in file.secrets:
            with pytest.raises(TypeError, match="a secret is not stored"):
                store(secret)
    with pytest.raises(TypeError):
        pickle.dumps(file)
    tables = [file.fleet.network, file.fleet.defaults, *file.entries.settings]
    holder = next(each for each in tables if each and "passphrase" in each.model_fields_set)
    with pytest.raises(Exception, match="Secret") as failure:
        holder.model_dump_json()
    assert leaks(str(failure.value), AWKWARD.text) == set()


@pytest.mark.parametrize("kit", KITS)
def test_a_result_can_be_stored_and_holds_none(folder: Path, kit: Kit) -> None:
    file = _read(kit, folder)
    result = redacted(audit(file, TODAY), file.secrets)
    assert result.findings
    assert leaks(repr(result), AWKWARD.text) == set()
    assert leaks(pickle.dumps(result, protocol=0).decode("latin-1"), AWKWARD.text) == set()


@pytest.mark.parametrize("canary", CANARIES.values(), ids=CANARIES.keys())
def test_a_secret_prints_as_set_and_equals_nothing(canary: Canary) -> None:
    secret = Secret(canary.text)
    assert {repr(secret), str(secret), f"{secret}", "%s" % secret} == {"set"}  # noqa: UP031
    assert secret != Secret(canary.text)
    assert leaks(str(hash(secret)), canary.text) == set()
    with pytest.raises(TypeError) as failure:
        json.dumps(secret)
    assert leaks(str(failure.value), canary.text) == set()


def test_a_secret_is_logged_as_set(caplog: pytest.LogCaptureFixture) -> None:
    logging.getLogger("a").warning("%s and %r", Secret(AWKWARD.text), [Secret(AWKWARD.text)])
    assert caplog.messages == ["set and [set]"]


def _failure(kit: Kit, folder: Path) -> UnusableError:
    with pytest.raises(UnusableError) as failure:
        read_fleet(kit.write(folder), environment={})
    return failure.value


@pytest.mark.parametrize("name", UNREADABLE)
def test_the_error_of_a_file_quotes_none(folder: Path, name: str) -> None:
    error = _failure(Kit({"kit.toml": UNREADABLE[name]}), folder)
    shown = [repr(error), str(error), repr(error.args), *traceback.format_exception(error)]
    assert leaks("\n".join(shown), AWKWARD.text) == set()
    assert "Error" in "".join(shown)


@pytest.mark.parametrize("name", UNREADABLE_TABLES)
def test_the_error_of_a_table_quotes_none(folder: Path, name: str) -> None:
    error = _failure(Kit({"kit.csv": UNREADABLE_TABLES[name]}, fleet="kit.csv"), folder)
    shown = [repr(error), str(error), repr(error.args), *traceback.format_exception(error)]
    assert leaks("\n".join(shown), CANARIES["plain"].text) == set()


def test_a_failed_validation_does_not_print_its_input() -> None:
    """What pydantic says by itself; the reader words its own problems."""
    for table_name, key in (("serial", "rate"), ("network", "hidden"), ("kit", "nam")):
        with pytest.raises(ValueError, match=key) as failure:
            Fleet.model_validate({table_name: {key: AWKWARD.text}})
        assert leaks(str(failure.value), AWKWARD.text) == set()


def test_a_table_holds_the_canary_before_it_is_read() -> None:
    """The tests above would be idle if the kits did not hold it."""
    assert leaks(table(("id", "password"), AWKWARD), AWKWARD.text)
