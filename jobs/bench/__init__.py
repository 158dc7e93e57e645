"""What a reading means: verdicts, safety limits, leakage and hazards.

Pure room: may import inventory.components and the standard library, never Django, models or another app.
"""
