"""The audit as JSON: its form, its keys in their order, and that it agrees with the others."""

import csv
import io
import json
import re
from collections import Counter
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator, FormatChecker

from auditor.audit import audit
from auditor.checks import CHECKS
from auditor.examples import fleet_of
from auditor.findings import AuditResult
from auditor.reports.as_json import as_json, json_text
from auditor.reports.findings_csv import findings_csv
from auditor.reports.text import text
from tests.reports.results import ACCEPTED, IN_POOL, WRONG_NAME, module, result, spring_term

SCHEMA = Path(__file__).parents[2] / "docs" / "report.schema.json"
DAY = datetime(2026, 2, 1, tzinfo=UTC)


def validator() -> Draft202012Validator:
    """Return what tells whether a report has the form that the schema describes."""
    schema = json.loads(SCHEMA.read_text(encoding="utf-8"))
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema, format_checker=FormatChecker())


def as_data(audited: AuditResult) -> dict[str, Any]:
    """Return the report as whoever reads the JSON gets it."""
    data: dict[str, Any] = json.loads("".join(as_json(audited)))
    return data


def test_the_keys_stand_in_the_agreed_order() -> None:
    data = as_data(spring_term())
    assert list(data) == ["format", "kit", "summary", "kit_findings", "modules", "not_checked"]
    assert list(data["kit"]) == ["name", "file", "checked_at", "modules", "network_inferred"]
    assert list(data["summary"]) == ["ready", "at-risk", "blocked", "unknown", "by_check"]
    keys = ["id", "verdict", "stops_at", "expected_indicator", "stages", "findings"]
    assert all(list(each) == keys for each in data["modules"])
    finding = data["modules"][3]["findings"][0]
    assert list(finding) == [
        "check",
        "stage",
        "shows_at",
        "severity",
        "message",
        "figures",
        "remedy",
        "where",
        "source",
        "waived",
    ]
    assert list(data["kit_findings"][0]) == [*finding, "concerns"]
    assert list(finding["where"][0]) == ["file", "line", "column"]
    assert list(data["modules"][0]["stages"])[:3] == ["record", "power", "discovery"]


def test_what_a_report_holds() -> None:
    data = as_data(spring_term())
    assert data["kit"]["checked_at"] == "2026-02-01T00:00:00+00:00"
    assert data["summary"]["by_check"] == {
        "address-odd": 1,
        "network-name-differs": 2,
        "pool-runs-out": 1,
        "prefix-mismatch": 8,
        "static-address-in-pool": 2,
        "waiver-unused": 1,
    }
    assert data["kit_findings"][0]["concerns"] == ["TG-01", "TG-02", "TG-03"]
    assert data["modules"][3]["findings"][0]["where"] == [
        {"file": "kit.csv", "line": 5, "column": "SSID"}
    ]
    assert data["not_checked"][1] == {
        "stage": "serial",
        "reason": "no serial settings",
        "modules": ["TG-05", "TG-06", "TG-07"],
    }


def test_a_waiver_is_told_and_not_counted() -> None:
    data = as_data(result(module("TG-01", replace(WRONG_NAME, waived=ACCEPTED))))
    assert data["modules"][0]["findings"][0]["waived"] == {
        "reason": "the old hut has no better receiver",
        "until": "2026-06-30",
    }
    assert data["summary"]["by_check"] == {}


def test_a_report_has_the_form_of_the_schema() -> None:
    assert list(validator().iter_errors(as_data(spring_term()))) == []


@pytest.mark.parametrize("id", CHECKS)
def test_what_every_check_says_has_the_form_of_the_schema(id: str) -> None:
    data = as_data(audit(fleet_of(CHECKS[id].example), DAY))
    assert [error.message for error in validator().iter_errors(data)] == []


@pytest.mark.parametrize(
    ("spot", "wrong"),
    [
        (("format",), 2),
        (("kit", "checked_at"), "yesterday"),
        (("kit", "extra"), 1),
        (("summary", "ready"), -1),
        (("modules", 3, "stops_at"), "roof"),
        (("modules", 3, "findings", 0, "severity"), "awful"),
        (("modules", 3, "findings", 0, "concerns"), []),
        (("kit_findings", 0, "note"), ""),
        (("not_checked", 0, "modules"), None),
    ],
)
def test_the_schema_refuses_another_form(spot: tuple[str | int, ...], wrong: object) -> None:
    data = as_data(spring_term())
    table: Any = data
    for part in spot[:-1]:
        table = table[part]
    table[spot[-1]] = wrong
    assert list(validator().iter_errors(data))


@given(st.text())
def test_a_text_of_any_characters_stays_itself_and_is_printable(written: str) -> None:
    encoded = json_text([written])
    assert json.loads(encoded) == [written]
    assert encoded.replace("\n", "").isascii()
    assert encoded.replace("\n", "").isprintable()


def test_the_same_audit_gives_the_same_bytes() -> None:
    assert [*as_json(spring_term())] == [*as_json(spring_term())]


def csv_rows(audited: AuditResult) -> list[dict[str, str]]:
    """Return the findings as a spreadsheet reads them."""
    return list(csv.DictReader(io.StringIO(findings_csv(audited))))


def counts_in_text(report: str) -> Counter[str]:
    """Return how many modules, or the kit, have a finding of each check, as the text says it."""
    counts: Counter[str] = Counter()
    for whom, check in re.findall(r"^(\S.*?)  ([a-z-]+): (?:fault|risk|advice) at", report, re.M):
        several = re.search(r" \((\d+)\)$", whom)
        counts[check] += int(several[1]) if several else 1
    return counts


@pytest.mark.parametrize(
    "audited",
    [
        spring_term(),
        result(module("TG-01")),
        result(module("TG-01", IN_POOL, replace(WRONG_NAME, waived=ACCEPTED))),
    ],
)
def test_text_json_and_csv_agree_on_every_count(audited: AuditResult) -> None:
    summary = as_data(audited)["summary"]
    rows = [row for row in csv_rows(audited) if not row["waived"]]
    assert Counter(row["check"] for row in rows) == summary["by_check"]
    report = text(audited)
    assert counts_in_text(report) == summary["by_check"]
    verdicts = dict(re.findall(r"(\d+) (ready|at risk|blocked)", report.splitlines()[1]))
    said = {words.replace(" ", "-"): int(number) for number, words in verdicts.items()}
    assert said == {verdict: summary[verdict] for verdict in said}
    assert sum(said.values()) == len(audited.modules)
    verdict_of = {row["module"]: row["verdict"] for row in csv_rows(audited)}
    assert all(
        verdict_of[each.id] == each.verdict for each in audited.modules if each.id in verdict_of
    )


@pytest.mark.parametrize("audited", [spring_term(), result(module("TG-01"), module("TG-02"))])
def test_the_pieces_are_one_text_that_is_set_in_evenly(audited: AuditResult) -> None:
    whole = "".join(as_json(audited))
    assert whole == json.dumps(json.loads(whole), indent=2) + "\n"
