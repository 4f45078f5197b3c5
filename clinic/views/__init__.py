"""Pages of the clinic app: signing in, people, errors."""
