"""Models of radios, with the called-for list that every set of the model shares, and the sets that customers own."""

from typing import ClassVar

from django.db import models

from shop.models import Customer
from shop.search_text import fold


class SupplyKind(models.TextChoices):
    TRANSFORMERLESS = "transformerless", "Transformerless (AC/DC)"
    TRANSFORMER = "transformer", "Mains transformer"
    BATTERY = "battery", "Battery"
    VIBRATOR = "vibrator", "Vibrator"


class SetClass(models.Model):
    """A class of sets that is priced alike, in the shop's own words."""

    name = models.CharField(max_length=60, unique=True)
    order = models.PositiveSmallIntegerField(default=0)
    in_use = models.BooleanField(default=True)

    class Meta:
        verbose_name_plural = "set classes"
        ordering: ClassVar = ["order", "name"]

    def __str__(self) -> str:
        return self.name


class RadioModel(models.Model):
    """A maker's design that many sets share."""

    maker = models.CharField(max_length=80)
    name = models.CharField("model", max_length=80)
    year = models.PositiveSmallIntegerField("first year", null=True, blank=True)
    supply_kind = models.CharField("supply", max_length=16, choices=SupplyKind)
    lineup = models.CharField("valve or transistor line-up", max_length=300, blank=True)
    set_class = models.ForeignKey(SetClass, on_delete=models.PROTECT, null=True, blank=True, related_name="models")
    traps = models.TextField("traps seen in this model", blank=True)
    key = models.CharField(max_length=200, unique=True, editable=False)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name = "model"
        ordering: ClassVar = ["maker", "name"]
        indexes: ClassVar = [models.Index(fields=["maker", "name"], name="model_by_name")]

    def __str__(self) -> str:
        return f"{self.maker} {self.name}"

    def save(self, *args: object, **kwargs: object) -> None:
        self.key = self.key_of(self.maker, self.name)
        super().save(*args, **kwargs)  # type: ignore[arg-type]

    @staticmethod
    def key_of(maker: str, name: str) -> str:
        """Two spellings of one model meet in this key."""
        return fold(f"{maker} {name}")[:200]


class CalledFor(models.Model):
    """One position of a model as the service data names it."""

    model = models.ForeignKey(RadioModel, on_delete=models.CASCADE, related_name="called_for")
    designator = models.CharField(max_length=16)
    role = models.CharField(max_length=30, default="other")
    called = models.CharField("called for", max_length=80, blank=True)
    order = models.PositiveIntegerField(default=0)
    note = models.CharField(max_length=160, blank=True)

    class Meta:
        verbose_name = "called-for position"
        ordering: ClassVar = ["order", "pk"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["model", "designator"], name="one_designator_a_model")]

    def __str__(self) -> str:
        return f"{self.designator} {self.called}"


class RadioSet(models.Model):
    """One physical radio owned by a customer."""

    customer = models.ForeignKey(Customer, on_delete=models.PROTECT, related_name="sets")
    model = models.ForeignKey(RadioModel, on_delete=models.PROTECT, related_name="sets")
    serial = models.CharField("serial number", max_length=60, blank=True)
    year = models.PositiveSmallIntegerField(null=True, blank=True)
    lineup = models.CharField("line-up in this set", max_length=300, blank=True)
    note = models.TextField(blank=True)
    version = models.PositiveIntegerField(default=1)

    class Meta:
        verbose_name = "set"
        ordering: ClassVar = ["model__maker", "model__name", "pk"]

    def __str__(self) -> str:
        return f"{self.model}, serial {self.serial}" if self.serial else str(self.model)
