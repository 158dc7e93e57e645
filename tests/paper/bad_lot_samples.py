"""The letters about a bad lot as every printer test draws them."""

from datetime import date

from inventory.documents.supplier_claim import SupplierClaimLetter
from jobs.documents.bad_lot_letter import BadLotLetterPaper, BadPlace
from tests.paper.samples import HEAD, OWNER, gbp

PART = "0.0047 µF 250 V Y2 film"
RISK = "It leads from the line to the chassis. If it shorts or leaks, metal that can be touched may be live."


def bad_lot_letter() -> BadLotLetterPaper:
    """Two places, the first of them still covered."""
    return BadLotLetterPaper(
        HEAD,
        OWNER,
        "J-2031-0107",
        "Merrowby Kestrel 5, serial number 4711",
        date(2031, 3, 14),
        "leaks at half its rated voltage",
        "danger",
        tuple(BadPlace(f"C{at + 1}", PART, date(2031, 1, 9), RISK, date(2031, 4, 9), at % 2 == 0) for at in range(2)),
        "The metal of the set may be live.",
        "Please don't give it away.",
    )


def supplier_claim() -> SupplierClaimLetter:
    return SupplierClaimLetter(
        HEAD,
        "lot 812",
        OWNER,
        PART,
        30,
        "leak at half their rated voltage",
        gbp("13.50"),
        date(2031, 3, 14),
        date(2031, 1, 5),
        "7K3",
        "Q-118",
        "O-2031-0007",
        date(2032, 1, 5),
    )
