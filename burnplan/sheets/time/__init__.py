"""What is printed or sent about time."""
