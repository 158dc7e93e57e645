"""What the shop stands by, and whether a set that came back is covered. Pure: no framework, no models."""
