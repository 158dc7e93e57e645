"""Textbook arithmetic of reservoirs and smoothing: quick bounds beside the computed supply. Plain Decimal in SI base units.

Sources: charge of a capacitor, ΔV = I·Δt / C; impedance dividers at one frequency. What they leave out: the time in which the
rectifier conducts, and all harmonics above the first.
"""

from decimal import Decimal

from jobs.bench.dissipation import reactance_ohms

_PI = Decimal("3.141592653589793238462643383")


def ripple_bound_volts(amps: Decimal, farads: Decimal, ripple_hertz: Decimal) -> Decimal:
    """Ripple, peak to peak, that a constant current leaves at most on a reservoir fed `ripple_hertz` times a second."""
    return amps / (ripple_hertz * farads)


def reservoir_farads(amps: Decimal, ripple_volts: Decimal, ripple_hertz: Decimal, share: Decimal = Decimal(1)) -> Decimal:
    """Reservoir that keeps the ripple, peak to peak, where it discharges for `share` of the time between two charges."""
    return amps * share / (ripple_hertz * ripple_volts)


def sawtooth_rms_volts(peak_to_peak_volts: Decimal) -> Decimal:
    """RMS of a sawtooth, as which the ripple on a reservoir is often taken."""
    return peak_to_peak_volts / (2 * Decimal(3).sqrt())


def charged_volts(volts: Decimal, ohms: Decimal, farads: Decimal, seconds: Decimal) -> Decimal:
    """What an empty capacitor stands at when it has been charged through a resistor for so long."""
    return volts * (1 - (-seconds / (ohms * farads)).exp())


def resistor_ripple_ratio(ohms: Decimal, farads: Decimal, hertz: Decimal) -> Decimal:
    """Share of a sine ripple that a resistor and a smoothing capacitor leave."""
    reactance = reactance_ohms(farads, hertz)
    return reactance / (ohms * ohms + reactance * reactance).sqrt()


def choke_ripple_ratio(henries: Decimal, farads: Decimal, hertz: Decimal) -> Decimal:
    """Share of a sine ripple that a choke and a smoothing capacitor leave, above their resonance."""
    omega = 2 * _PI * hertz
    return 1 / (omega * omega * henries * farads - 1)


def peak_inverse_volts(volts_rms: Decimal) -> Decimal:
    """Inverse voltage on a rectifier whose reservoir stands at the peak: √2 twice over, per half of the winding."""
    return 2 * Decimal(2).sqrt() * volts_rms
