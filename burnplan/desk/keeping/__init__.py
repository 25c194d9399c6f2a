"""What keeps the book: copies, checks, moves, undo."""
