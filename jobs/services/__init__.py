"""Writers: the only code that creates log entries, labour, estimates, consents, checks, warranties, and moves a job on."""
