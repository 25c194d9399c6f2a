"""The full-screen workbench: the whole studio in one terminal."""
