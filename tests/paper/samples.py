"""An invented shop, its customer and one set, as every paper shows them. Nobody and nothing here exists but the valve types."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

from moneyed import Money

from billing.documents.credit_note import CreditNotePaper
from billing.documents.invoice import InvoicePaper
from billing.documents.lines import BillLine, FreeLine, PaymentLine, TaxLine
from billing.documents.statement import StatementLine, StatementPaper
from billing.documents.year_end import YearEndLine, YearEndPaper, YearEndPart
from inventory.documents.labels import DrawerContent, DrawerLabel, DrawerLabels
from inventory.documents.lot_label import LotLabel
from inventory.documents.order import OrderPaper, OrderPaperLine
from jobs.documents.claim_check import ClaimCheck, Permission
from jobs.documents.collection import CollectionLetter
from jobs.documents.estimate_data import (
    AlternativeOnPaper,
    ChangeOnPaper,
    EstimateLine,
    EstimatePaper,
    FindingOnPaper,
    RevisionOnPaper,
    TaxRange,
)
from jobs.documents.facts import (
    Counted,
    LinePosition,
    LookFacts,
    ReadingToTake,
    ReleaseFacts,
    SafetyFacts,
    SafetyReadingLine,
    SetFacts,
)
from jobs.documents.model_history import ModelHistoryPaper
from jobs.documents.safety_sheet import SafetySheet
from jobs.documents.summary import (
    ComponentRow,
    Finding,
    JobSummary,
    LeftAlone,
    NotCharged,
    OverrideNote,
    SoakFacts,
    WorkDone,
)
from jobs.documents.tag import Tag
from jobs.documents.warranty import GivenTerms, PassedOn, WarrantyLinePaper, WarrantyPaper
from shop.paper import Letterhead, Party
from shop.paper.pictures import PhotoOnPaper

NOON = datetime(2031, 3, 4, 12, 5, tzinfo=UTC)
DAY = date(2031, 3, 4)
URL = "https://workshop.example/jobs/J-2031-0042/"
AGREE_URL = "https://workshop.example/e/7hQ2mZk0vYw9rT5xLc3bNfGd8sPaJ1uE6oViRqXtHyM/"


def gbp(amount: str) -> Money:
    return Money(Decimal(amount), "GBP")


HEAD = Letterhead(
    "Lantern Lane Wireless Works",
    ("7 Lantern Lane", "Harrowby Quay", "HQ4 7LW"),
    "+44 1632 960 042",
    "bench@lanternlane.example",
    "HQ 0042-7781",
    "GB 999 0042 77",
)
OWNER = Party(
    "Żaneta Kowalczyk-Ólafsdóttir",
    ("Flat 3, The Old Net Loft", "Μαρίνα Street 12", "Harrowby Quay HQ1 2AB"),
    "+44 1632 960 977",
    "zaneta.kowalczyk-olafsdottir@example.org",
)
RADIO = SetFacts("Merrow", "Nightjar 53", "NJ-118204", 1953, "Transformerless (AC/DC)", "UCH42, UAF42, UBC41, UL41, UY41")
FAULT = (
    "It hums loudly from the moment it's warm, and the Third fades after ten minutes. My grandfather always tapped the left side."
)

SAFETY = SafetyFacts(
    practice="Hot check with the standard network, 0.75 V rms",
    readings=(
        SafetyReadingLine(
            "Chassis screw to earth", "0.21", "V rms", "at most 0.75 V rms", True, "normal", "on", "1.5 kΩ ∥ 0.15 µF network"
        ),
        SafetyReadingLine("Chassis screw to earth", "0.34", "V rms", "at most 0.75 V rms", True, "reversed", "on"),
        SafetyReadingLine("Volume spindle to earth", "0.02", "V rms", "at most 0.75 V rms", True, "normal", "off"),
        SafetyReadingLine("Insulation, line to exposed metal", "38", "MΩ", "at least 4 MΩ", True, source="500 V d.c., 1 minute"),
    ),
    passed=True,
    made_at=NOON,
    made_by="Tomos Ferrier",
    instrument="Bench meter no. 3, calibrated 11 January 2031",
)
CAUTIONS = (
    "This set has no mains transformer: its chassis can be live at line voltage whichever way round the plug is.",
    "Use it only with its back and all knobs in place, and never with an aerial or earth lead of your own fitted to the chassis.",
)


def claim_check(things: int = 0) -> ClaimCheck:
    return ClaimCheck(
        HEAD,
        "J-2031-0042",
        NOON,
        "Ines Tolland",
        OWNER,
        RADIO,
        FAULT,
        "Sympathetic restoration",
        URL,
        cabinet="Walnut veneer lifting at the left foot, 2 cm; dial glass whole; back cracked at one screw.",
        came_with=(
            Counted("knobs", 4),
            Counted("back, fibre board"),
            Counted("screws of the back", 5),
            Counted("valves", 5),
            *(Counted(f"thing {i + 1}") for i in range(things)),
        ),
        permissions=(
            Permission("drill the chassis or cabinet", False),
            Permission("rewire what is perished", True),
            Permission("fit a polarised plug", True),
            Permission("add a fuse", True),
        ),
        old_parts_back=True,
        deposit=gbp("40.00"),
        inspection_fee=gbp("35.00"),
        promised_on=date(2031, 4, 11),
    )


def tag() -> Tag:
    return Tag(
        "Lantern Lane Wireless Works",
        "J-2031-0042",
        "Kowalczyk-Ólafsdóttir",
        "Merrow Nightjar 53, NJ-118204",
        URL,
        DAY,
        date(2031, 4, 11),
        "shelf B 3",
        transformerless=True,
    )


def estimate(lines: int = 4) -> EstimatePaper:
    parts = tuple(
        EstimateLine("part", f"0.0{i % 9 + 1} µF 630 V film", gbp("1.85"), gbp("1.85"), f"C{i + 1}", 1, 0, gbp("1.85"))
        for i in range(lines)
    )
    return EstimatePaper(
        HEAD,
        "J-2031-0042",
        2,
        NOON,
        "Tomos Ferrier",
        OWNER,
        RADIO,
        FAULT,
        "Sympathetic restoration",
        (
            *parts,
            EstimateLine(
                "part", "50 + 50 µF 350 V electrolytic, in the old can", gbp("18.40"), gbp("27.10"), "C31/C32", 1, 0, gbp("18.40")
            ),
            EstimateLine("labour", "Repair: capacitors, resistors, line cord", gbp("152.00"), gbp("209.00"), minutes=240),
            EstimateLine("flat", "Alignment, long and medium wave", gbp("48.00"), gbp("48.00")),
            EstimateLine("fee", "Inspection", gbp("35.00"), gbp("35.00")),
        ),
        gbp("260.80"),
        gbp("326.50"),
        (TaxRange("VAT 20 %", gbp("52.16"), gbp("65.30")),),
        gbp("312.96"),
        gbp("391.80"),
        Decimal("10.00"),
        gbp("430.98"),
        AGREE_URL,
        stands_until_on=date(2031, 4, 3),
        deposit=gbp("40.00"),
        note="R14 had drifted to 68 kΩ where 47 kΩ is called for; this version adds it.",
        terms="Sets not collected within 60 days of our notice are stored at your cost.",
        replaces_version=1,
    )


def _alternative(number: int, name: str, text: str, low: str, high: str) -> AlternativeOnPaper:
    return AlternativeOnPaper(number, name, text, gbp(low), gbp(high), gbp("50.00"), gbp("60.00"), gbp(high))


def estimate_with_a_choice() -> EstimatePaper:
    """Three nested ways, findings whose pictures are lost, and what changes against the version agreed to."""
    plain = estimate()
    return replace(
        plain,
        lines=tuple(replace(line, mark="2 3" if line.kind == "flat" else "1 2 3") for line in plain.lines),
        alternatives=(
            _alternative(1, "Repair only", "It plays again; what still works stays in.", "240.00", "300.00"),
            _alternative(2, "Recommended", "The repair, and the parts that are known to fail next.", "312.96", "391.80"),
            _alternative(3, "Full restoration", "", "512.96", "691.80"),
        ),
        because="The smoothing can is bulged.",
        findings=(
            FindingOnPaper("C31: measured: 12 µF, drifted", tuple(PhotoOnPaper(b"", f"side {n}") for n in range(4))),
            FindingOnPaper("the tone switch is bridged", (PhotoOnPaper(b"", "lost"),)),
        ),
        revision=RevisionOnPaper(
            agreed="version 1, “Recommended”",
            compared="Recommended",
            old=gbp("312.00"),
            new=(("Repair only", gbp("300.00")), ("Recommended", gbp("391.80"))),
            changes=(
                ChangeOnPaper("C31", "50 + 50 µF 350 V electrolytic", None, gbp("27.10")),
                ChangeOnPaper("", "Carriage", gbp("12.00"), None),
            ),
        ),
    )


def summary(rows: int = 5) -> JobSummary:
    components = tuple(
        ComponentRow(
            f"C{i + 1}",
            "coupling",
            "0.01 µF 400 V",
            "wax paper 0.01 µF",
            "0.4 MΩ leak",
            "leaky",
            "replace",
            "0.01 µF 630 V film",
            gbp("1.85"),
        )
        for i in range(rows)
    )
    return JobSummary(
        HEAD,
        "J-2031-0042",
        OWNER,
        RADIO,
        FAULT,
        "Sympathetic restoration",
        DAY,
        date(2031, 4, 9),
        (
            "The hum came from the two electrolytic capacitors that smooth the supply: both were worn out.",
            "The fading came from V1: its emission fell off as it warmed. All waxed-paper capacitors were leaky.",
        ),
        (
            *components,
            ComponentRow(
                "C40", "line to chassis", "0.05 µF", "0.1 µF 250 V", "", "wrong part", "replace", "47 nF Y2", gbp("2.60")
            ),
            ComponentRow(
                "R14", "anode load", "47 kΩ ±10 %", "47 kΩ", "68 kΩ", "drifted", "replace", "47 kΩ 1 W metal oxide", gbp("0.90")
            ),
            ComponentRow("R15", "cathode", "150 Ω", "150 Ω", "156 Ω", "within tolerance", "leave in"),
            ComponentRow(
                "V1", "frequency changer", "UCH42", "UCH42", "", "not measured", "replace", "UCH42, used, tested", gbp("0.00")
            ),
        ),
        gbp("12.75"),
        work=(
            WorkDone("Repair", "all waxed-paper capacitors, line cord, one resistor"),
            WorkDone("Alignment", "long and medium wave"),
        ),
        wiring=(Finding("The screen grid was fed from the wrong side of the smoothing resistor; put back as drawn.", "V4"),),
        left_alone=(
            LeftAlone("Silver-mica capacitors in the coil cans", "they measure well; opening the cans risks the windings"),
        ),
        safety=SAFETY,
        soaks=(SoakFacts(NOON, 390, True, "No drift of the hum."),),
        cautions=CAUTIONS,
        overrides=(
            OverrideNote(
                "C41",
                "0.1 µF 275 V X2 of an earlier lot",
                "no smaller one fits under the tag strip",
                "Tomos Ferrier",
                "Ines Tolland",
                NOON,
            ),
        ),
        not_charged=(NotCharged("UCH42, used", "from our own stores, to make up for the delay", "V1"),),
        old_parts_returned=(Counted("waxed-paper capacitors", 5), Counted("valve UCH42", 1)),
        invoice_number="R-2031-0017",
        signed_by="Tomos Ferrier",
    )


def warranty(lines: int = 3) -> WarrantyPaper:
    return WarrantyPaper(
        HEAD,
        "J-2031-0042",
        OWNER,
        RADIO,
        date(2031, 4, 11),
        (
            *(WarrantyLinePaper("0.01 µF 630 V film, fitted", date(2031, 7, 10), f"C{i + 1}") for i in range(lines)),
            WarrantyLinePaper("UCH42, used, tested", date(2031, 5, 11), "V1", "valves: 30 days"),
            WarrantyLinePaper("Labour: repair, alignment", date(2031, 7, 10)),
            WarrantyLinePaper("47 nF Y2", None, "C40", "supplied by the owner"),
        ),
        URL,
        ("Faults that were not complained of and not worked on.",),
        terms="This record adds to the rights that the law gives you and takes none away.",
        invoice_number="R-2031-0017",
        signed_by="Tomos Ferrier",
        given=GivenTerms(
            (("Work", 90), ("New part", 90), ("Used valve", 30), ("Customer's own part", 0)),
            "the day the set is ready to collect",
            True,
            "Harrowby Quay",
            "Work that was done badly is done again.",
            "Harrowby Quay Repair Ordinance, article 4",
            "Your rights by law are not shortened by this record; check the current text.",
        ),
        handed_on=(PassedOn(date(2031, 5, 2), "Żaneta Kowalczyk-Ólafsdóttir", "Øyvind Brekke", True),),
        held="Øyvind Brekke holds it now.",
    )


LINE_POSITIONS = (
    LinePosition(
        "C40", "Capacitor from the line to the chassis", "0.05 µF", "Y1 or Y2", "47 nF 300 V Y2", "Y2", "right class", "yes"
    ),
    LinePosition("C41", "Capacitor across the line", "0.1 µF", "X1, X2, Y1 or Y2", "0.1 µF 400 V film", "", "override", "warn"),
    LinePosition(
        "C42", "Capacitor from the aerial socket", "", "Y1, or two Y2 in series", "nothing yet", "", "still to fit", "no"
    ),
    LinePosition("C43", "Capacitor across the line", "0.1 µF", "X1, X2, Y1 or Y2", "", "", "not decided on", "open"),
)


def safety_sheet(positions: int = 0) -> SafetySheet:
    more = tuple(replace(LINE_POSITIONS[0], position=f"C{i + 100}") for i in range(positions))
    return SafetySheet(
        HEAD,
        "J-2031-0042",
        OWNER.name,
        RADIO,
        SAFETY,
        CAUTIONS,
        practice="Leakage check: 0.75 V across 1.5 kΩ ∥ 0.15 µF",
        line_positions=(*LINE_POSITIONS, *more),
        overrides=summary().overrides,
        look=LookFacts(NOON, "Ines Tolland", ("C12: stays in and was not measured", "V4: wired otherwise than drawn"), "by lamp"),
        soaks=summary().soaks,
        soak_wanted="5 h",
        release=ReleaseFacts(False, NOON, "Tomos Ferrier", "Żaneta Kowalczyk-Ólafsdóttir"),
    )


def model_history(places: int = 4) -> ModelHistoryPaper:
    role, called = "Coupling capacitor", "0.01 µF 400 V"
    told = ("3 of 4", ".01 µF paper (3×)\n.022 µF film", "leaky (2×)\ndrifted", "+12.5 %")
    return ModelHistoryPaper(
        HEAD,
        "Merrowby Kestrel 5",
        DAY,
        4,
        jobs=(("J-2031-0007", "3 Feb 2031", "K5 36902", "It hums, and then it goes quiet after ten minutes.", "Handed over"),),
        places=tuple((f"C{i + 1}", role, called, *told) for i in range(places)),
        points=(("V1", "plate", "3", "92", "98", "104"),),
        hours=(("Inspection", "4", "0:30 h", "0:45 h", "1:15 h"), ("All steps", "4", "3:00 h", "4:30 h", "7:15 h")),
        came_back=(("J-2031-0031", "C8", "the new film reads open when warm", "a part that we fitted failed"),),
        traps="C8 goes to B plus, not to the chassis as drawn.",
        cautions=CAUTIONS,
    )


def unknown_model() -> ModelHistoryPaper:
    """No set of it was here: sets like it are told apart."""
    rows = (("Line to chassis", "6", "6", "100 %"), ("Coupling capacitor", "14", "9", "64 %"))
    how = "by Merrowby, with the same supply (Transformerless (AC/DC)), first made 1947 to 1957"
    return ModelHistoryPaper(HEAD, "Merrowby Kestrel 9", DAY, 0, likes_how=how, likes_models="Merrowby Kestrel 5", likes=rows)


def blank_safety_sheet() -> SafetySheet:
    """Nothing is looked at, tested, soaked or given out yet."""
    readings = tuple(
        ReadingToTake(
            "Voltage from each exposed metal part to earth across 1.5 kΩ 10 W in parallel with 0.15 µF",
            "V",
            "at most 0.75 V",
            polarity,
            switch,
            "No isolating transformer. Write down the largest reading of all metal parts.",
            "Source: a service manual.",
        )
        for polarity in ("normal", "reversed")
        for switch in ("on", "off")
    )
    empty = replace(safety_sheet(), safety=None, holds=False, to_take=readings, line_positions=(), overrides=(), look=None)
    return replace(empty, open_points=("C12: not looked at", "set: to fit (blocks)"), soaks=(), release=None)


def unsafe_safety_sheet() -> SafetySheet:
    """A failed check, a look that is void, and the set given back disabled."""
    gone = ReleaseFacts(True, NOON, "Tomos Ferrier", "Żaneta Kowalczyk-Ólafsdóttir", "Line cord cut off at the chassis")
    failed = replace(SAFETY, passed=False, isolating_transformer=True)
    data = safety_sheet()
    assert data.look is not None
    return replace(data, safety=failed, look=replace(data.look, holds=False), release=gone)


def collection_letter() -> CollectionLetter:
    return CollectionLetter(
        HEAD,
        OWNER,
        "J-2031-0042",
        "Merrow Nightjar 53, serial NJ-118204",
        date(2031, 4, 11),
        date(2031, 7, 1),
        "recorded delivery",
        gbp("209.32"),
        date(2031, 10, 1),
        "Rules of the place, section 12",
    )


VAT = Decimal("20.00")


def bill_lines(parts: int) -> tuple[BillLine, ...]:
    films = (
        BillLine("part", f"0.01 µF 630 V film ({i + 1})", gbp("1.85"), gbp("1.85"), gbp("1.85"), VAT, f"C{i + 1}", "new")
        for i in range(parts)
    )
    return (
        *films,
        BillLine("part", "UY41, tested", gbp("7.35"), gbp("14.70"), gbp("14.70"), VAT, "V5", "used", 2),
        BillLine(
            "labour", "Repair: capacitors, resistors, line cord", gbp("38.00"), gbp("171.00"), gbp("171.00"), VAT, minutes=270
        ),
        BillLine("flat", "Alignment, long and medium wave", gbp("48.00"), gbp("48.00"), gbp("48.00"), VAT),
    )


def invoice(parts: int = 4) -> InvoicePaper:
    parts_total = gbp("1.85") * parts + gbp("14.70")
    net = parts_total + gbp("219.00")
    tax = gbp(str((net.amount * Decimal("0.2")).quantize(Decimal("0.01"))))
    return InvoicePaper(
        HEAD,
        "R-2031-0017",
        date(2031, 4, 9),
        date(2031, 4, 23),
        replace(OWNER, tax_id="GB 123 4567 89"),
        "J-2031-0042",
        "Merrow Nightjar 53, serial NJ-118204",
        FAULT,
        bill_lines(parts),
        parts_total,
        gbp("171.00"),
        gbp("48.00"),
        net,
        (TaxLine("VAT 20 %", net, tax),),
        tax,
        net + tax,
        net + tax - gbp("40.00"),
        not_charged=(FreeLine("UCH42", "from our own stores, to make up for the delay", "V1", "used"),),
        payments=(PaymentLine("Deposit in cash", DAY, gbp("40.00")),),
        consent="Agreed by Żaneta Kowalczyk-Ólafsdóttir on the private page, 6 March 2031: estimate version 2, up to £430.98.",
        how_to_pay="At the counter in cash or by card, or by bank transfer naming the invoice number.",
        terms="Payable within 14 days. The set is handed over when it is paid.",
    )


def credit_note() -> CreditNotePaper:
    line = BillLine("part", "UY41, tested", gbp("7.35"), gbp("7.35"), gbp("7.35"), VAT, "V5", "used", 1)
    return CreditNotePaper(
        HEAD,
        "K-2031-0003",
        date(2031, 4, 12),
        "R-2031-0017",
        date(2031, 4, 9),
        "One UY41 was billed twice.",
        OWNER,
        "J-2031-0042",
        "Merrow Nightjar 53, serial NJ-118204",
        (line,),
        gbp("7.35"),
        (TaxLine("VAT 20 %", gbp("7.35"), gbp("1.47")),),
        gbp("1.47"),
        gbp("8.82"),
    )


def credit_note_of(parts: int) -> CreditNotePaper:
    return replace(credit_note(), lines=bill_lines(parts))


def statement(lines: int = 3) -> StatementPaper:
    return StatementPaper(
        HEAD,
        OWNER,
        date(2031, 5, 1),
        (
            *(
                StatementLine(DAY, f"Invoice R-2031-00{i:02}", gbp("289.32"), charged=gbp("289.32"), due_on=date(2031, 4, 23))
                for i in range(lines)
            ),
            StatementLine(date(2031, 4, 10), "Payment by bank transfer", gbp("249.32"), received=gbp("40.00")),
            StatementLine(date(2031, 4, 12), "Credit note K-2031-0003", gbp("240.50"), received=gbp("8.82")),
        ),
        gbp("240.50"),
        gbp("240.50"),
        "By bank transfer naming the invoice number.",
    )


def order(lines: int = 4) -> OrderPaper:
    needed = date(2031, 3, 20)
    listed = tuple(
        OrderPaperLine(
            f"TM-{4700 + i}", "film capacitor 0.047 µF 630 V", 100, 25, 22_500, gbp("22.50"), needed if i % 2 else None
        )
        for i in range(lines)
    )
    goods = gbp("22.50") * lines
    return OrderPaper(
        HEAD,
        "B-2031-0007",
        Party("Tinplate Mews Components", ("3 Tallow Lane", "Hexley"), "020 7946 0991", "orders@tinplate.example"),
        listed,
        goods,
        gbp("4.50"),
        goods + gbp("4.50"),
        DAY,
        date(2031, 3, 13),
        "K 20117",
        "Benno Tarnwick",
        "Please leave parcels at the back door. What is out of stock may follow.",
    )


def drawer_labels(count: int = 30) -> DrawerLabels:
    contents = (
        DrawerContent("0.047 µF 630 V", "Film"),
        DrawerContent("47 kΩ ±5 % 1 W", "Metal oxide"),
        DrawerContent("UCH42", "Valve"),
        DrawerContent("50 + 50 µF 350 V axial electrolytic", "Electrolytic"),
        DrawerContent("0.1 µF 275 V X2", "Film"),
        DrawerContent("6.3 V 0.3 A", "Lamp"),
    )
    labels = tuple(DrawerLabel(f"A / {i // 6 + 1} / {i % 6 + 1}", f"{URL}d{i}", contents[: i % 7]) for i in range(count))
    return DrawerLabels("Lantern Lane Wireless Works", labels)


def lot_label() -> LotLabel:
    return LotLabel(
        "Lantern Lane Wireless Works",
        "0.047 µF 630 V",
        "Film capacitor",
        "L-000318",
        URL,
        DAY,
        supplier="Quayside Components",
        date_code="3048",
        drawer_code="A / 3 / 5",
        count=50,
        return_until_on=date(2031, 4, 3),
    )


def year_end(jobs: int = 3) -> YearEndPaper:
    stock = (
        YearEndLine("Capacitor", "412 pieces, cost £91.10", gbp("84.20")),
        YearEndLine("Valve", "57 pieces", gbp("310.75")),
    )
    spent = "On the bench; parts £3.20, 2 h 30 min £60.00; agreed £240.00"
    wip = tuple(YearEndLine(f"J-2031-00{i:02}, Merrowby Kestrel 5", spent, gbp("63.20")) for i in range(jobs))
    reserve = YearEndLine("What open warranties may still cost", "between £12.00 and £96.00 in 80 of 100 cases", gbp("41.30"))
    there = (
        YearEndPart("Stock", "Lot by lot the lower of cost and what it would fetch.", stock, gbp("394.95"), "Nothing lay there."),
        YearEndPart("Work in progress", "Parts and hours at cost.", wip, gbp("63.20") * jobs, "No open job."),
    )
    return YearEndPaper(
        HEAD,
        date(2031, 12, 31),
        there,
        gbp("394.95") + gbp("63.20") * jobs,
        (
            YearEndPart("Deposits held", "Taken, and not set off yet.", (), gbp("0"), "Nothing was held."),
            YearEndPart("Reserve for warranties", "The expected value of many small duties.", (reserve,), gbp("41.30"), ""),
        ),
        gbp("41.30"),
        unknown=("Names of customers and sets are today's.",),
    )
