"""What is seen in the terminal of keeping the book."""
