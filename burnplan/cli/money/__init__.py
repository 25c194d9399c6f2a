"""Commands about money."""
