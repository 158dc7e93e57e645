"""Forms on what the house keeps: customers, the profile, staff."""
