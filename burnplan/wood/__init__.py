"""Wood: species, sanding, moisture, movement and hazards."""
