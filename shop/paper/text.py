"""The only door through which text that people typed reaches a page.

A paragraph of the PDF library understands markup, `<img src>` of local files included; a very long word costs it seconds;
control and direction characters spoil the page or the text that is copied from it. So every text is capped, cleaned, broken and
escaped here, once, and nowhere else.
"""

import re
import unicodedata
from xml.sax.saxutils import escape, quoteattr

from shop.paper.styles import readable

LONGEST_TEXT = 6000
MOST_LINES = 120
LONGEST_WORD = 30
LONGEST_ADDRESS = 80
STAND_INS, MOST_STAND_INS = 1.5, 400
DROPPED = frozenset({"Cc", "Cf", "Cs"})
SPACES = {0x202F: "\u00a0", 0x2028: "\n", 0x2029: "\n", 0x85: "\n", 0x0B: "\n", 0x0C: "\n"}


def clean(text: str, limit: int = LONGEST_TEXT, most_lines: int = MOST_LINES) -> str:
    """Composed, capped at `limit` characters (an ellipsis tells), with line breaks but no control or direction characters.

    Lines beyond `most_lines` are run together, so that no frame can be blown up with line breaks.
    """
    if len(text) <= limit and text.isprintable() and unicodedata.is_normalized("NFC", text):
        return text.strip()
    head = text[: limit + 1].replace("\r\n", "\n").replace("\r", "\n").replace("\t", " ").translate(SPACES)
    kept = "".join(c for c in unicodedata.normalize("NFC", head) if c == "\n" or unicodedata.category(c) not in DROPPED)
    lines = re.sub(r"\n{3,}", "\n\n", kept).strip().split("\n")
    kept = "\n".join([*lines[: most_lines - 1], " ".join(lines[most_lines - 1 :])]).rstrip()
    return kept[: limit - 1].rstrip() + "…" if len(text) > limit else kept


def inked(text: str, limit: int = LONGEST_TEXT, most_lines: int = MOST_LINES, stretch: float = STAND_INS) -> str:
    """As `clean`, with a stand-in for what the fonts lack; these make it `stretch` times as long, or by 400 signs, at most.

    The dearest blocks, an address of seven such lines beside the facts of a bill or the shop's name, then still fit on a
    Letter page.
    """
    whole = readable(clean(text, limit, most_lines))
    longest = min(int(stretch * limit), limit + MOST_STAND_INS)
    return whole[: longest - 1] + "…" if len(whole) > longest else whole


def break_words(text: str, longest: int = LONGEST_WORD) -> str:
    return re.sub(rf"(\S{{{longest}}})(?=\S)", r"\1 ", text) if len(text) > longest else text


def escaped(text: str) -> str:
    """Markup of a paragraph that says just this text and does nothing."""
    return escape(text).replace("\n", "<br/>")


def plain(text: str, limit: int = 300) -> str:
    """One clean line for what is drawn without markup: heads, labels, codes, the file's title."""
    return " ".join(clean(text, limit).split("\n")).strip()


def markup(text: str, limit: int = LONGEST_TEXT, longest_word: int = LONGEST_WORD, most_lines: int = MOST_LINES) -> str:
    """The text as paragraph markup that says exactly what was typed and does nothing."""
    return escaped(break_words(inked(text, limit, most_lines), longest_word))


def address_markup(address: str, limit: int = 400) -> str:
    """A web address that can be read, copied and, where it is http(s), clicked."""
    whole = plain(address, limit).replace(" ", "")
    shown = escape(break_words(readable(whole), LONGEST_ADDRESS))
    return f"<link href={quoteattr(whole)}>{shown}</link>" if whole.startswith(("https://", "http://")) else shown
