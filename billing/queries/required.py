"""What the rules of the place want on an invoice, and what of it isn't there yet."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from billing.queries.bills import BillLine
from jobs.models import Job, JobAct, LabourEntry
from shop.jurisdictions import CHECK, Rules
from shop.models import Profile, TaxScheme
from shop.place import rules_of
from shop.prepared import Prepared
from shop.tax_terms import UNTAXED


@dataclass(frozen=True, slots=True)
class Unmet:
    """Something an invoice should show and can't. `refuses`: it isn't issued without; else it is only said."""

    code: str
    text: str
    refuses: bool


def _shop_lacks(terms: Profile, lines: Sequence[BillLine]) -> dict[str, str]:
    taxed = terms.tax_scheme == TaxScheme.VAT and any(line.tax_bp for line in lines)
    untaxed = terms.tax_scheme == TaxScheme.VAT and any(line.tax_category in UNTAXED for line in lines)
    lacks = (
        ("shop_registration", not terms.registration.strip(), "the shop's registration number"),
        ("shop_name_address", not terms.address.strip(), "the shop's address"),
        ("shop_tax_id", taxed and not terms.tax_id.strip(), "the shop's tax number"),
        ("exempt_reason", untaxed and not terms.tax_exempt_reason.strip(), "why no tax is charged"),
    )
    return {code: f"It lacks {what}: Owner, The shop and its terms." for code, is_missing, what in lacks if is_missing}


def _job_lacks(job: Job) -> dict[str, str]:
    lacks = (
        ("buyer_name_address", not job.customer.address.strip(), "the customer's address: correct the customer's card"),
        ("set", not job.radio.serial.strip(), "the set's serial number: correct the set, if it bears one"),
    )
    return {code: f"It lacks {what}." for code, is_missing, what in lacks if is_missing}


def unmet_by(job: Job, terms: Profile, lines: Sequence[BillLine]) -> list[Unmet]:
    """What the rules want on this job's invoice and nobody has written down. What is remembered only never refuses."""
    rules = rules_of(terms)
    lacking = {**_shop_lacks(terms, lines), **_job_lacks(job)}
    return [
        Unmet(code, f"{text} {_why(rules, code)}", code in rules.invoice_refuses)
        for code, text in lacking.items()
        if code in rules.invoice_codes
    ]


def _why(rules: Rules, code: str) -> str:
    block = next(block for block in sorted(rules.invoice, key=lambda one: code not in one.refuse) if code in block.codes)
    memory = "from memory; " if block.source.origin == "memory" else ""
    return f"{rules.name} wants it ({block.source.citation}; {memory}{CHECK})."


def must_say(terms: Profile) -> list[str]:
    """Sentences that the place prescribes word by word, to be frozen with the paper."""
    return list(rules_of(terms).invoice_says)


_FINISHED = Prepared(
    lambda job: JobAct.objects.filter(job=job, act="finish_repair", undone_by=None, undoes=None).order_by("-pk")[:1]
)


def work_done_on(job: Job, labour: Sequence[LabourEntry]) -> date | None:
    """The day the work was finished: when the repair was, else when the last of it was worked; None where nobody did any.

    `labour`: all of the job's that stands.
    """
    finished = _FINISHED.first(job.pk)
    if finished is not None:
        return timezone.localdate(finished.at)
    return max((entry.worked_on for entry in labour), default=None)
