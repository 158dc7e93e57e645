"""One-time codes by the clock: RFC 6238 over RFC 4226, six figures, thirty seconds, SHA-1, as code programs take them."""

import secrets
from base64 import b32encode
from datetime import datetime

from django.utils.crypto import constant_time_compare

FIGURES, STEP_SECONDS = 6, 30
# A telephone's clock may be half a minute off either way.
STEPS_OFF = 1
SECRET_BYTES = 20


def new_secret() -> str:
    """160 bits, the length that RFC 4226 (section 4, R6) recommends, in base32."""
    return b32encode(secrets.token_bytes(SECRET_BYTES)).decode()


def step_at(at: datetime) -> int:
    return int(at.timestamp()) // STEP_SECONDS


def code_of(secret: str, step: int, figures: int = FIGURES) -> str:
    import pyotp

    return pyotp.HOTP(secret, digits=figures).at(step)


def step_of(code: str, secret: str, at: datetime, after: int) -> int | None:
    """The step whose code this is, later than step `after`; None where it is none. Every candidate is compared.

    An `after` that is still to come was used while the computer's clock was ahead; it shuts nobody out until it comes round.
    """
    typed = "".join(code.split())
    now = step_at(at)
    after = after if after <= now + STEPS_OFF else 0
    fitting = [
        step
        for step in range(now - STEPS_OFF, now + STEPS_OFF + 1)
        if constant_time_compare(code_of(secret, step), typed) and step > after
    ]
    return fitting[0] if fitting else None


def address_for(secret: str, person: str, shop: str) -> str:
    """What the picture says to a code program: the `otpauth` address that such programs agree on."""
    import pyotp

    return pyotp.TOTP(secret, digits=FIGURES, interval=STEP_SECONDS).provisioning_uri(
        name=person, issuer_name=shop.replace(":", " ")
    )


def in_groups(secret: str) -> str:
    """To be typed where no picture can be taken."""
    return " ".join(secret[start : start + 4] for start in range(0, len(secret), 4))
