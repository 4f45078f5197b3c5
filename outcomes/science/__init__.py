"""Pure arithmetic on scores; readable without knowing Django."""
