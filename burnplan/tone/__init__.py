"""Pixels and light: from a photo to value zones and trace lines."""
