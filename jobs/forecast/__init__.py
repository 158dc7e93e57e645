"""What past jobs say about the next one: how likely, how long, how much, with how much doubt. Pure: no framework, no models."""
