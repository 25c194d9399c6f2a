"""What the artist does with wood: stock, condition, hazards, tone ladders."""
