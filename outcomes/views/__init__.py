"""Pages about outcomes."""
