"""Textbook arithmetic of the bench. Plain Decimal in SI base units, in and out."""

from decimal import Decimal

from jobs.bench.problems import summed

_PI = Decimal("3.141592653589793238462643383")


@summed
def watts_from_volts(volts: Decimal, ohms: Decimal) -> Decimal:
    """Heat in a resistor with `volts` across it, P = V²/R."""
    return volts * volts / ohms


@summed
def watts_from_amps(amps: Decimal, ohms: Decimal) -> Decimal:
    """Heat in a resistor with `amps` through it, P = I²R."""
    return amps * amps * ohms


@summed
def amps_from_volts(volts: Decimal, ohms: Decimal) -> Decimal:
    """Current from the voltage across a known resistor, e.g. a cathode resistor."""
    return volts / ohms


@summed
def dropper_ohms(supply_volts: Decimal, wanted_volts: Decimal, amps: Decimal) -> Decimal:
    """Resistor that leaves `wanted_volts` of `supply_volts` at `amps`."""
    return (supply_volts - wanted_volts) / amps


@summed
def divided_volts(volts: Decimal, upper_ohms: Decimal, lower_ohms: Decimal) -> Decimal:
    """Voltage at the tap of an unloaded divider."""
    return volts * lower_ohms / (upper_ohms + lower_ohms)


@summed
def corner_hertz(ohms: Decimal, farads: Decimal) -> Decimal:
    """Frequency at which a coupling or bypass capacitor has lost 3 dB."""
    return 1 / (2 * _PI * ohms * farads)


@summed
def reactance_ohms(farads: Decimal, hertz: Decimal) -> Decimal:
    """Reactance of a capacitor."""
    return 1 / (2 * _PI * hertz * farads)


@summed
def capacitor_amps(farads: Decimal, volts_rms: Decimal, hertz: Decimal) -> Decimal:
    """Line current a capacitor passes, e.g. from the line to the chassis."""
    return 2 * _PI * hertz * farads * volts_rms


@summed
def stored_joules(farads: Decimal, volts: Decimal) -> Decimal:
    """Energy left in a charged capacitor."""
    return farads * volts * volts / 2


@summed
def in_series(first: Decimal, second: Decimal) -> Decimal:
    """Two capacitors in series, or two resistors in parallel."""
    return first * second / (first + second)


@summed
def resonance_hertz(henries: Decimal, farads: Decimal) -> Decimal:
    """Resonant frequency of a tuned circuit."""
    return 1 / (2 * _PI * (henries * farads).sqrt())


@summed
def reflected_ohms(turns_ratio: Decimal, load_ohms: Decimal) -> Decimal:
    """Load an output transformer shows the valve."""
    return turns_ratio * turns_ratio * load_ohms
