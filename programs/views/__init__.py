"""Pages about programmes."""
