"""Who did what: one row for every change of a row, written by the database itself, and one for every event of access."""

from typing import ClassVar

from django.conf import settings
from django.db import models


class AuditVerb(models.TextChoices):
    MADE = "I", "made"
    CHANGED = "U", "changed"
    REMOVED = "D", "removed"


class AuditEntry(models.Model):
    """One change of one row. Written by triggers (`shop.audit`), never by the program. Append-only.

    `act` is the same for all that one request or command did. `before` and `after` are JSON objects of the columns that changed;
    of words that may name a person, and of secrets, only that they changed. Nobody's act (`person` empty, `what` empty) was done
    outside the program.
    """

    at = models.DateTimeField(db_index=True)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    act = models.CharField(max_length=32, blank=True)
    what = models.CharField("page or command", max_length=120, blank=True)
    address = models.CharField("from which address", max_length=45, blank=True)
    table = models.CharField(max_length=60)
    row = models.CharField(max_length=40)
    verb = models.CharField(max_length=1, choices=AuditVerb)
    before = models.TextField(blank=True)
    after = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]
        verbose_name = "change of a row"
        verbose_name_plural = "changes of rows"
        indexes: ClassVar = [models.Index(fields=["table", "row"], name="audit_by_row")]

    def __str__(self) -> str:
        return f"{self.table} {self.row} {self.verb}"


class AccessKind(models.TextChoices):
    SIGNED_IN = "signed_in", "Signed in"
    FAILED = "failed", "Sign-in refused"
    SHUT_OUT = "shut_out", "Shut out after too many tries"
    LET_IN = "let_in", "Let in again by the owner"
    SIGNED_OUT = "signed_out", "Signed out"
    IDLE = "idle", "Signed out after a time without use"
    TOO_LONG = "too_long", "Signed out after the longest time allowed"
    ENDED = "ended", "Sign-in ended from another page"
    FACTOR_SET = "factor_set", "Second factor set up"
    FACTOR_REMOVED = "factor_removed", "Second factor removed"
    CODE_USED = "code_used", "Signed in by a recovery code"
    PASSWORD = "password", "Password changed"
    FORBIDDEN = "forbidden", "Page refused to this role"
    BAD_LINK = "bad_link", "A private address that isn't good"
    BACKUP = "backup", "Backup made"
    RESTORED = "restored", "Restored from a backup"
    TAKEN_OUT = "taken_out", "Whole shop written to an archive"


class AccessEvent(models.Model):
    """Somebody came in, was kept out, or took data away. Append-only.

    Never holds a password, a token, or what was typed for a name that nobody here has.
    """

    at = models.DateTimeField(db_index=True)
    kind = models.CharField(max_length=14, choices=AccessKind)
    person = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    address = models.CharField("from which address", max_length=45, blank=True)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering: ClassVar = ["-pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.at}"
