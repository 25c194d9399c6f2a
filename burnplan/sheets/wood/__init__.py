"""What is printed or sent about wood."""
