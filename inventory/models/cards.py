"""Where parts lie and where they come from, and the words for their kinds."""

from typing import ClassVar

from django.db import models


class Kind(models.TextChoices):
    RESISTOR = "resistance", "Resistor"
    CAPACITOR = "capacitance", "Capacitor"
    INDUCTOR = "inductance", "Coil or choke"
    WINDING = "winding", "Transformer"
    VALVE = "valve", "Valve"
    TRANSISTOR = "transistor", "Transistor or diode"
    LAMP = "lamp", "Lamp"
    OTHER = "other", "Other part"


class Technology(models.TextChoices):
    UNKNOWN = "", "not stated"
    FILM = "film", "Film"
    ELECTROLYTIC = "electrolytic", "Electrolytic"
    MICA = "mica", "Silver mica"
    CERAMIC = "ceramic", "Ceramic"
    PAPER = "paper", "Paper"
    CARBON_FILM = "carbon_film", "Carbon film"
    CARBON_COMPOSITION = "carbon_composition", "Carbon composition"
    METAL_OXIDE = "metal_oxide", "Metal oxide"
    WIREWOUND = "wirewound", "Wirewound"


class Condition(models.TextChoices):
    """The class of a part as a bill must name it."""

    NEW = "new", "new"
    USED = "used", "used"
    REBUILT = "rebuilt", "rebuilt"


class Supplier(models.Model):
    name = models.CharField(max_length=120, unique=True)
    phone = models.CharField(max_length=40, blank=True)
    email = models.EmailField(blank=True)
    address = models.TextField(blank=True)
    return_days = models.PositiveSmallIntegerField("days in which parts can go back", default=14)
    warranty_days = models.PositiveSmallIntegerField("days in which they stand by a part that fails", null=True, blank=True)
    currency = models.CharField(max_length=3, blank=True)
    exchange_ppm = models.PositiveBigIntegerField(
        "millionths of one unit of the shop's money that one unit of theirs costs", default=1_000_000
    )
    exchange_on = models.DateField("rate of", null=True, blank=True)
    lead_days = models.PositiveSmallIntegerField("days until parts arrive", default=7)
    minimum_order_minor = models.PositiveBigIntegerField("smallest order, in their money", default=0)
    carriage_minor = models.PositiveBigIntegerField("carriage of one order, in their money", default=0)
    carriage_free_from_minor = models.PositiveBigIntegerField("no carriage from, in their money", null=True, blank=True)
    our_number = models.CharField("our number with them", max_length=40, blank=True)
    in_use = models.BooleanField("we buy from them", default=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        return self.name


class Drawer(models.Model):
    """Where a part lives: cabinet / tray / compartment."""

    cabinet = models.CharField(max_length=20)
    tray = models.CharField(max_length=20)
    compartment = models.CharField(max_length=20, blank=True)

    class Meta:
        ordering: ClassVar = ["cabinet", "tray", "compartment"]
        constraints: ClassVar = [models.UniqueConstraint(fields=["cabinet", "tray", "compartment"], name="one_drawer_a_place")]

    def __str__(self) -> str:
        return self.code

    @property
    def code(self) -> str:
        return " / ".join(part for part in (self.cabinet, self.tray, self.compartment) if part)


class CabinetFace(models.Model):
    """How a cabinet looks from the front: how many trays stand side by side. `name` is the drawers' `cabinet`."""

    name = models.CharField(max_length=20, unique=True)
    across = models.PositiveSmallIntegerField("trays side by side")

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [models.CheckConstraint(condition=models.Q(across__gte=1), name="a_cabinet_has_a_front")]

    def __str__(self) -> str:
        return f"{self.name}: {self.across} across"
