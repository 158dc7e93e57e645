"""How fast the heavy computations are, as ratios measured in one run. Nothing here is asserted: a busy machine is no fault."""
