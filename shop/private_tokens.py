"""Tokens that private addresses are made of: 256 random bits each, of which only a digest is kept."""

import hashlib
import re
import secrets

TOKEN_BYTES = 32
# 32 bytes in base64url without padding (RFC 4648, 5).
_TOKEN = re.compile(r"[A-Za-z0-9_-]{43}", re.ASCII)


def new_token() -> str:
    return secrets.token_urlsafe(TOKEN_BYTES)


def is_token(text: str) -> bool:
    """Whether it can be a token at all; what can't costs no look into the database."""
    return _TOKEN.fullmatch(text) is not None


def digest_of(token: str) -> str:
    """SHA-256, in hexadecimal: a random token of full length needs no slow hash."""
    return hashlib.sha256(token.encode(errors="replace")).hexdigest()
