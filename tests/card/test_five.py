"""The five questions that started it, each put to a file of two or three modules."""

from datetime import datetime
from pathlib import Path

import pytest

from auditor.audit import audit
from auditor.reading.fleet import read_fleet

HERE = Path(__file__).parent


@pytest.mark.parametrize(
    ("file", "check", "modules"),
    [
        ("rate-mismatch", "serial-rate-differs", {"TG-02"}),
        ("duplicate-address", "duplicate-static-address", {"TG-01", "TG-03"}),
        ("address-in-pool", "static-address-in-pool", {"TG-02"}),
        ("weak-security", "weak-security", {"the kit", "TG-02"}),
        ("broadcast-or-unicast", "intent-differs", {"TG-02"}),
    ],
)
def test_the_check_fires_there_and_nothing_else_does(
    file: str, check: str, modules: set[str]
) -> None:
    result = audit(read_fleet(str(HERE / f"{file}.toml"), environment={}), datetime(2026, 3, 1))
    found = {("the kit", finding.check) for finding in result.kit_findings}
    found |= {(each.id, finding.check) for each in result.modules for finding in each.findings}
    assert found == {(module, check) for module in modules}
