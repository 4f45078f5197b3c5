"""What changed: measures, scores, change, stalled cases, and their pages."""
