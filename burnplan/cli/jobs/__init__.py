"""Commands about jobs."""
