"""Not checked never looks like nothing found: rules that are missing, die or hang are told, whatever they were asked."""

import sys
from pathlib import Path

import pytest

from billing.einvoice import checking, rules
from billing.einvoice.checking import Checker, Finding
from billing.einvoice.rules import RulesMissing
from billing.einvoice_of.rows import ALSO_BEFORE_A_NUMBER, countries, vat_id_of

DIES = "import sys; sys.stdin.readline()"
HANGS = "import time; time.sleep(60)"


def worker(code: str) -> tuple[str, ...]:
    return (sys.executable, "-c", code)


def test_a_process_that_dies_is_started_again_and_then_given_up() -> None:
    with Checker(worker(DIES)) as checker:
        with pytest.raises(RulesMissing, match="gave no answer, twice"):
            checker.check(b"<a/>", "cii")
        assert checker.starts == 2


def test_a_process_that_hangs_is_given_up() -> None:
    with Checker(worker(HANGS), patience_seconds=0.2) as checker, pytest.raises(RulesMissing, match="Nothing was checked"):
        checker.check(b"<a/>", "cii")


def test_a_process_that_died_after_an_answer_is_replaced_without_a_word() -> None:
    with Checker(worker("import sys; sys.stdin.readline(); print('{\"findings\": []}', flush=True)")) as checker:
        assert checker.check(b"<a/>", "cii") == ()
        assert checker.check(b"<a/>", "cii") == ()
        assert checker.starts == 2


def test_one_process_serves_many_files() -> None:
    with Checker() as checker:
        first = checker.check(b"<a/>", "cii")
        assert first == checker.check(b"<a/>", "cii")
        assert [one.rule for one in first] == ["schema"]
        assert [one.rule for one in checker.check(b"<a", "ubl invoice")] == ["xml"]
        assert checker.starts == 1


def test_a_missing_rule_file_raises_before_anything_is_asked(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(rules, "folder", lambda: tmp_path)
    with pytest.raises(RulesMissing, match="rule file .* so nothing was checked"):
        checking.check_once([(b"<a/>", "cii")])


def test_a_fault_in_the_worker_is_no_answer() -> None:
    code = 'import sys; sys.stdin.readline(); print(\'{"fault": "no engine"}\', flush=True)'
    with Checker(worker(code)) as checker, pytest.raises(RulesMissing, match="no engine"):
        checker.check(b"<a/>", "cii")


def test_a_warning_is_not_fatal() -> None:
    assert not Finding("BR-1", "warning", "").is_fatal
    assert Finding("BR-1", "fatal", "").is_fatal


def test_the_countries_are_those_of_the_official_rules() -> None:
    """Source: the code list in rule BR-CO-09 of EN16931-UBL-validation v1.3.16. `1A` and `XI` are its additions."""
    text = rules.rule_file(rules.UBL_SCHEMATRON).read_text(encoding="utf-8")
    start = text.index("' 1A AD AE")
    official = set(text[start + 1 : text.index("'", start + 1)].split())
    assert countries() == official - {"1A", "EL", "XI"}
    assert official >= ALSO_BEFORE_A_NUMBER


@pytest.mark.parametrize(
    ("typed", "number"),
    [
        ("DE 123 456 789", "DE123456789"),
        ("gb123-4567.89", "GB123456789"),
        ("EL123456789", "EL123456789"),
        ("XI123456789", "XI123456789"),
        ("123456789", ""),
        ("VAT 123", ""),
        ("none", ""),
        ("ZZ123456789", ""),
        ("DE" + "1" * 30, ""),
        ("", ""),
    ],
)
def test_a_vat_number_has_its_countrys_letters_in_front(typed: str, number: str) -> None:
    assert vat_id_of(typed) == number
