"""Forms of the drawers: parts and their markings, lots, drawers, suppliers."""
