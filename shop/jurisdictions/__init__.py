"""The rules of places as data, each with its citation. Pure: no framework, no models."""
