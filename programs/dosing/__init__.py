"""Pure arithmetic on dose and response; readable without knowing Django."""
