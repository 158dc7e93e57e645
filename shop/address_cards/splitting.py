"""A file of address cards taken apart, one text a card, before anything is understood. Pictures, sounds and keys are left out."""

import re
from collections.abc import Iterator

MOST_BYTES = 20_000_000
MOST_CARDS = 500
# Of one card once its pictures are gone.
LONGEST_CARD = 60_000
_BEGIN, _END = re.compile(r"\s*BEGIN\s*:\s*VCARD\s*", re.I), re.compile(r"\s*END\s*:\s*VCARD\s*", re.I)
_HEAVY = re.compile(r"(?:[\w-]+\.)?(?:PHOTO|LOGO|SOUND|KEY|AGENT)\s*[;:]", re.I)


class CardsRefused(Exception):
    """The file as a whole can't be taken; says why."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


def as_text(content: bytes) -> str:
    """RFC 6350, 3.1: UTF-8 always. Old telephones write otherwise: a byte order mark tells, else Western European."""
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def card_texts(text: str) -> list[str]:
    """Each card from BEGIN to END. One whose end is missing ends where the next begins. Raises CardsRefused."""
    texts: list[str] = []
    for lines in _cards(text):
        if len(texts) == MOST_CARDS:
            raise CardsRefused(f"The file has more than {MOST_CARDS} cards. Send it in parts.")
        texts.append("\r\n".join(lines))
    if not texts:
        raise CardsRefused(
            "There is no address card in this. A card begins with BEGIN:VCARD; telephones and address books call the file .vcf."
        )
    return texts


def _cards(text: str) -> Iterator[list[str]]:
    lines: list[str] | None = None
    is_heavy = False
    for line in re.split(r"\r\n|\n|\r", text):
        if _BEGIN.fullmatch(line):
            if lines:
                yield [*lines, "END:VCARD"]
            lines, is_heavy = ["BEGIN:VCARD"], False
        elif lines is not None and _END.fullmatch(line):
            yield [*lines, "END:VCARD"]
            lines = None
        elif lines is not None:
            is_heavy = bool(_HEAVY.match(line)) or (is_heavy and (not line.strip() or line[0] in " \t"))
            lines += [] if is_heavy or not line else [line.replace("\0", "")]
    if lines:
        yield [*lines, "END:VCARD"]
