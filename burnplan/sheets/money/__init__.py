"""What is printed or sent about money."""
