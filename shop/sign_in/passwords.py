"""What a password must be: long enough, not too long to hash, and not made of words that anybody would try here.

No sign of any kind is asked for, and nothing runs out with time (OWASP ASVS 5.0, 6.2.5 and 6.2.10).
"""

import re
from typing import Any

from django.core.exceptions import ValidationError

from shop.models import Profile
from shop.search_text import fold

SHORTEST, ADVISED, LONGEST = 8, 15, 128
HINT = (
    f"At least {SHORTEST} characters; {ADVISED} or more are much safer, such as four words that nobody else would put together. "
    "Spaces and any signs will do, and pasting too."
)
# The trade's own words, as a stranger would try them at the door of a radio shop. Common sense, no source.
TRADE_WORDS = ("radio", "radios", "wireless", "workshop", "shop", "valve", "valves", "tube", "tubes", "repair", "repairs")
_WORD = re.compile(r"[^\W\d_]{4,}")


class NotTooLong:
    """Nobody remembers more, and hashing a book would keep the machine busy."""

    def validate(self, password: str, user: Any = None) -> None:
        if len(password) > LONGEST:
            raise ValidationError(
                f"This password is too long. It may have at most {LONGEST} characters.", code="password_too_long"
            )

    def get_help_text(self) -> str:
        return f"Your password may have at most {LONGEST} characters."


class NotOurWords:
    """The shop's name, the person's and the trade's words count for nothing: without them enough must be left."""

    def validate(self, password: str, user: Any = None) -> None:
        left = fold(password)
        for word in sorted(_words_of(user), key=len, reverse=True):
            left = left.replace(word, "")
        if len(left) < SHORTEST <= len(password) and left != fold(password):
            raise ValidationError(
                "Somebody who knows the shop would try these words: its name, your name, words of the trade. "
                f"They may be part of a password, with at least {SHORTEST} other characters.",
                code="password_of_our_words",
            )

    def get_help_text(self) -> str:
        return "Your password can't be made of the shop's name, your own or words of the trade alone."


def _words_of(person: Any) -> set[str]:
    profile = Profile.current()
    texts = [getattr(person, "username", ""), getattr(person, "shown_name", ""), profile.name if profile else ""]
    return {fold(word) for text in texts for word in _WORD.findall(text or "")} | set(TRADE_WORDS)
