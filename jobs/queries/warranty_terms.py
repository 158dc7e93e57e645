"""The terms that a warranty given today would have: the shop's own, with the law of the place beside them."""

from jobs.cover.terms import LABOUR, CoverTerms, LawWords
from jobs.documents.warranty import VOID_RULES
from jobs.models import CoverKind
from shop.jurisdictions import STRICTEST
from shop.jurisdictions.rules import Guarantee
from shop.models import Profile
from shop.place import rules_of

# The column of the profile that says how long each kind of line is covered.
COLUMNS = {
    CoverKind.LABOUR: "labour_warranty_days",
    CoverKind.NEW_PART: "warranty_days",
    CoverKind.USED_PART: "used_part_warranty_days",
    CoverKind.NEW_VALVE: "valve_warranty_days",
    CoverKind.USED_VALVE: "used_valve_warranty_days",
}
OWN_COLUMN = "own_part_warranty_days"
BESIDE = "Your rights by law are not shortened by this record"
NO_PLACE = "Whatever the law of your place gives you for faulty work stands beside this record."


def terms_of(profile: Profile) -> CoverTerms:
    days = {str(kind): getattr(profile, column) for kind, column in COLUMNS.items()}
    days[str(CoverKind.OWN_PART)] = getattr(profile, OWN_COLUMN)
    return CoverTerms(
        days=days,
        start_event=profile.warranty_starts,
        transfers=profile.warranty_transfers,
        void_rules=void_rules(profile),
        law=law_of(profile),
    )


def void_rules(profile: Profile) -> tuple[str, ...]:
    """The shop's own, one a line; the usual ones where it wrote none."""
    own = tuple(line.strip() for line in profile.warranty_void.splitlines() if line.strip())
    return own or VOID_RULES


def law_of(profile: Profile) -> LawWords:
    rules = rules_of(profile)
    if rules.code == STRICTEST:
        return LawWords(text=NO_PLACE, note=f"{BESIDE}.")
    source = rules.guarantee.source
    return LawWords(rules.name, source.text, source.citation, source.origin, f"{_beside(profile)}; {source.note}.")


def law_in_words(profile: Profile) -> str:
    """What the owner is told beside the terms: the law of the place, and where the shop's own time is shorter."""
    rules = rules_of(profile)
    source = rules.guarantee.source
    shorter = shorter_than_law(profile)
    told = f" Your own time is shorter for {listed(shorter)}: the customer's rights by law stand beside it." if shorter else ""
    return f"{rules.name}: {source.text} ({source.citation}; {source.note}.){told} What you promise never shortens them."


def _beside(profile: Profile) -> str:
    shorter = shorter_than_law(profile)
    return f"Our own time is shorter for {listed(shorter)}. {BESIDE}" if shorter else BESIDE


def shorter_than_law(profile: Profile) -> list[str]:
    """The kinds of line, in words, that the shop's own terms cover for fewer days than the law names.

    What the customer brought isn't among them: the law's days are those of what the shop did and supplied.
    """
    law = rules_of(profile).guarantee
    return [kind.label.lower() for kind, column in COLUMNS.items() if getattr(profile, column) < _least(law, kind)]


def _least(law: Guarantee, kind: str) -> int:
    return (law.days if kind == LABOUR else law.days_of_parts) or 0


def listed(words: list[str]) -> str:
    return " and ".join(part for part in (", ".join(words[:-1]), words[-1]) if part)
