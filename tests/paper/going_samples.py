"""Papers of sets that go unrepaired or were sold, for the same invented shop as `samples`."""

from billing.documents.sale import BuyersPaper, SaleAccount
from jobs.documents.facts import Counted
from jobs.documents.put_back import BackStep, ClosingPaper, FoundLine, PutBackList
from tests.paper.samples import CAUTIONS, DAY, HEAD, OWNER, RADIO, gbp


def put_back_list(steps: int = 3) -> PutBackList:
    """The last change first; one is ticked by the log, one old part doesn't go back."""
    taken = tuple(
        BackStep(
            "take_out",
            f"C{i + 1}",
            "0.01 µF 630 V film",
            2 if i == 1 else 1,
            goes_to="A / 1, lot 12",
            cost=gbp("0.20"),
            before="Found: 0.01 µF 400 V paper",
            advice="It was leaky at the line: not safe. Leave it out, disable the set, and tell the owner" if i == 0 else "",
            unsafe=i == 0,
            done="out, and back in its drawer" if i == 1 else "",
        )
        for i in range(steps)
    )
    more = (BackStep("wiring", "", "the tone switch is bridged"), BackStep("put_back", "R9", "220 kΩ", before="Called for: 220K"))
    return PutBackList(
        HEAD,
        "J-2031-0007",
        OWNER,
        RADIO,
        DAY,
        (*taken, *more),
        came_with=(Counted("knob", 4), Counted("service sheet")),
        held=(Counted("47 µF 450 V in B / 2"),),
        back_in_stock=gbp("0.40"),
        cautions=CAUTIONS,
    )


def closing_paper(found: int = 3) -> ClosingPaper:
    return ClosingPaper(
        HEAD,
        "J-2031-0007",
        OWNER,
        RADIO,
        "It hums, and then it goes quiet.",
        DAY,
        DAY,
        found=tuple(
            FoundLine(f"C{i + 1}", "Coupling capacitor", "0.05 µF paper", "leaks 0.3 mA at 250 V", "leaky") for i in range(found)
        ),
        wiring=("the tone switch is bridged",),
        fees=(("Work until then, with tax", gbp("20.00")), ("Fee for the declined estimate, agreed to at intake", gbp("15.00"))),
        fee_rule="Only what was agreed to is due.",
        kept_out=("Not put back at C1: 0.01 µF paper. It was leaky at the line: not safe.",),
        not_back=("the new line cord at the set",),
        came_with=(Counted("knob", 4),),
        ready_on=DAY,
        terms="Sets not collected within 60 days of our notice are stored at your cost.",
    )


def sale_account() -> SaleAccount:
    return SaleAccount(
        HEAD,
        OWNER,
        "J-2031-0007",
        "Merrowby Kestrel 5, serial 4711",
        DAY,
        DAY,
        "Public auction: shown for a week, three bids",
        gbp("300.00"),
        gbp("25.00"),
        "the auctioneer's share",
        gbp("203.00"),
        gbp("72.00"),
        gbp("0.00"),
        gbp("20.00"),
        gbp("52.00"),
        notice_on=DAY,
        citation="Torts (Interference with Goods) Act 1977, sections 12 and 13, schedule 1",
        surplus_words="The shop is liable to account to the customer for the price, less costs and what was due.",
        surplus_citation="Torts (Interference with Goods) Act 1977, section 12(5)",
        goes_on=DAY,
        goes_to="the commissioner of finance of the city",
    )


def buyers_paper(how_disabled: str = "line cord cut off and kept") -> BuyersPaper:
    proven = "" if how_disabled else "It passed the electrical safety check of 3 February 2031, made by Enid Corley."
    law = "Torts (Interference with Goods) Act 1977, sections 12 and 13, schedule 1"
    return BuyersPaper(
        HEAD, OWNER, "J-2031-0007", "Merrowby Kestrel 5, serial 4711", DAY, gbp("300.00"), law, proven, how_disabled
    )
