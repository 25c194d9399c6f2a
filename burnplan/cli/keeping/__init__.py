"""Commands about keeping the book."""
