"""What the keys of the workbench do about time."""
