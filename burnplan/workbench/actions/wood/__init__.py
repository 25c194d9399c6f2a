"""What the keys of the workbench do about wood."""
