"""Readers: what is in the drawers, how it got there, and what a value that somebody typed may stand for."""
