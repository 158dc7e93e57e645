"""From a bare machine to a running shop. Standard library only, and nothing of ours: it runs before anything is installed."""
