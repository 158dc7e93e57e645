"""The shop's tax as its profile says it: the category and rate that parts and labour are billed under, and what must be said."""

from decimal import Decimal

from shop.acts import Refused
from shop.models import Profile, TaxCategory, TaxScheme
from shop.totals import TaxedSum, TaxKey

UNTAXED = (TaxCategory.EXEMPT, TaxCategory.OUTSIDE)
SCHEME_WORDS = {TaxScheme.VAT: "VAT", TaxScheme.SALES: "Sales tax", TaxScheme.NONE: "Tax"}
CATEGORY_WORDS = {
    TaxCategory.ZERO: "Taxed at 0 %",
    TaxCategory.EXEMPT: "Exempt from tax",
    TaxCategory.OUTSIDE: "Outside the tax",
}


def tax_of(scheme: str, category: str, rate_bp: int) -> TaxKey:
    """Only the standard category bears a rate. One with a rate of nothing is taxed at nothing."""
    if scheme == TaxScheme.NONE:
        return TaxKey(TaxCategory.OUTSIDE.value, 0)
    if category == TaxCategory.STANDARD:
        return TaxKey((TaxCategory.STANDARD if rate_bp else TaxCategory.ZERO).value, rate_bp)
    return TaxKey(str(TaxCategory(category).value), 0)


def tax_words(tax: TaxedSum, scheme: str = "") -> str:
    """`VAT 20 %` where the kind of tax is known, else `Tax 20 %`; what bears none under the word of its category."""
    category = tax.tax.category
    if category in CATEGORY_WORDS:
        return CATEGORY_WORDS[TaxCategory(category)]
    kind = SCHEME_WORDS[TaxScheme(scheme)] if scheme else "Tax"
    return f"{kind} {(Decimal(tax.tax.rate_bp) / 100).normalize():f} %"


def parts_tax(profile: Profile) -> TaxKey:
    return tax_of(profile.tax_scheme, profile.parts_tax_category, profile.parts_tax_bp)


def labour_tax(profile: Profile) -> TaxKey:
    return tax_of(profile.tax_scheme, profile.labour_tax_category, profile.labour_tax_bp)


def needs_reason(profile: Profile) -> bool:
    """An exemption is named on the bill; so is what lies outside the value added tax."""
    used = {profile.parts_tax_category, profile.labour_tax_category}
    wanting = UNTAXED if profile.tax_scheme == TaxScheme.VAT else (TaxCategory.EXEMPT,)
    return profile.tax_scheme != TaxScheme.NONE and bool(used & set(wanting))


def exempt_reason(profile: Profile) -> str:
    """What a bill under today's terms says about not charging tax; empty where all of it is taxed."""
    untaxed = {parts_tax(profile).category, labour_tax(profile).category} & set(UNTAXED)
    return profile.tax_exempt_reason if untaxed else ""


def check_tax_terms(profile: Profile) -> None:
    """Refuse terms that no bill can be reckoned by."""
    for what in ("parts", "labour"):
        category, rate = getattr(profile, f"{what}_tax_category"), getattr(profile, f"{what}_tax_bp")
        if rate and profile.tax_scheme == TaxScheme.NONE:
            raise Refused(f"With no tax, the tax on {what} is 0. Set it to 0, or choose the kind of tax.", field=f"{what}_tax_bp")
        if rate and category != TaxCategory.STANDARD:
            label = TaxCategory(category).label.lower()
            raise Refused(
                f"For {what} you chose “{label}”, which bears no rate. Set their tax to 0, or choose “taxed at its rate”.",
                field=f"{what}_tax_bp",
            )
    if needs_reason(profile) and not profile.tax_exempt_reason.strip():
        raise Refused(
            "Say why no tax is charged, as your bills must say it, such as the paragraph of the small traders' exemption.",
            field="tax_exempt_reason",
        )
