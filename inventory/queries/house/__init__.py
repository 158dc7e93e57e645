"""What is counted over the whole stock for a page (`shop.tallies`): a page a file, its count and how its lines are read back."""
