"""What a job still needs before its set may go, on the side of money, and how that money stood."""

from billing.models import Invoice, PaperKind
from billing.queries.accounts import account_of, deposits_left_minor, with_account
from billing.queries.bills import bill_lines
from billing.queries.ledger import kept_minor
from jobs.models import Job
from shop.models import Profile
from shop.money import show


def money_missing(job: Job) -> list[str]:
    """What stands between a job and its hand-over. Money that the customer chose to leave with the shop holds no set."""
    profile = Profile.current()
    missing = []
    if profile is not None and bill_lines(job, profile):
        missing.append("an invoice for the work done")
    for invoice in with_account(job.invoices.filter(kind=PaperKind.INVOICE)):  # type: ignore[attr-defined]
        due = account_of(invoice).due_minor
        if due > 0:
            missing.append(f"payment of invoice {invoice.number}, or the owner's waiver")
        elif due < 0 and kept_minor(invoice) < -due:
            missing.append(f"the refund that invoice {invoice.number} still owes the customer")
    if deposits_left_minor(job) > 0 and not missing:
        missing.append("the deposit set off on an invoice or given back")
    return missing


def money_words(job: Job) -> str:
    """How the money stood, for the hand-over's record: `R-2026-0001: 64.00 paid, 20.00 waived by the owner`."""
    invoices = with_account(job.invoices.filter(kind=PaperKind.INVOICE))  # type: ignore[attr-defined]
    return "; ".join(_words_of(one) for one in invoices) or "nothing was billed"


def _words_of(invoice: Invoice) -> str:
    account = account_of(invoice)
    sums = (
        (account.credited_minor, "credited"),
        (account.prepaid_minor, "set off from the deposit"),
        (account.paid_minor, "paid"),
        (account.moved_in_minor, "moved here from another invoice"),
        (account.from_sale_minor, "out of the sale of the set"),
        (account.refunded_minor, "paid back"),
        (account.moved_out_minor, "moved to another invoice"),
        (account.waived_minor, "waived by the owner"),
        (account.lost_minor, "written off as lost"),
        (max(0, -account.due_minor), "left with the shop by the customer"),
    )
    told = [f"{show(minor, invoice.currency)} {what}" for minor, what in sums if minor]
    return f"{invoice.number}: {', '.join(told) or 'nothing charged'}"
