"""What the artist does: each function is one transaction."""
