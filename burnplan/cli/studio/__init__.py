"""Commands about the studio."""
