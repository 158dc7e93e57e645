"""What a copy must say beside the data: GDPR article 15(1)(a) to (h) and (2), answered for this program.

The items were read at https://gdprhub.eu/index.php?title=Article_15_GDPR. What a shop does beside this program, it adds itself.
"""

from dataclasses import dataclass

from shop.models import Profile
from shop.place import rules_of


@dataclass(frozen=True, slots=True)
class Answer:
    """`item` is the letter of article 15(1), or `2` for its second paragraph."""

    item: str
    asked: str
    said: str


def answers(profile: Profile | None) -> tuple[Answer, ...]:
    rule = rules_of(profile).retention
    years = f"{rule.years} {'year' if rule.years == 1 else 'years'}"
    return (
        Answer(
            "a",
            "What it is used for",
            "To repair your set as agreed with you, to bill the work, to stand by the warranty, and to keep the books that the "
            "law wants (article 6(1)(b) and (c)); photos beyond the proof of the work only as far as you agreed (6(1)(a)).",
        ),
        Answer(
            "b",
            "What kinds of data",
            "Name and ways to reach you; your sets; what you told of the fault; the log of the work; estimates and your answers; "
            "papers and payments; notices; photos of the set; warranty and claims; your requests about data.",
        ),
        Answer(
            "c",
            "Who else gets it",
            "Nobody by this program. The shop's tax adviser and tax authority see papers and payments where the law wants it; "
            "anybody else the shop names to you.",
        ),
        Answer(
            "d",
            "How long it is kept",
            f"Papers {years} after the end of the year of the newest ({rule.source.citation}; {rule.source.note}); a paper made "
            "under the rules of another place as long as that place wants, where that is longer. What a running job, a warranty "
            "or open money needs, until these end. The rest until you ask that it is erased.",
        ),
        Answer(
            "e",
            "What you may ask for",
            "That wrong data is put right, that data is erased or its use restricted; and you may object to its use. What you "
            "agreed to about photos you may withdraw at any time, as easily as it was given.",
        ),
        Answer(
            "f",
            "Where you may complain",
            "At the supervisory authority for data protection of the place where you live or we work.",
        ),
        Answer(
            "g",
            "Where it comes from",
            "From you, and from looking at and working on your set; your answers also by the private link that was sent to you. "
            "A card may have been taken over from an address file of the shop.",
        ),
        Answer(
            "h",
            "What a machine decides",
            "Nothing about you. The program reckons and proposes; people of the shop decide.",
        ),
        Answer("2", "Other countries", "The program runs on the shop's own computer and sends nothing to another country."),
    )
