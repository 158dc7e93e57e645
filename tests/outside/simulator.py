"""The same circuit in the words of ngspice, run by ngspice: what the product's own computation is held against."""

import re
import subprocess
from pathlib import Path

from jobs.bench.supply import Linear, Supply

_MEASURES = {
    "reservoir_mean_v": "avg v(k)",
    "reservoir_ripple_pp_v": "pp v(k)",
    "bplus_mean_v": "avg v(b)",
    "bplus_ripple_pp_v": "pp v(b)",
    "rectifier_peak_a": "max i(Vsense)",
    "rectifier_rms_a": "rms i(Vsense)",
    "rectifier_mean_a": "avg i(Vsense)",
}
_FROM_REST = {"inrush_peak_a": ("max i(Vsense)", 0.2), "reservoir_startup_max_v": ("max v(k)", 4.0)}
_LINE = re.compile(r"^(\w+)\s*=\s*([-+\d.eE]+)", re.MULTILINE)


def simulate(program: str, supply: Supply, folder: Path) -> dict[str, float]:
    """Four seconds from rest; the figures of the steady state are of the last half second."""
    file = folder / "supply.cir"
    file.write_text(netlist(supply))
    run = subprocess.run([program, "-b", file.name], cwd=folder, capture_output=True, text=True, timeout=120)
    return {name: float(value) for name, value in _LINE.findall(run.stdout)}


def netlist(supply: Supply) -> str:
    lines = ["* a power supply", *_sources(supply), *_filter(supply), _load(supply)]
    lines += [".options reltol=1e-5 abstol=1e-9 vntol=1e-6 method=trap", ".tran 20u 4 0 20u uic", ".control", "run"]
    lines += [f"meas tran {name} {what} from=3.5 to=4" for name, what in _MEASURES.items()]
    lines += [f"meas tran {name} {what} from=0 to={until}" for name, (what, until) in _FROM_REST.items()]
    return "\n".join([*lines, "quit", ".endc", ".end", ""])


def _sources(supply: Supply) -> list[str]:
    lines = []
    for number, sign in enumerate((1, -1) if supply.topology == "full-wave" else (1,)):
        lines += [f"Vac{number} m{number} 0 SIN(0 {sign * supply.peak_no_load_v} {supply.frequency_hz})"]
        lines += [
            f"Rs{number} m{number} a{number} {supply.source_ohms}",
            f"V{'sense' if number == 0 else 'other'} a{number} p{number} 0",
        ]
        drop = f"V(p{number},k)"
        lines += [f"Bd{number} p{number} k I = {drop}>0 ? {_law(supply, drop)} : 0"]
    return lines


def _law(supply: Supply, drop: str) -> str:
    law = supply.rectifier
    return f"{drop}/{law.ohms}" if isinstance(law, Linear) else f"{law.perveance}*pow({drop},1.5)"


def _filter(supply: Supply) -> list[str]:
    choke = (
        [f"L1 k x {supply.choke_h} IC=0", f"Rch x b {supply.choke_ohms}"] if supply.choke_h else [f"Rch k b {supply.choke_ohms}"]
    )
    return [f"C1 k 0 {supply.reservoir_uf}u IC=0", *choke, f"C2 b 0 {supply.smoothing_uf}u IC=0"]


def _load(supply: Supply) -> str:
    if supply.load_ohms is not None:
        return f"Rload b 0 {supply.load_ohms}"
    return f"Bload b 0 I = {supply.load_amps}*min(1,max(0,V(b)/10))"
