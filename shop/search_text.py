"""Text made comparable: SQLite folds case for ASCII only, so what is searched is folded before it is stored."""

import unicodedata

# Letters that carry no separable mark, and so survive decomposition.
PLAIN = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ß": "ss", "æ": "ae", "œ": "oe", "þ": "th", "ı": "i"})


def fold(text: str) -> str:
    """Lower case, no accents, single spaces: `Łódź  Ünal` -> `lodz unal`. A NUL, which PostgreSQL refuses, parts words."""
    if text.isascii():
        return " ".join(text.lower().replace("\0", " ").split())
    apart = unicodedata.normalize("NFKD", text.casefold().replace("\0", " "))
    bare = "".join(c for c in apart if not unicodedata.combining(c))
    return " ".join(bare.translate(PLAIN).split())
