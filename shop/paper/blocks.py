"""The blocks that papers are made of: head, lettered sections, notices, cautions, sums, places to sign."""

from collections.abc import Iterable, Iterator, Sequence
from string import ascii_uppercase

from reportlab.lib.colors import black
from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, HRFlowable, KeepTogether, Paragraph, Spacer, Table

from shop.paper.codes import qr
from shop.paper.frame import BINDING, LEFT, Heading, room_on
from shop.paper.keeping import Kept
from shop.paper.letterhead import Letterhead, Party
from shop.paper.lines import OneLine, Words
from shop.paper.ruled import Ruled
from shop.paper.styles import BODY, BOLD, fitted, style
from shop.paper.tables import beside, laid_out, pieces, say
from shop.paper.text import LONGEST_ADDRESS, address_markup, break_words, clean, inked, markup, plain

ADDRESS_LINES = 7
LONGEST_TALE = 5000
NO_PADDING = [(f"{side}PADDING", (0, 0), (-1, -1), 0) for side in ("LEFT", "RIGHT", "TOP", "BOTTOM")]


def space(height_mm: float) -> Spacer:
    return Spacer(1, height_mm * mm)


def _contact(party: Letterhead | Party) -> list[str]:
    first, rest = party.address_lines[: ADDRESS_LINES - 1], party.address_lines[ADDRESS_LINES - 1 :]
    lines = [plain(line, 160) for line in (*first, ", ".join(rest))]
    return [line for line in [*lines, plain(party.phone, 60), plain(party.email, LONGEST_ADDRESS)] if line]


def _lines(lines: Iterable[str], size: float, align: str = "left") -> list[Words]:
    """None grows by what stands in for signs: a block of all of them is kept whole, so it must fit on a page."""
    return [Words(inked(line, 180, stretch=1), style(size, align=align), LONGEST_ADDRESS) for line in lines]


class Ticket(Flowable):
    """The number people quote, in a frame with cut corners, as on a tie-on tag."""

    def __init__(self, reference: str, room: float) -> None:
        super().__init__()
        self.words, self.size = fitted(plain(reference, 60), room - 10 * mm, 13, 7, bold=True)
        self.width, self.height = room, 10 * mm

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        canvas, w, h, cut = self.canv, self.width, self.height, 2.5 * mm
        path = canvas.beginPath()
        path.moveTo(cut, 0)
        for x, y in ((w, 0), (w, h), (cut, h), (0, h - cut), (0, cut)):
            path.lineTo(x, y)
        path.close()
        canvas.setLineWidth(1.2)
        canvas.drawPath(path)
        canvas.circle(3.2 * mm, h / 2, 1 * mm)
        canvas.setFont(BOLD, self.size)
        canvas.drawCentredString((w + 5 * mm) / 2, (h - self.size * 0.72) / 2, self.words)


def paper_head(letterhead: Letterhead, heading: Heading) -> list[Flowable]:
    """The top of the first page: who writes, what this is, its number."""
    room = room_on(letterhead.paper)
    shop = say(letterhead.shop_name, 15, bold=True, limit=120)
    names: list[Flowable] = [say(heading.title, 18, bold=True, limit=80)]
    if heading.subtitle:
        names.append(say(heading.subtitle, 9, limit=200))
    return [
        beside([shop], _lines(_contact(letterhead), 7.5, "right"), room, 0.58),
        space(2),
        HRFlowable(width="100%", thickness=2, color=black, spaceBefore=0, spaceAfter=1.2),
        HRFlowable(width="100%", thickness=0.5, color=black, spaceBefore=0, spaceAfter=4 * mm),
        beside(names, [Ticket(heading.reference, room * 0.36)], room, 0.64),
        space(4),
    ]


class SectionHead(Flowable):
    """A section's name, its letter on a black tab that hangs on the binding rule."""

    def __init__(self, letter: str, words: str) -> None:
        super().__init__()
        self.letter, self.words = letter, words
        self.height = 6.2 * mm

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width = room
        return room, self.height

    def draw(self) -> None:
        canvas, side, x = self.canv, 5 * mm, BINDING - LEFT - 5 * mm
        canvas.setFillGray(0)
        canvas.rect(x, 0.6 * mm, side, side, stroke=0, fill=1)
        canvas.setFillGray(1)
        canvas.setFont(BOLD, 9.5)
        canvas.drawCentredString(x + side / 2, 1.9 * mm, self.letter)
        canvas.setFillGray(0)
        canvas.setFont(BOLD, 10.5)
        canvas.drawString(0, 1.8 * mm, self.words)


class Sections:
    """Gives each section the next letter, so that people can say `look at C` on the telephone."""

    def __init__(self) -> None:
        self._letters: Iterator[str] = iter(ascii_uppercase)

    def __call__(self, words: str, body: Sequence[Flowable], keep: bool = False) -> list[Flowable]:
        """Head and body; a head is never left alone at the foot of a page. `keep` holds a short body together."""
        head = [SectionHead(next(self._letters), words), space(0.8)]
        if keep:
            return [KeepTogether([*head, *body]), space(3.5)]
        if body and isinstance(body[0], Ruled | Table):
            return [Kept(head, body[0]), *body[1:], space(3.5)]
        return [CondPageBreak(32 * mm), *head, *body, space(3.5)]


def party_block(label: str, party: Party) -> list[Flowable]:
    tax = [f"Tax number {plain(party.tax_id, 60)}"] if party.tax_id else []
    name = say(party.name, 10, bold=True, limit=160)
    return [OneLine(label, 7.5), name, *_lines([*_contact(party), *tax], 8.5)]


def own_words(text: str) -> list[Flowable]:
    """What the customer said, as said: set in with quotation marks; long words and long tales go over pages."""
    said = break_words(clean(text, LONGEST_TALE)) or "—"
    return [Words(inked(f"“{said}”"), style(9.5, indent=4 * mm))]


def notice(words: str, room: float, label: str = "") -> Table:
    """Words in a thin frame that goes over pages where they are many."""
    head = [[say(label, 8.5, bold=True)]] if label else []
    body = [*head, *([say(piece, 8)] for piece in pieces(words))]
    commands = [("BOX", (0, 0), (-1, -1), 0.6, black), ("LEFTPADDING", (0, 0), (-1, -1), 2.5 * mm)]
    commands += [("BOTTOMPADDING", (0, 0), (-1, -1), 0), ("BOTTOMPADDING", (0, -1), (-1, -1), 2 * mm)]
    commands += [("NOSPLIT", (0, 0), (-1, 1))] if len(body) > 1 else []
    return laid_out(body or [[""]], [room], commands)


def notices(rows: Iterable[tuple[str, str]], room: float) -> list[Flowable]:
    """Several notices in one frame, the label of each beside it; empty ones are left out."""
    body, ends = [], []
    for label, words in rows:
        body += [[say(label if not at else "", 8, bold=True), say(piece, 8)] for at, piece in enumerate(pieces(words))]
        ends += [len(body) - 1] if words else []
    commands: list[tuple[object, ...]] = [("BOX", (0, 0), (-1, -1), 0.6, black), ("VALIGN", (0, 0), (-1, -1), "TOP")]
    commands += [("LEFTPADDING", (0, 0), (0, -1), 2.5 * mm), ("BOTTOMPADDING", (0, 0), (-1, -1), 0)]
    commands += [("LINEBELOW", (0, end), (-1, end), 0.25, black) for end in ends[:-1]]
    commands += [("BOTTOMPADDING", (0, end), (-1, end), 1.6 * mm) for end in ends]
    return [laid_out(body, [36 * mm, room - 36 * mm], commands)] if body else []


def cautions(words: Sequence[str], room: float) -> Table:
    """One warning a row behind a triangle, in a heavy frame."""
    sign = style(13, bold=True, align="centre")
    rows = [[Paragraph("⚠", sign), say(text, 8.5, bold=i == 0, limit=500)] for i, text in enumerate(words)]
    commands = [
        ("BOX", (0, 0), (-1, -1), 1.6, black),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LINEBELOW", (0, 0), (-1, -2), 0.25, black),
    ]
    return laid_out(rows, [10 * mm, room - 10 * mm], commands)


def points(words: Iterable[str], size: float = 8.5, bullet: str = "–") -> list[Flowable]:
    setting = style(size, after=2, indent=4 * mm)
    return [Paragraph(markup(text, 1200), setting, bulletText=bullet) for text in words]


class SignHere(Flowable):
    """Lines to sign on, side by side, each with what belongs there."""

    def __init__(self, labels: Sequence[str]) -> None:
        super().__init__()
        self.labels = [plain(label, 90) for label in labels]
        self.height = 17 * mm

    def wrap(self, room: float, height: float) -> tuple[float, float]:
        self.width = room
        return room, self.height

    def draw(self) -> None:
        gap, count = 8 * mm, len(self.labels)
        each = (self.width - gap * (count - 1)) / count
        self.canv.setLineWidth(0.6)
        for i, label in enumerate(self.labels):
            x = i * (each + gap)
            self.canv.line(x, 5 * mm, x + each, 5 * mm)
            words, size = fitted(label, each, 7.5, 5)
            self.canv.setFont(BODY, size)
            self.canv.drawString(x, 1.6 * mm, words)


def link_with_code(url: str, words: str, room: float, size_mm: float = 28) -> Table:
    """A web address twice: as a code for the telephone, as text for everything else."""
    told: list[Flowable] = [say(words, 9, after=3), Paragraph(address_markup(url), style(8))]
    commands = [*NO_PADDING, ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    widths = [(size_mm + 3) * mm, room - (size_mm + 3) * mm]
    return laid_out([[qr(url, size_mm), told]], widths, commands)
