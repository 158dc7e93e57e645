"""Handbook arithmetic beyond resistors and capacitors. Plain Decimal, units as the names say. Arguments above zero."""

from decimal import Decimal

from jobs.bench.problems import summed

_PI = Decimal("3.141592653589793238462643383")
LIGHT_METRES_A_SECOND = Decimal(299_792_458)
# Common practice, no source: half as much again as the set draws when warm.
FUSE_MARGIN = Decimal("1.5")


@summed
def decibels_of_volts(ratio: Decimal) -> Decimal:
    """A ratio of voltages across the same impedance in dB."""
    return 20 * ratio.log10()


@summed
def wave_metres(hertz: Decimal) -> Decimal:
    """Wavelength in free space, as old dials give it."""
    return LIGHT_METRES_A_SECOND / hertz


@summed
def wave_hertz(metres: Decimal) -> Decimal:
    """Frequency of a station that a dial gives in metres."""
    return LIGHT_METRES_A_SECOND / metres


@summed
def fuse_amps(watts: Decimal, line_volts: Decimal) -> Decimal:
    """Where to begin when choosing a fuse: the running current with a margin. The surge at switching on may want a slow one."""
    return FUSE_MARGIN * watts / line_volts


@summed
def meter_ohms(ohms_a_volt: Decimal, range_volts: Decimal) -> Decimal:
    """What a moving-coil meter puts across the circuit on that range."""
    return ohms_a_volt * range_volts


@summed
def in_step_with_line(volts: Decimal, line_then: Decimal, line_now: Decimal) -> Decimal:
    """A voltage of an unregulated supply at another line voltage, taken in proportion."""
    return volts * line_now / line_then


@summed
def battery_hours(amp_hours: Decimal, amps: Decimal) -> Decimal:
    """How long a battery lasts at a steady current."""
    return amp_hours / amps


@summed
def cord_millimetres(drum: Decimal, drum_turns: Decimal, run: Decimal, idler: Decimal, idler_turns: Decimal) -> Decimal:
    """Dial cord: arc on the drum, straight run, turns on idlers. Diameters and run in mm; knots and spring come extra."""
    return _PI * drum * drum_turns + run + _PI * idler * idler_turns
