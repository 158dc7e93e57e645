"""What a part is, without a database: notation, preferred values, roles and substitution.

Pure room: may import the standard library and pint, never Django, models or another app.
"""
