"""Who works in the shop."""

from django.contrib.auth.models import AbstractUser
from django.db import models


class Role(models.TextChoices):
    COUNTER = "counter", "Counter"
    BENCH = "bench", "Bench"
    OWNER = "owner", "Owner"


class Staff(AbstractUser):
    """Somebody who signs in. The owner may do whatever the others may."""

    role = models.CharField(max_length=10, choices=Role, default=Role.COUNTER)
    shown_name = models.CharField("name on documents", max_length=80, blank=True)

    class Meta:
        verbose_name = "member of staff"
        verbose_name_plural = "staff"

    def __str__(self) -> str:
        return self.shown_name or self.get_full_name() or self.username

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER
