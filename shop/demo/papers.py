"""The papers of a finished job as files, drawn by the same readers and documents as the pages."""

from dataclasses import dataclass
from pathlib import Path

from django.urls import reverse

from billing.documents import invoice as invoice_document
from billing.models import Invoice, PaperKind
from billing.papers import invoice_paper, keepsake_facts
from inventory.documents import labels
from inventory.models import Balance, Drawer
from jobs.documents import estimate as estimate_document
from jobs.documents import summary as summary_document
from jobs.documents import warranty as warranty_document
from jobs.models import Estimate, Job
from jobs.queries.papers_out import estimate_paper, summary_paper, warranty_paper
from jobs.queries.sheet import sheet_of
from shop.letterhead_of import letterhead
from shop.models import Profile
from shop.money import plain

LOCAL = "http://localhost:8000"
NAMES = {
    "estimate_pdf": "estimate.pdf",
    "invoice_pdf": "invoice.pdf",
    "job_summary_pdf": "job-summary.pdf",
    "warranty_pdf": "warranty.pdf",
    "label_pdf": "label.pdf",
}


class FolderRefused(Exception):
    """The folder for the papers can't be made or written to; the text says why and what to do."""


@dataclass(frozen=True, slots=True)
class MainPapers:
    """What the main job's papers are drawn from. `parts_minor` is the fold over the log."""

    job: Job
    estimate: Estimate
    invoice: Invoice
    parts_minor: int

    def facts(self) -> dict[str, str]:
        """Sums as decimal text in the shop's currency."""
        currency = self.invoice.currency
        return {
            "job": self.job.number,
            "estimate_total": plain(self.estimate.high_minor, currency),
            "invoice_number": self.invoice.number,
            "invoice_total": plain(self.invoice.gross_minor, currency),
            "parts_total": plain(self.parts_minor, currency),
        }


def main_papers(job: Job) -> MainPapers:
    estimate = job.estimates.filter(sent_at__isnull=False).order_by("-number")[0]  # type: ignore[attr-defined]
    invoice = job.invoices.filter(kind=PaperKind.INVOICE).order_by("-pk")[0]  # type: ignore[attr-defined]
    return MainPapers(job, estimate, invoice, sheet_of(job).parts_minor)


def open_folder(folder: Path) -> Path:
    """The folder, made where it wasn't, and proved to be writable."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / ".writable"
        probe.touch()
        probe.unlink()
    except OSError as error:
        reason = error.strerror or "no reason given"
        raise FolderRefused(f"{folder} can't be written to ({reason}). Choose another folder with --out.") from error
    return folder.resolve()


def write_papers(papers: MainPapers, folder: Path, address: str = LOCAL) -> dict[str, str]:
    """Write the five PDFs; gives their paths by the names of NAMES."""
    drawn = _draw(papers, address)
    paths = {}
    for name, content in drawn.items():
        path = folder / NAMES[name]
        try:
            path.write_bytes(content)
        except OSError as error:
            reason = error.strerror or "no reason given"
            raise FolderRefused(
                f"{path} can't be written ({reason}). Close it where it is open, or choose another folder."
            ) from error
        paths[name] = str(path)
    return paths


def _draw(papers: MainPapers, address: str) -> dict[str, bytes]:
    profile = Profile.current()
    assert profile is not None
    head, job = letterhead(profile), papers.job
    kept = keepsake_facts(job)
    summary = summary_paper(job, head, written_on=papers.invoice.issued_on, **kept)
    job_url = address + reverse("jobs:job", args=[job.pk])
    warranty = warranty_paper(job.warranty, head, job_url=job_url, **kept)  # type: ignore[attr-defined]
    return {
        "estimate_pdf": estimate_document.draw(estimate_paper(papers.estimate, head)),
        "invoice_pdf": invoice_document.draw(invoice_paper(papers.invoice, head)),
        "job_summary_pdf": summary_document.draw(summary),
        "warranty_pdf": warranty_document.draw(warranty),
        "label_pdf": labels.draw(_labels(job, profile, address)),
    }


def _labels(job: Job, profile: Profile, address: str) -> labels.DrawerLabels:
    """A label for each drawer that the job's parts came out of."""
    drawers = Drawer.objects.filter(movements__log_entry__job=job).distinct().order_by("cabinet", "pk")
    sheet = labels.LabelSheet(paper=profile.paper)
    return labels.DrawerLabels(profile.name, tuple(_label(drawer, address) for drawer in drawers), sheet)


def _label(drawer: Drawer, address: str) -> labels.DrawerLabel:
    stock = Balance.objects.filter(drawer=drawer, on_hand__gt=0).select_related("lot__part").order_by("lot__part__value_si", "pk")
    parts = {balance.lot.part.pk: balance.lot.part for balance in stock}
    contents = tuple(labels.DrawerContent(part.marking, part.get_kind_display()) for part in parts.values())
    return labels.DrawerLabel(drawer.code, address + reverse("inventory:drawer", args=[drawer.pk]), contents)
