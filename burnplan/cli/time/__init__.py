"""Commands about time."""
