"""What changed: measures, scores, change, stalled cases and the pages that show them."""
