"""What is seen in the terminal of wood."""
