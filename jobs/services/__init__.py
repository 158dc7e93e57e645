"""Writers: the only code that creates log entries, labour, estimates, consents, checks and warranties, and that moves a job on."""
