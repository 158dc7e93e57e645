"""How passwords are hashed, against what is published."""

from base64 import urlsafe_b64decode
from typing import Any

from django.conf import settings
from django.utils.module_loading import import_string

from shop.sign_in import passwords

MIB = 1024


def test_argon2_works_as_hard_as_rfc_9106_recommends() -> None:
    """RFC 9106, section 4, second recommended option: Argon2id, t = 3, p = 4, m = 64 MiB, a salt of 128 bits, a tag of 256."""
    hasher: Any = import_string("shop.sign_in.hashing.ShopArgon2")()
    figures = hasher.params()
    assert (figures.type.name, figures.time_cost, figures.parallelism, figures.memory_cost) == ("ID", 3, 4, 64 * MIB)
    salt, tag = hasher.encode("warm-heater-1958", hasher.salt()).split("$")[-2:]
    assert len(urlsafe_b64decode(salt + "==")) >= 16
    assert len(urlsafe_b64decode(tag.replace("+", "-").replace("/", "_") + "==")) >= 32


def test_argon2_is_at_least_what_owasp_asks_for() -> None:
    """OWASP Password Storage Cheat Sheet, "Argon2id": 19 MiB with t = 2 and p = 1 at the least."""
    figures = import_string("shop.sign_in.hashing.ShopArgon2")().params()
    assert figures.memory_cost >= 19 * MIB
    assert figures.time_cost >= 2


def test_passwords_are_as_long_as_asvs_asks_for() -> None:
    """OWASP ASVS 5.0, 6.2.1 (8 at least, 15 advised) and 6.2.9 (64 at least allowed)."""
    assert (passwords.SHORTEST, passwords.ADVISED) == (8, 15)
    assert passwords.LONGEST >= 64
    shortest = [one["OPTIONS"]["min_length"] for one in settings.AUTH_PASSWORD_VALIDATORS if "OPTIONS" in one]
    assert shortest == [passwords.SHORTEST]
