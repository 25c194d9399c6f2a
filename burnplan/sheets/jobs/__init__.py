"""What is printed or sent about jobs."""
