"""What a person reads on a page: its words without the marks of the language it is written in."""

import re
from html import unescape
from typing import Any

UNREAD = re.compile(r"<(script|style)\b.*?</\1>|<span[^>]*aria-hidden[^>]*>[^<]*</span>", re.S)
WITHIN_A_LINE = re.compile(r"</?(?:a|b|kbd|q|span|time)\b[^>]*>")


def words_of(answer: Any) -> str:
    text = WITHIN_A_LINE.sub("", UNREAD.sub(" ", answer.content.decode()))
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", text)).split())
