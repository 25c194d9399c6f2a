"""The studio itself: opened, set up, looked up in."""
