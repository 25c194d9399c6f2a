"""Tables and pictures for the terminal."""
