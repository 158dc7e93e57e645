"""Who comes in, and how it is trusted: events of access, places of being signed in, the second factor, throttling, what a
password must be. Cellar: knows no app.
"""
