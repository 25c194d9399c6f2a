"""What the keys of the workbench do about keeping the book."""
