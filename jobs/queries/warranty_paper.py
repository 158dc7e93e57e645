"""The reader that fills the warranty record: from what was frozen with the warranty, whatever the shop's terms are today."""

from jobs.cover.terms import CoverTerms
from jobs.documents.warranty import VOID_RULES, GivenTerms, PassedOn, WarrantyLinePaper, WarrantyPaper
from jobs.models import CoverKind, Warranty, WarrantyLine
from jobs.queries.holders import holder_of
from jobs.queries.papers_in import party_of, set_facts_of
from shop.models import Profile, WarrantyStart
from shop.paper import Letterhead


def warranty_paper(
    warranty: Warranty, head: Letterhead, *, job_url: str, signed_by: str = "", invoice_number: str = ""
) -> WarrantyPaper:
    job = warranty.job
    terms = Profile.current()
    lines = warranty.lines.select_related("entry__position")  # type: ignore[attr-defined]
    return WarrantyPaper(
        letterhead=head,
        job_number=job.number,
        customer=party_of(job.customer),
        radio=set_facts_of(job.radio),
        starts_on=warranty.starts_on,
        lines=tuple(
            WarrantyLinePaper(text, line.until_on if line.covered else None, place, line.note)
            for line in lines
            for place, text in (split_place(line),)
        ),
        job_url=job_url,
        void_rules=void_rules_of(warranty),
        terms=terms.terms if terms else "",
        invoice_number=invoice_number,
        signed_by=signed_by,
        given=given_terms(warranty),
        handed_on=passed_on(warranty),
        held=held_words(warranty),
    )


def split_place(line: WarrantyLine) -> tuple[str, str]:
    """Designator and text of a line; work has no designator. Older lines have it in their text."""
    if line.designator or line.kind:
        return line.designator, line.text
    place, sign, text = line.text.partition(": ")
    return (place, text) if sign and line.labour_id is None else ("", line.text)


def void_rules_of(warranty: Warranty) -> tuple[str, ...]:
    """The rules frozen with it; a warranty of before they were frozen has the usual ones."""
    return CoverTerms.from_json(warranty.terms).void_rules if warranty.terms else VOID_RULES


def given_terms(warranty: Warranty) -> GivenTerms | None:
    """The frozen terms in words; None for a warranty of before terms were frozen."""
    if not warranty.terms:
        return None
    terms = CoverTerms.from_json(warranty.terms)
    return GivenTerms(
        days=tuple((CoverKind(kind).label, days) for kind, days in terms.days.items()),
        starts_from=WarrantyStart(warranty.start_event).label,
        goes_along=warranty.transfers,
        place=terms.law.place,
        law=terms.law.text,
        citation=terms.law.citation,
        law_note=terms.law.note,
    )


def held_words(warranty: Warranty) -> str:
    """Who holds it, once the set has changed hands; empty before."""
    made = list(warranty.transfers_made.select_related("to_customer"))  # type: ignore[attr-defined]
    if not made:
        return ""
    holder = holder_of(warranty, made)
    return f"{holder} holds it now." if made[-1].to_customer_id == holder.pk else f"It was {holder}'s, and ended."


def passed_on(warranty: Warranty) -> tuple[PassedOn, ...]:
    made = warranty.transfers_made.select_related("from_customer", "to_customer")  # type: ignore[attr-defined]
    return tuple(PassedOn(one.moved_on, str(one.from_customer), str(one.to_customer), one.goes_along) for one in made)
