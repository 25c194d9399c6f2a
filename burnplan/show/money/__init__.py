"""What is seen in the terminal of money."""
