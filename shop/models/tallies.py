"""Figures of pages that sum up the whole house, kept as they were counted at a moment."""

from typing import ClassVar

from django.db import models


class Tally(models.Model):
    """One page's answer to one question. `figures` are its sums; its lines, if it has any, lie on leaves.

    `page` is the page's URL name, `question` what was asked of it as JSON with its keys in order. Until `is_whole` its leaves are
    still being written, and nobody reads it.
    """

    page = models.CharField(max_length=80)
    question = models.CharField(max_length=400, blank=True)
    counted_at = models.DateTimeField()
    is_whole = models.BooleanField(default=False)
    figures = models.JSONField(default=dict)
    line_count = models.PositiveIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["-pk"]
        indexes: ClassVar = [models.Index(fields=["page", "question", "id"], name="tally_asked")]
        verbose_name_plural = "tallies"

    def __str__(self) -> str:
        return f"{self.page} at {self.counted_at:%Y-%m-%d %H:%M}"


class TallyLeaf(models.Model):
    """The lines of one page of a list, in its order, so that a page reads no more than it shows. The first leaf is 1."""

    tally = models.ForeignKey(Tally, on_delete=models.CASCADE, related_name="leaves")
    number = models.PositiveIntegerField()
    lines = models.JSONField(default=list)

    class Meta:
        constraints: ClassVar = [models.UniqueConstraint(fields=["tally", "number"], name="one_leaf_a_number")]

    def __str__(self) -> str:
        return f"leaf {self.number}"
