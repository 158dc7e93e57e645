"""Secrets that must be read again are kept sealed: encrypted under a key drawn from the shop's own (HKDF, RFC 5869)."""

from base64 import urlsafe_b64encode

from django.conf import settings

USE = b"the shop's second factors, 1"


class Unreadable(Exception):
    """Sealed with a key that this shop hasn't got any more."""


def seal(text: str) -> str:
    return _box().encrypt(text.encode()).decode()


def open_sealed(sealed: str) -> str:
    from cryptography.fernet import InvalidToken

    try:
        return _box().decrypt(sealed.encode()).decode()
    except InvalidToken as error:
        raise Unreadable from error


def _box():  # type: ignore[no-untyped-def]
    """The shop's key first, then those it had before: what they sealed can still be opened."""
    from cryptography.fernet import Fernet, MultiFernet

    return MultiFernet([Fernet(_drawn_from(key)) for key in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


def _drawn_from(key: str) -> bytes:
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.kdf.hkdf import HKDF

    return urlsafe_b64encode(HKDF(SHA256(), length=32, salt=None, info=USE).derive(key.encode()))
