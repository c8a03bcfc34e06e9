"""What a person would stumble over: each of these was stumbled over once."""

import json
from pathlib import Path

from tests.cli.running import CLEAN, run
from tests.policy import THRESHOLDS


def test_a_report_of_one_check_says_that_it_is_one_of_many(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(CLEAN)
    report = run("check", "kit.toml", "--only", "airtime-high", folder=tmp_path).stdout
    assert "Only airtime-high counts here: a module may fail at something else." in report


def test_a_policy_that_names_no_check_is_not_taken(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(CLEAN)
    (tmp_path / "ours.toml").write_text(POLICY.replace("SETTING", 'hidden-netwrk = "off"'))
    done = run("check", "kit.toml", "--policy", "./ours.toml", folder=tmp_path)
    assert (done.returncode, done.stdout) == (2, "")
    assert '"hidden-netwrk" is not a check; did you mean hidden-network?' in done.stderr


def test_a_severity_that_there_is_not_is_named_once(tmp_path: Path) -> None:
    (tmp_path / "kit.toml").write_text(CLEAN)
    (tmp_path / "ours.toml").write_text(POLICY.replace("SETTING", 'hidden-network = "grave"'))
    done = run("check", "kit.toml", "--policy", "./ours.toml", folder=tmp_path)
    assert done.returncode == 2
    assert done.stderr.count("is not one of fault, risk, advice, off") == 1
    assert len(done.stderr.splitlines()) == 1


def test_a_column_that_asks_for_dhcp_is_understood(tmp_path: Path) -> None:
    (tmp_path / "kit.csv").write_text("id,DHCP,IP\nTG-01,yes,\nTG-02,no,\n")
    done = run("check", "kit.csv", "--format", "json", folder=tmp_path)
    first, second = json.loads(done.stdout)["modules"]
    assert [finding["check"] for finding in first["findings"]] == []
    assert [finding["check"] for finding in second["findings"]] == ["static-without-address"]


def test_the_best_divisor_is_the_one_that_a_receiver_takes_best(tmp_path: Path) -> None:
    asked = ("uart", "--clock", "25MHz", "--rate", "250000", "--format", "json")
    answer = json.loads(run(*asked, folder=tmp_path).stdout)
    assert [row["verdict"] for row in answer["rows"]] == ["marginal", "unusable"]
    assert answer["best"] == answer["rows"][0]


def test_a_module_whose_key_is_not_known_is_not_said_to_join(tmp_path: Path) -> None:
    text = CLEAN.replace('"open"', '"wpa2-personal"').replace(
        "[network]", 'profile = "generic-24ghz-wpa2"\n[network]', 1
    )
    (tmp_path / "kit.toml").write_text(text)
    answer = json.loads(run("check", "kit.toml", "--format", "json", folder=tmp_path).stdout)
    assert {module["stages"]["keys"] for module in answer["modules"]} == {"unknown"}
    assert {module["expected_indicator"] for module in answer["modules"]} == {None}


POLICY = 'title = "Ours"\n' + THRESHOLDS + "[severities]\nSETTING\n"
