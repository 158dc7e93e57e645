"""The second factor: set up with a first code, asked for at sign-in, replaced by a recovery code once, removed."""

import secrets
from datetime import datetime

from django.contrib.auth.hashers import check_password, make_password
from django.db import transaction

from shop.acts import Refused
from shop.models import AccessKind, RecoveryCode, SecondFactor, Staff
from shop.sign_in import codes
from shop.sign_in.events import AT_THE_COMPUTER, note
from shop.sign_in.sealing import Unreadable, open_sealed, seal
from shop.sign_in.trying import SHUT, WRONG_CODE, is_shut, note_wrong

RECOVERY_CODES, HALF = 10, 5
# Without letters and figures that look alike on paper. Ten of 31 are 49 bits; they are hashed as passwords are.
LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"
WRONG = "That code isn't good. Take the one that shows now; each is good once, and the telephone's clock must be right."
LOST_KEY = (
    "This code can't be checked any more, as the shop's key was changed. Use a recovery code, or ask the owner to remove the "
    "second factor."
)
FIELD = "one_time_password"


def factor_of(person: Staff) -> SecondFactor | None:
    return SecondFactor.objects.filter(person=person).first()


def has_factor(person: Staff) -> bool:
    return SecondFactor.objects.filter(person=person, confirmed_at__isnull=False).exists()


def codes_left(person: Staff) -> int:
    return RecoveryCode.objects.filter(person=person, used_at=None).count()


@transaction.atomic
def begin_factor(person: Staff, *, at: datetime) -> SecondFactor:
    """A new secret that isn't asked for until its first code is typed. One that was never confirmed gives way to it."""
    Staff.objects.select_for_update().get(pk=person.pk)
    if has_factor(person):
        raise Refused("You have a second factor already. Remove it first to set up another.")
    SecondFactor.objects.filter(person=person).delete()
    return SecondFactor.objects.create(person=person, secret=seal(codes.new_secret()), made_at=at)


def secret_of(factor: SecondFactor) -> str:
    """In base32, as it is shown while it is being set up."""
    try:
        return open_sealed(factor.secret)
    except Unreadable as error:
        raise Refused(LOST_KEY, field=FIELD) from error


@transaction.atomic
def confirm_factor(person: Staff, typed: str, *, at: datetime, address: str) -> list[str]:
    """The first code shows that the telephone has the secret. Gives the recovery codes, which nobody can read again."""
    factor = SecondFactor.objects.select_for_update().filter(person=person, confirmed_at=None).first()
    if factor is None:
        raise Refused("There is nothing to confirm. Start setting it up again.")
    step = codes.step_of(typed, secret_of(factor), at, factor.last_step)
    if step is None:
        raise Refused(WRONG, field=FIELD)
    factor.confirmed_at, factor.last_step = at, step
    factor.save(update_fields=["confirmed_at", "last_step"])
    note(AccessKind.FACTOR_SET, at=at, person=person, address=address)
    return _new_codes(person)


@transaction.atomic
def new_recovery_codes(person: Staff) -> list[str]:
    """Ten new ones; the earlier are worth nothing any more."""
    SecondFactor.objects.select_for_update().filter(person=person).first()
    if not has_factor(person):
        raise Refused("Set up the second factor first: recovery codes stand in for it.")
    return _new_codes(person)


def _new_codes(person: Staff) -> list[str]:
    RecoveryCode.objects.filter(person=person).delete()
    made = ["".join(secrets.choice(LETTERS) for _ in range(2 * HALF)) for _ in range(RECOVERY_CODES)]
    RecoveryCode.objects.bulk_create([RecoveryCode(person=person, code_hash=make_password(one)) for one in made])
    return [f"{one[:HALF]}-{one[HALF:]}" for one in made]


def check_code(person: Staff, typed: str, *, at: datetime, address: str) -> bool:
    """The code at sign-in; True where a recovery code was used up. Never inside `atomic`: a refusal must leave its trace."""
    with transaction.atomic():
        # Two who send one code at once wait for each other: the second finds it used.
        factor = SecondFactor.objects.select_for_update().filter(person=person, confirmed_at__isnull=False).first()
        if factor is None:
            raise Refused("There is no second factor any more. Sign in again.")
        if is_shut(person, at=at):
            said = SHUT
        elif _is_by_clock(typed):
            said = _take_step(factor, typed, at)
        else:
            said = "" if _take_recovery_code(person, typed, at) else WRONG
        if said == WRONG:
            note_wrong(person, WRONG_CODE, at=at, address=address)
    if said:
        raise Refused(said, field=FIELD)
    return not _is_by_clock(typed)


def _is_by_clock(typed: str) -> bool:
    bare = "".join(typed.split())
    return len(bare) == codes.FIGURES and bare.isascii() and bare.isdigit()


def _take_step(factor: SecondFactor, typed: str, at: datetime) -> str:
    """Empty where the code is good; it is then used."""
    try:
        step = codes.step_of(typed, open_sealed(factor.secret), at, factor.last_step)
    except Unreadable:
        return LOST_KEY
    if step is None:
        return WRONG
    factor.last_step = step
    factor.save(update_fields=["last_step"])
    return ""


def _take_recovery_code(person: Staff, typed: str, at: datetime) -> bool:
    bare = "".join(c for c in typed.lower() if c.isalnum())
    if len(bare) != 2 * HALF:
        return False
    for one in RecoveryCode.objects.filter(person=person, used_at=None):
        if check_password(bare, one.code_hash):
            one.used_at = at
            one.save(update_fields=["used_at"])
            return True
    return False


@transaction.atomic
def remove_factor(person: Staff, *, by: Staff | None, at: datetime, address: str = "") -> None:
    """`by` is None for whoever may run commands at the shop's own computer."""
    found, _ = SecondFactor.objects.filter(person=person).delete()
    RecoveryCode.objects.filter(person=person).delete()
    if not found:
        raise Refused("There is no second factor to remove.")
    said = AT_THE_COMPUTER if by is None else "" if by == person else f"by {by}"
    note(AccessKind.FACTOR_REMOVED, at=at, person=person, address=address, note=said)
