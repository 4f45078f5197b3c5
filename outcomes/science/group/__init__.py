"""Statistics about groups of cases: arrays in, numbers with their limits out."""
