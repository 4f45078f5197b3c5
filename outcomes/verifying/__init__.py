"""What is stored, held against itself: scores, relations, and the database's own."""
