"""Text made comparable: SQLite folds case for ASCII only, so what is searched is folded before it is stored."""

import re
import unicodedata
from collections.abc import Iterable

from rapidfuzz.distance import OSA

# Letters that carry no separable mark, and so survive decomposition.
PLAIN = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ß": "ss", "æ": "ae", "œ": "oe", "þ": "th", "ı": "i"})
# How alike two words are for one to be a slip of the other: one letter in four may be wrong, left out, doubled or swapped.
ALIKE = 0.74
SHORTEST_SLIP = 4
LONGEST_PIECES = 14
_IN_A_NUMBER = re.compile(r"[a-z]{0,2}(?:-?\d*){0,2}-?", re.ASCII)


def fold(text: str) -> str:
    """Lower case, no accents, single spaces: `Łódź  Ünal` -> `lodz unal`. A NUL, which PostgreSQL refuses, parts words."""
    if text.isascii():
        return " ".join(text.lower().replace("\0", " ").split())
    apart = unicodedata.normalize("NFKD", text.casefold().replace("\0", " "))
    bare = "".join(c for c in apart if not unicodedata.combining(c))
    return " ".join(bare.translate(PLAIN).split())


def compact(text: str) -> str:
    """Folded, letters and figures only: `A / 3` and `a3` meet."""
    return "".join(c for c in fold(text) if c.isalnum())


def may_be_numbered(word: str) -> bool:
    """Whether a folded word can stand in a number of ours, such as `j-2026-0041`: others needn't be looked for among them."""
    return _IN_A_NUMBER.fullmatch(word) is not None


def pieces(text: str) -> list[str]:
    """Pieces of a folded text of which a misspelt word keeps some: runs of three letters, of two where the word is short."""
    found: dict[str, None] = {}
    for word in text.split():
        size = 2 if len(word) < 6 else 3
        found |= dict.fromkeys(word[at : at + size] for at in range(len(word) - size + 1))
    return list(found)[:LONGEST_PIECES]


def closeness(words: Iterable[str], key: str) -> float:
    """How close a folded key comes to the words, 0 to 1: the worst word's likeness to the key's best; 0 below ALIKE."""
    parts = "".join(c if c.isalnum() else " " for c in key).split()
    worst = 1.0
    for word in words:
        if word in key:
            continue
        best = max((OSA.normalized_similarity(word, part, score_cutoff=ALIKE) for part in parts), default=0.0)
        if len(word) < SHORTEST_SLIP or not best:
            return 0.0
        worst = min(worst, best)
    return worst
