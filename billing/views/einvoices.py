"""The electronic form of an issued paper: what stands in its way, its files, and what the official rules say of them."""

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.http import content_disposition_header

from billing.einvoice import cii, ubl
from billing.einvoice.checking import Finding, check_once
from billing.einvoice.embed import with_data
from billing.einvoice.rules import RulesMissing, Syntax
from billing.einvoice.sums import off_by
from billing.einvoice.terms import EInvoice, NotTold
from billing.einvoice_of import einvoice_of
from billing.models import Invoice
from billing.views.paper_pages import draw_paper, load
from shop.access import EVERYBODY, role_required
from shop.web.pages import refuse
from shop.web.pdf import pdf

LANG = "en-GB"


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rules say of one file."""

    name: str
    findings: tuple[Finding, ...]


def _told(paper: Invoice) -> tuple[EInvoice | None, tuple[str, ...]]:
    try:
        return einvoice_of(paper), ()
    except NotTold as refused:
        return None, refused.reasons


def _ubl_syntax(told: EInvoice) -> Syntax:
    return "ubl credit note" if told.is_credit else "ubl invoice"


def _judge(told: EInvoice) -> list[Judged]:
    ubl_findings, cii_findings = check_once([(ubl.write(told), _ubl_syntax(told)), (cii.write(told), "cii")])
    return [Judged("UBL 2.1", ubl_findings), Judged("Cross Industry Invoice (Factur-X)", cii_findings)]


@role_required(*EVERYBODY)
def einvoice(request: HttpRequest, pk: int) -> HttpResponse:
    """`?check=rules` runs the official rules; looking changes nothing either way."""
    paper = load(pk)
    told, reasons = _told(paper)
    context = {"invoice": paper, "job": paper.job, "told": told, "reasons": reasons, "off": off_by(told) if told else []}
    if told is None or request.GET.get("check") != "rules":
        return render(request, "billing/einvoice.html", context)
    try:
        judged = _judge(told)
    except RulesMissing as missing:
        return render(request, "billing/einvoice.html", {**context, "unchecked": str(missing)}, status=503)
    return render(request, "billing/einvoice.html", {**context, "judged": judged})


def _refused(request: HttpRequest, paper: Invoice, refused: NotTold) -> HttpResponse:
    said = f"{paper.number} can't be told as an electronic invoice. {refused}"
    return refuse(request, said, back=reverse("billing:einvoice", args=[paper.pk]))


def _xml(content: bytes, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type="application/xml")
    answer["Content-Disposition"] = content_disposition_header(True, name) or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer


@role_required(*EVERYBODY)
def einvoice_ubl(request: HttpRequest, pk: int) -> HttpResponse:
    paper = load(pk)
    try:
        return _xml(ubl.write(einvoice_of(paper)), f"{paper.number}-ubl.xml")
    except NotTold as refused:
        return _refused(request, paper, refused)


@role_required(*EVERYBODY)
def einvoice_cii(request: HttpRequest, pk: int) -> HttpResponse:
    paper = load(pk)
    try:
        return _xml(cii.write(einvoice_of(paper)), f"{paper.number}-cii.xml")
    except NotTold as refused:
        return _refused(request, paper, refused)


@role_required(*EVERYBODY)
def einvoice_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    """The paper as it was issued, with its data inside."""
    paper = load(pk)
    try:
        told = einvoice_of(paper)
    except NotTold as refused:
        return _refused(request, paper, refused)
    title = f"{'Credit note' if told.is_credit else 'Invoice'} {told.number}"
    subject = f"{title} of {told.issued_on.isoformat()}"
    whole = with_data(draw_paper(paper), cii.write(told), title=title, author=told.seller.name, subject=subject, lang=LANG)
    return pdf(whole, f"{paper.number}-with-data.pdf", back=reverse("billing:einvoice", args=[pk]))
