"""Our one-time codes against the published test values."""

from datetime import UTC, datetime

import pytest

from shop.sign_in import codes

# RFC 6238, appendix B, the rows for SHA-1: seconds since 1970, and the code of eight figures. The secret is the ASCII text
# "12345678901234567890", here in base32 (RFC 4648).
SECRET = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"
RFC_6238 = [
    (59, "94287082"),
    (1_111_111_109, "07081804"),
    (1_111_111_111, "14050471"),
    (1_234_567_890, "89005924"),
    (2_000_000_000, "69279037"),
    (20_000_000_000, "65353130"),
]
# RFC 4226, appendix D: the codes of six figures of the same secret for the counts 0 to 9.
RFC_4226 = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]


@pytest.mark.parametrize(("seconds", "code"), RFC_6238)
def test_codes_are_those_of_rfc_6238(seconds: int, code: str) -> None:
    at = datetime.fromtimestamp(seconds, UTC)
    assert codes.code_of(SECRET, codes.step_at(at), figures=8) == code
    assert codes.step_of(code[2:], SECRET, at, after=0) == codes.step_at(at)


@pytest.mark.parametrize(("step", "code"), list(enumerate(RFC_4226)))
def test_codes_are_those_of_rfc_4226(step: int, code: str) -> None:
    assert codes.code_of(SECRET, step) == code


def test_the_secret_is_as_long_as_rfc_4226_recommends() -> None:
    """Section 4, R6: at least 128 bits, 160 recommended."""
    assert len(codes.new_secret()) * 5 == 160
