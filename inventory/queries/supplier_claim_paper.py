"""A claim on a supplier as its letter says it."""

from inventory.documents.supplier_claim import SupplierClaimLetter
from inventory.models import SupplierClaim
from inventory.queries.supplier_claims import SENT_BACK, standing_of
from shop.letterhead_of import address_lines, letterhead
from shop.models import Profile
from shop.money import as_money
from shop.paper import Party


def letter_of(claim: SupplierClaim, profile: Profile) -> SupplierClaimLetter:
    supplier, lot, standing = claim.supplier, claim.lot, standing_of(claim)
    return SupplierClaimLetter(
        letterhead(profile),
        f"lot {lot.pk}",
        Party(supplier.name, address_lines(supplier.address), supplier.phone, supplier.email),
        lot.part.title,
        claim.count,
        claim.reason,
        as_money(standing.cost_minor, profile.currency),
        standing.steps[0].on,
        lot.received_on,
        lot.date_code,
        supplier.our_number,
        lot.order_line.order.number if lot.order_line else "",
        claim.until_on,
        any(step.kind == SENT_BACK for step in standing.steps),
    )
