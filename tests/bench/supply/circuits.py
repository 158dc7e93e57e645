"""Invented circuits to compute."""

from typing import Any

from jobs.bench.supply import Linear, Supply

TABLE_SET: dict[str, Any] = {
    "topology": "full-wave",
    "volts_rms": 275,
    "frequency_hz": 50,
    "source_ohms": 150,
    "rectifier": Linear(130),
    "reservoir_uf": 16,
    "choke_h": 10,
    "choke_ohms": 450,
    "smoothing_uf": 16,
    "load_amps": 0.06,
}
MIDGET_SET: dict[str, Any] = {
    **TABLE_SET,
    "topology": "half-wave",
    "volts_rms": 117,
    "frequency_hz": 60,
    "source_ohms": 50,
    "reservoir_uf": 40,
    "choke_h": 0,
    "smoothing_uf": 40,
}


def table_set(**changes: Any) -> Supply:
    return Supply(**{**TABLE_SET, **changes})


def midget_set(**changes: Any) -> Supply:
    return Supply(**{**MIDGET_SET, **changes})
