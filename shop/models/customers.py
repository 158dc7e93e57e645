"""For whom the shop works."""

from typing import ClassVar

from django.db import models

from shop.search_text import fold

NUMBER_MARKS = str.maketrans("", "", " +-/().")


class CustomerQuerySet(models.QuerySet["Customer"]):
    def matching(self, text: str) -> "CustomerQuerySet":
        """Name, phone or e-mail containing every word of the text, accents and case aside.

        A text of figures is a telephone number: its spaces and its leading zero (not part of the international form) don't count.
        """
        found = self
        number = text.translate(NUMBER_MARKS)
        words = [number.lstrip("0")] if number.isdecimal() else fold(text).split()
        for word in words:
            found = found.filter(search__contains=word)
        return found


class Customer(models.Model):
    name = models.CharField(max_length=160)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True)
    country = models.CharField("country, where it isn't the shop's", max_length=2, blank=True)
    tax_id = models.CharField("tax number", max_length=60, blank=True)
    buyer_reference = models.CharField("their reference on our invoices", max_length=60, blank=True)
    note = models.TextField(blank=True)
    search = models.CharField(max_length=600, editable=False, db_index=True)
    created_at = models.DateTimeField()
    erased_at = models.DateTimeField("what no law keeps was erased", null=True, blank=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering: ClassVar = ["name", "pk"]
        indexes: ClassVar = [models.Index(fields=["name", "id"], name="customer_by_name")]

    def __str__(self) -> str:
        return self.name

    def save(self, *args: object, **kwargs: object) -> None:
        digits = "".join(c for c in self.phone if c.isdigit())
        self.search = fold(f"{self.name} {self.email} {digits} {self.phone}")[:600]
        super().save(*args, **kwargs)  # type: ignore[arg-type]
