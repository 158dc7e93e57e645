"""An invented shop to look at: its people, drawers, models and forty jobs, and one main job from the counter to the hand-over.

Everything goes through the services that the pages call. Nobody and nothing in it exists but the part types and units.
"""
