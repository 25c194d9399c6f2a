"""What is seen in the terminal of the studio."""
