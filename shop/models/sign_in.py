"""Where somebody is signed in, and the second factor beside a password."""

from typing import ClassVar

from django.conf import settings
from django.db import models


class SignedIn(models.Model):
    """One browser in which somebody signed in. It ends by signing out, by disuse, by age, or from another page."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="signed_in")
    session_key = models.CharField(max_length=40, unique=True, editable=False)
    began_at = models.DateTimeField()
    seen_at = models.DateTimeField("last used")
    ended_at = models.DateTimeField(null=True, blank=True)
    address = models.CharField("from which address", max_length=45, blank=True)
    device = models.CharField("browser as it names itself", max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-seen_at", "-pk"]
        verbose_name = "place of being signed in"
        verbose_name_plural = "places of being signed in"

    def __str__(self) -> str:
        return f"{self.person_id} since {self.began_at}"


class SecondFactor(models.Model):
    """A time-based code (RFC 6238) beside the password. `secret` is encrypted with the shop's key; `last_step` was used last."""

    person = models.OneToOneField(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="second_factor")
    secret = models.CharField(max_length=255, editable=False)
    made_at = models.DateTimeField()
    confirmed_at = models.DateTimeField(null=True, blank=True)
    last_step = models.PositiveBigIntegerField(default=0, editable=False)

    def __str__(self) -> str:
        return f"second factor of {self.person_id}"


class RecoveryCode(models.Model):
    """A code that stands in once for a lost device. Only its hash is kept."""

    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="recovery_codes")
    code_hash = models.CharField(max_length=160, editable=False)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["pk"]

    def __str__(self) -> str:
        return f"recovery code of {self.person_id}"
