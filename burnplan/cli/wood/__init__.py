"""Commands about wood."""
