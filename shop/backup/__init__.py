"""Copies of the whole shop that can be trusted: made while it works, restored to prove them, kept on a schedule."""
